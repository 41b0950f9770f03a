"""What a sweep varies, from text."""

import pytest

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.document.schema import FrameDocument
from fea.errors import DocumentError
from fea.study.variant import Variant
from fea.study.vary import parse, variants


@pytest.fixture(scope="module")
def document() -> FrameDocument:
    return read_frame(find_frame("orchard_pickup"))


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("rail.wall=2mm..5mm/3", ("2 mm", "3 mm", "4 mm", "5 mm")),
        ("rail.wall = 2 mm .. 3 mm / 2", ("2 mm", "2.5 mm", "3 mm")),
        ("rail.wall=3..4mm/1", ("3 mm", "4 mm")),
        ("rail.wall=5mm..4mm/2", ("5 mm", "4.5 mm", "4 mm")),
        ("rail.wall=14ga..12ga/2", ("14 ga", "13 ga", "12 ga")),
        ("rail.wall=1/8in..1/4in/1", ("0.125 in", "0.25 in")),
        ("mount.M2.vertical=100N/mm..300N/mm/2", ("100 N/mm", "200 N/mm", "300 N/mm")),
        ("section.C150x60.wall=2mm, 1/8 in,11ga", ("2 mm", "1/8 in", "11 ga")),
        ("material.plate.nu=0.25..0.35/2", (0.25, 0.3, 0.35)),
        ("crossmember.X4.section=C120x60,C110x50", ("C120x60", "C110x50")),
        ("wear.1.applied=true,false", (True, False)),
        ("part.x_member=on,off", (True, False)),
    ],
)
def test_values(document: FrameDocument, text: str, values: tuple[object, ...]) -> None:
    assert parse(text, document).values == values


def test_figures_of_one_unit(document: FrameDocument) -> None:
    found = parse("rail.wall=2mm..3mm/2", document)
    assert found.numbers == (2.0, 2.5, 3.0)
    assert found.unit == "mm"
    assert len(parse("rail.wall=2mm..5mm", document).values) == 7
    mixed = parse("rail.wall=2mm,1/8in", document)
    assert mixed.numbers is None
    fractions = parse("rail.wall=1/8in,1 1/8in", document)
    assert fractions.numbers == (0.125, 1.125)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("rail.wall", "is written KEY=FROM..TO"),
        ("=2mm", "is written KEY=FROM..TO"),
        ("rail.wall=2mm..thick", "from a figure to a figure"),
        ("rail.wall=2mm..1in", "the same unit"),
        ("rail.wall=2mm..3mm/0", "steps must be 1 to"),
        ("rail.wall=2mm,,3mm", "missing between two commas"),
        ("rail.wall=1/0in..2in", "over zero"),
        ("part.x_member=on,maybe", "on or off"),
        ("part.xmember=on,off", 'no part "xmember"'),
        ("rail.walls=2mm", '"walls" names nothing'),
        ("rail=2mm", "must lead to one value"),
    ],
)
def test_what_is_refused(document: FrameDocument, text: str, words: str) -> None:
    with pytest.raises(DocumentError) as refused:
        parse(text, document)
    assert words in str(refused.value)
    assert len(refused.value.complaints) == 1


def test_every_combination(document: FrameDocument) -> None:
    varied = [parse("rail.wall=3.5mm,4mm", document), parse("part.x_member=on,off", document)]
    found = variants(Variant.of(positions={"X3": 1200.0}), ["mid_tube"], varied)
    assert [dict(v.edits)["rail.wall"] for v in found] == ["3.5 mm"] * 2 + ["4 mm"] * 2
    assert [sorted(v.parts or ()) for v in found] == [["mid_tube", "x_member"], ["mid_tube"]] * 2
    assert all(v.positions == (("X3", 1200.0),) for v in found)
