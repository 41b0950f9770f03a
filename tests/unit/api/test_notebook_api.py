"""The door for notebooks: what it returns, that it is light, and its own examples."""

import doctest
import subprocess
import sys
from pathlib import Path

import pytest

import fea
from fea import api
from fea.errors import DocumentError, ModelError


@pytest.fixture(scope="module")
def pickup() -> fea.FrameModel:
    return fea.load_frame("orchard_pickup", joints="beam")


def test_the_examples_of_the_docstring() -> None:
    failed, tried = doctest.testmod(api)
    assert tried >= 7
    assert failed == 0


def test_the_package_names_its_door_before_it_is_opened() -> None:
    assert set(fea.__all__) <= set(dir(fea))
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = fea.nothing  # type: ignore[attr-defined]


def test_importing_the_package_loads_nothing_of_it() -> None:
    code = (
        "import sys; before = set(sys.modules); import fea\n"
        "new = {m for m in set(sys.modules) - before if m.split('.')[0] == 'fea'}\n"
        "assert new == {'fea'}, new\n"
        "assert fea.load_frame\n"
        "assert 'scipy' not in sys.modules and 'pydantic' not in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_it_answers_as_the_study_of_variants_does(pickup: fea.FrameModel) -> None:
    found = pickup.run("twist", "bending")
    assert [a.case.name for a in found] == ["twist", "bending"]
    assert found.twist == pytest.approx(pickup.twist, rel=1e-12)
    assert found.bending == pytest.approx(pickup.bending, rel=1e-12)
    figures = found.figures
    assert figures["twist"]["twist_stiffness_nm_per_deg"] == pytest.approx(found.twist)
    assert found.case("bending") is found[1]
    assert len(found) == 2
    assert "twist_stiffness_nm_per_deg" in repr(found)
    with pytest.raises(ModelError, match="was not solved"):
        found.case("payload")


def test_parts_are_switched_and_the_frame_itself_stays(pickup: fea.FrameModel) -> None:
    before = pickup.fitted
    stock = pickup.stock()
    assert stock.fitted == ()
    assert stock.fit("boxing_cab").fitted == ("boxing_cab",)
    assert "boxing_cab" not in pickup.without("boxing_cab").fitted
    assert pickup.fitted == before
    assert pickup.run("twist", parts=[]).twist == pytest.approx(stock.twist, rel=1e-12)
    assert stock.twist < stock.fit("boxing_cab").twist < pickup.twist


def test_changes_add_up_and_are_refused_at_once(pickup: fea.FrameModel) -> None:
    thick = pickup.change({"section.C150x60.wall": "5 mm"})
    both = thick.change({"section.T60.wall": "4 mm"})
    assert set(both.changes) == {"section.C150x60.wall", "section.T60.wall"}
    assert both.bending > pickup.bending
    with pytest.raises(DocumentError, match="names nothing here"):
        pickup.change({"section.C150.wall": "5 mm"})
    with pytest.raises(DocumentError, match="greater than 0 mm"):
        pickup.change({"section.C150x60.wall": "-5 mm"})


def test_a_bolted_crossmember_moves(pickup: fea.FrameModel) -> None:
    assert pickup.at(X3="1200 mm").twist != pickup.twist


def test_a_body_stands_on_it_for_once() -> None:
    tourer = fea.load_frame("harbour_tourer", joints="beam").stock()
    closed = tourer.run("twist", body="closed")
    assert closed.twist is not None
    assert closed.twist > 1.2 * tourer.twist


def test_sheet_joints_are_the_default_and_can_be_asked_for() -> None:
    ladder = fea.load_frame("ladder_tubes")
    assert ladder.joints == "sheet"
    quick = ladder.run("twist", joints="beam").twist
    sheet = ladder.run("twist").twist
    assert quick is not None
    assert sheet is not None
    assert 0.0 < abs(quick / sheet - 1.0) < 0.1


def test_what_is_not_there_is_told(pickup: fea.FrameModel) -> None:
    with pytest.raises(DocumentError, match="no such frame"):
        fea.load_frame("orchard_pick_down")
    with pytest.raises(DocumentError, match="sheet or beam"):
        fea.load_frame("orchard_pickup", joints="bolts")  # type: ignore[arg-type]
    with pytest.raises(DocumentError, match="sheet or beam"):
        pickup.run("twist", joints="bolts")  # type: ignore[arg-type]
    with pytest.raises(ModelError, match="boxing_cab"):
        pickup.fit("boxing_cabin")
    with pytest.raises(DocumentError, match="no such load case"):
        pickup.run("twisty")
    assert issubclass(DocumentError, fea.FeaError)


@pytest.mark.picture
def test_a_picture_for_a_notebook(tmp_path: Path) -> None:
    ladder = fea.load_frame("ladder_tubes", joints="beam")
    picture = ladder.plot(tmp_path / "twist.png", width=400)
    assert picture._repr_png_()[:8] == b"\x89PNG\r\n\x1a\n"
    assert (tmp_path / "twist.png").read_bytes() == picture.png
    assert "Teaching ladder" in picture.title
    assert "png=" not in repr(picture)
