"""The small pieces of the command line: positions, unit systems, cases, bars."""

import io
import threading
import time

import pytest
from handmade import FRAMES

from fea.cli import options
from fea.cli.busy import busy
from fea.cli.tables import BAR, _bar
from fea.errors import DocumentError, FeaError, ModelError


def test_positions_are_read_with_their_units() -> None:
    choice = options.choose("orchard_pickup", at=["X3 = 47.244094488188976 in", "Y=1.2 m"])
    assert choice.positions == pytest.approx({"X3": 1200.0, "Y": 1200.0})


@pytest.mark.parametrize("text", ["X3", "X3=", "X3=fast", "X3=12", "X3=12 kg"])
def test_a_position_that_is_none(text: str) -> None:
    with pytest.raises(FeaError):
        options.choose("orchard_pickup", at=[text])


def test_unit_systems() -> None:
    assert options.system("si") == "si"
    assert options.system("us") == "us"
    with pytest.raises(ModelError, match="unknown unit system"):
        options.system("SI")


def test_twist_and_bending_unless_told_otherwise() -> None:
    assert [c.name for c in options.load_cases(None)] == ["twist", "bending"]
    assert [c.name for c in options.load_cases(["payload"])] == ["payload"]
    with pytest.raises(DocumentError, match="asked for once"):
        options.load_cases(["twist", "bending", "twist"])


@pytest.mark.parametrize("name", FRAMES)
def test_the_stock_frame_of_a_choice_has_no_part(name: str) -> None:
    assert options.choose(name).stock_frame().fitted == ()


@pytest.mark.parametrize(
    ("share", "length"),
    [(0.0, 0), (0.5, BAR // 2), (1.0, BAR), (1.7, BAR), (-0.2, 0)],
)
def test_bars(share: float, length: int) -> None:
    assert len(_bar(share)) == length


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def assert_threads(count: int) -> None:
    """Wait a little: the sign's own clock thread may take a tick to end."""
    for _ in range(200):
        if threading.active_count() == count:
            return
        time.sleep(0.01)
    assert threading.active_count() == count


def test_nothing_moves_where_no_one_looks(capsys: pytest.CaptureFixture[str]) -> None:
    before = threading.active_count()
    with busy("working"):
        assert threading.active_count() == before
    assert capsys.readouterr() == ("", "")


def test_short_work_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Terminal()
    monkeypatch.setattr("sys.stderr", screen)
    with busy("working"):
        pass
    assert screen.getvalue() == ""


def test_long_work_shows_a_sign_and_takes_it_away(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Terminal()
    monkeypatch.setattr("sys.stderr", screen)
    monkeypatch.setattr("fea.cli.busy.DELAY", 0.01)
    before = threading.active_count()
    with busy("drawing a frame"):
        time.sleep(0.6)
    assert "drawing a frame" in screen.getvalue()
    assert_threads(before)


def test_the_sign_stops_when_the_work_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stderr", Terminal())
    monkeypatch.setattr("fea.cli.busy.DELAY", 0.01)
    before = threading.active_count()
    with pytest.raises(ValueError, match="over"), busy("working"):  # noqa: PT012 - a context
        time.sleep(0.05)
        msg = "over"
        raise ValueError(msg)
    assert_threads(before)
