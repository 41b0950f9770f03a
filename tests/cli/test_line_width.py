"""Nothing printed is wider than the tables: what a mail or a shop's printer can take."""

import pytest
from running import Run

from fea.cli.tables import WIDTH, Page

DEMOS = ("orchard_pickup", "harbour_tourer")


@pytest.mark.parametrize("frame", DEMOS)
@pytest.mark.parametrize(
    "words",
    [("run",), ("ties",), ("envelope",), ("compare", "--modes", "0")],
    ids=lambda words: words[0],
)
def test_no_line_is_wider_than_the_tables(words: tuple[str, ...], frame: str, quick: Run) -> None:
    command, *rest = words
    ran = quick(command, frame, *rest)
    assert ran.code == 0, ran.err
    assert [line for line in ran.out.splitlines() if len(line.rstrip()) > WIDTH] == []


def test_a_long_line_is_broken_between_words(capsys: pytest.CaptureFixture[str]) -> None:
    page = Page()
    page.say("short")
    page.say("   " + "word " * 40)
    page.say("in " + "x" * 130)
    first, second, third, *rest = capsys.readouterr().out.splitlines()
    assert first == "short"
    assert second.startswith("   word")
    assert len(second) <= WIDTH
    assert third.startswith("     word")
    assert f"{second} {third}".split() == ["word"] * 40
    assert rest == ["in", "  " + "x" * 130]  # a path stays whole
