"""Other figures in a document, by paths."""

import tomllib
from pathlib import Path

import pytest

from fea.document.edit import edited, edited_text, locate, value_at
from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.document.schema import FrameDocument
from fea.errors import DocumentError


@pytest.fixture(scope="module")
def pickup() -> FrameDocument:
    return read_frame(find_frame("orchard_pickup"))


def test_a_section_by_its_table(pickup: FrameDocument) -> None:
    new = edited(pickup, {"section.C150x60.wall": "3.2 mm"})
    assert new.section["C150x60"].wall == 3.2  # type: ignore[union-attr]
    assert pickup.section["C150x60"].wall == 4.0  # type: ignore[union-attr]
    assert new.section["C120x55"] == pickup.section["C120x55"]


def test_every_section_along_a_member(pickup: FrameDocument) -> None:
    new = edited(pickup, {"rail.wall": "5 mm"})
    changed = {k for k in new.section if new.section[k] != pickup.section[k]}
    assert changed == {"C120x55", "C150x60", "C130x55"}
    assert locate(pickup.origin.data, "X4.depth") == [("section", "C120x60", "depth")]


def test_tables_by_name_and_by_number(pickup: FrameDocument) -> None:
    new = edited(
        pickup, {"mount.M2.vertical": "600 N/mm", "part.boxing_cab.boxing.1.plate": "2.5 mm"}
    )
    assert [m.vertical for m in new.mount if m.name == "M2"] == [600.0]
    (part,) = (p for p in new.part if p.name == "boxing_cab")
    assert part.boxing[0].plate == 2.5


def test_what_is_there_is_told_as_written(pickup: FrameDocument) -> None:
    assert value_at(pickup, "section.C150x60.wall") == "4 mm"


@pytest.mark.parametrize(
    ("path", "found", "do"),
    [
        ("rails.wall", '"rails" names nothing', "rail"),
        ("mount.M9.vertical", '"M9" names nothing', "M2"),
        ("section.C150x60", "must lead to one value", "wall"),
        ("section.C150x60.wall.deeper", "names nothing", "a value itself"),
        ("", "must lead to one value", "rail"),
    ],
)
def test_a_path_that_leads_nowhere(pickup: FrameDocument, path: str, found: str, do: str) -> None:
    with pytest.raises(DocumentError) as error:
        edited(pickup, {path: "1 mm"})
    (complaint,) = error.value.complaints
    assert found in complaint.rule
    assert do in complaint.do


def test_a_value_that_is_refused_is_told_where_it_was_put(pickup: FrameDocument) -> None:
    with pytest.raises(DocumentError) as error:
        edited(pickup, {"section.C150x60.wall": "4"})
    (complaint,) = error.value.complaints
    assert "C150x60" in complaint.where
    assert "wall" in complaint.where


def test_the_text_keeps_its_comments(pickup: FrameDocument) -> None:
    text = pickup.origin.text
    new = edited_text(text, {"section.C150x60.wall": "3.3 mm"})
    changed = [(a, b) for a, b in zip(text.splitlines(), new.splitlines(), strict=True) if a != b]
    assert changed == [('wall = "4 mm"', 'wall = "3.3 mm"')]
    assert tomllib.loads(new)["section"]["C150x60"]["wall"] == "3.3 mm"


def test_a_new_document_reads_like_any_other(pickup: FrameDocument, tmp_path: Path) -> None:
    path = tmp_path / "thinner.toml"
    path.write_text(edited_text(pickup.origin.text, {"rail.wall": "3.4 mm"}), encoding="utf-8")
    by_text = read_frame(path).model_dump()
    assert by_text == edited(pickup, {"rail.wall": "3.4 mm"}).model_dump()
