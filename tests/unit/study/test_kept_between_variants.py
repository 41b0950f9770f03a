"""What variants of a document share is not made twice, and what changes is never kept."""

import copy

import numpy as np
import pytest
from vehicles import prepared

from fea.document.edit import edited, locate
from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.document.schema import FrameDocument
from fea.frame.build import build_frame
from fea.frame.model import Frame
from fea.study.ties import FACTORS


@pytest.fixture(scope="module")
def document() -> FrameDocument:
    return read_frame(find_frame("orchard_pickup"))


def built(document: FrameDocument) -> Frame:
    return build_frame(document, source="orchard_pickup.toml", body="open")


EDITS = (
    {"rail.wall": "3.1 mm"},
    {"X4.wall": "2.2 mm", "rail.wall": "2.9 mm"},
    {"part.boxing_cab.boxing.1.plate": "2 mm", "part.boxing_cab.fitted": False},
    {"mount.M2.vertical": "300 N/mm", "title": "Another"},
)


@pytest.mark.parametrize("edits", EDITS)
def test_an_edit_reads_what_reading_all_anew_would(document: FrameDocument, edits: dict) -> None:
    tree = copy.deepcopy(dict(document.origin.data))
    before = copy.deepcopy(tree)
    for path, value in edits.items():
        for loc in locate(tree, path):
            here = tree
            for token in loc[:-1]:
                here = here[token]
            here[loc[-1]] = value
    found = edited(document, edits)
    assert found.model_dump() == FrameDocument.model_validate(tree).model_dump()
    assert found.origin.data == tree
    assert document.origin.data == before
    assert found.body[0] is document.body[0]


def test_a_body_is_kept_while_its_own_sections_are(document: FrameDocument) -> None:
    first, other = built(document), built(edited(document, {"rail.wall": "3.1 mm"}))
    assert other.bodies[0].beams[0].section is first.bodies[0].beams[0].section
    entry = document.body[0].beam[0]
    thicker = edited(document, {f"section.{entry.section}.wall": "1.9 mm"})
    new = built(thicker).bodies[0].beams
    fresh = built(FrameDocument.model_validate(copy.deepcopy(dict(thicker.origin.data))))
    for mine, made in zip(new, fresh.bodies[0].beams, strict=True):
        np.testing.assert_array_equal(
            mine.section.midline.thickness, made.section.midline.thickness
        )
    used = [b for b in new if b.name.removesuffix(" right") == entry.name]
    assert used
    assert np.all(used[0].section.midline.thickness == 1.9)


def test_many_stiffnesses_at_once_read_as_one_by_one() -> None:
    seen = prepared("harbour_tourer", "open")
    flexible, one = seen.flexible[0], seen.candidates[0]
    together = flexible.read_scaled(one.rows, one.stiffness, np.array(FACTORS))
    for factor, read in zip(FACTORS, together, strict=True):
        apart, _ = flexible.read_with(one.rows, factor * one.stiffness)
        # The same small systems: only the order of sums may differ.
        np.testing.assert_allclose(read, apart, rtol=1e-12, atol=1e-12 * np.abs(apart).max())
