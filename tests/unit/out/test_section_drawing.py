"""Section drawings: outlines to scale, flows that balance, files that are whole."""

import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

from fea.errors import MissingExtraError
from fea.frame.model import Section
from fea.out.section_drawing import write_sections
from fea.out.section_flow import torsion_flow, upright_flow
from fea.out.section_panels import figures, labels, outlines
from fea.section import shapes
from fea.section.midline import Midline
from fea.section.properties import properties
from fea.section.seam import Stitch, stitched
from fea.section.wear import Wear, worn

CHANNEL = shapes.channel(depth=150, flange=60, wall=4)
BOXED = shapes.boxed_channel(depth=150, flange=60, wall=4, plate=3)
EVERY = {
    "channel": CHANNEL,
    "boxed": BOXED,
    "stitched": stitched(BOXED, Stitch(weld=40, pitch=100)),
    "rounded box": shapes.box(depth=100, width=60, wall=4, corner=8),
    "angle": shapes.angle(depth=60, flange=40, wall=5),
    "Z": shapes.zed(depth=100, flange=40, wall=3),
    "I": shapes.i_section(depth=100, flange=50, wall=4, flange_wall=6),
    "hat": shapes.hat(depth=80, width=60, lip=15, wall=2.5),
    "tube": shapes.tube(diameter=60, wall=3),
}
every = pytest.mark.parametrize("name", EVERY)
PLACES = np.linspace(0.0, 1.0, 201)


def section(name: str, midline: Midline, nominal: Section | None = None) -> Section:
    depth, width = shapes.extent(midline)
    return Section(name, midline, depth, width, shapes.is_open(midline), nominal)


@every
def test_the_upright_flow_adds_up_to_the_force(name: str) -> None:
    """Along each wall, times its direction: 0 sideways, 1 up."""
    midline = EVERY[name]
    p = properties(midline)
    flow = upright_flow(midline, p, PLACES)
    step = midline.points[midline.walls[:, 1]] - midline.points[midline.walls[:, 0]]
    total = np.trapezoid(flow, PLACES, axis=1) @ step
    # a wall's own bending carries its share through its thickness
    size = np.ptp(midline.points, axis=0).max()
    assert total == pytest.approx([0.0, 1.0], abs=3 * (midline.thickness.max() / size) ** 2)


@every
def test_flows_meet_at_corners(name: str) -> None:
    midline = EVERY[name]
    p = properties(midline)
    size = np.ptp(midline.points, axis=0).max()
    # the torsion flow of an open section is round-off
    for flow, least in (
        (upright_flow(midline, p, PLACES), 0.0),
        (torsion_flow(p, PLACES), p.I1 / (p.J * size**2)),
    ):
        into = np.zeros(len(midline.points))
        np.add.at(into, midline.walls[:, 0], -flow[:, 0])
        np.add.at(into, midline.walls[:, 1], flow[:, -1])
        assert np.abs(into).max() < 1e-9 * max(np.abs(flow).max(), least)


@pytest.mark.parametrize("name", ["boxed", "rounded box", "tube"])
def test_the_torsion_flow_adds_up_to_the_torque(name: str) -> None:
    """Twice the area that it goes round, by the shoelace rule; the walls' own twist is small."""
    midline = EVERY[name]
    p = properties(midline)
    y, z = midline.points.T
    area = abs(np.sum(y * np.roll(z, -1) - np.roll(y, -1) * z)) / 2
    assert 2 * area * abs(torsion_flow(p, PLACES)[0, 0]) == pytest.approx(1.0, rel=5e-3)


@pytest.mark.parametrize("name", ["channel", "boxed", "I", "Z", "hat", "angle"])
def test_outlines_reach_the_outer_size(name: str) -> None:
    midline = EVERY[name]
    faces = np.vstack(outlines(midline))
    depth, width = shapes.extent(midline)
    assert np.ptp(faces, axis=0) == pytest.approx([width, depth], rel=1e-9)


def test_each_wall_has_a_label_on_its_outside() -> None:
    found = {label.name: label for label in labels(BOXED)}
    assert set(found) == {"web", "plate", "top flange", "bottom flange"}
    assert found["web"].out.tolist() == [-1.0, 0.0]
    assert found["plate"].out.tolist() == [1.0, 0.0]
    assert found["top flange"].out.tolist() == [0.0, 1.0]
    assert found["web"].at.tolist() == [0.0, 0.0]
    assert len(labels(EVERY["tube"])) == 1


def test_figures_stand_beside_those_of_the_new_section() -> None:
    p, q = properties(worn(CHANNEL, [Wear(loss=0.8)])), properties(CHANNEL)
    rows = {what: (now, new) for what, now, new in figures(p, q)}
    assert rows["area A"] == ("838 mm²", "1048 mm²")
    assert rows["J, torsion"] == ("2862 mm⁴", "5589 mm⁴")
    assert rows["Iy, up and down"] == ("2.808·10⁶ mm⁴", "3.511·10⁶ mm⁴")
    assert {new for _, _, new in figures(q, None)} == {""}


def three() -> list[Section]:
    new = section("C", CHANNEL)
    old = section("C worn 0.8", worn(CHANNEL, [Wear(loss=0.8)]), new)
    return [new, old, section("C boxed", BOXED)]


@pytest.mark.picture
def test_a_png(tmp_path: Path) -> None:
    from matplotlib.image import imread

    path = tmp_path / "deep" / "c.png"
    assert write_sections(three(), path, title="C", subtitle="a channel", width=800) == 0
    image = imread(path)
    assert image.shape[1] == 800
    # paper, steel and the dark end of the map are all there
    pixels = image[..., :3].reshape(-1, 3)
    assert np.mean(np.all(pixels > 0.98, axis=1)) > 0.7
    assert np.mean(np.all(pixels < 0.4, axis=1)) > 0.002
    assert [file.name for file in path.parent.iterdir()] == ["c.png"]


@pytest.mark.picture
def test_an_svg_says_what_it_shows_and_comes_out_the_same_twice(tmp_path: Path) -> None:
    first, second = tmp_path / "a.svg", tmp_path / "b.svg"
    for path in (first, second):
        write_sections(three(), path, title="Frame $1$", subtitle="")
    assert first.read_bytes() == second.read_bytes()
    text = first.read_text(encoding="utf-8")
    ET.fromstring(text)
    for words in ("Frame $1$", "C worn 0.8, open", "C boxed, closed", "web 3.2", "plate 3", "150"):
        assert f"<!-- {words} -->" in text or words in text


@pytest.mark.picture
def test_more_than_a_page_holds(tmp_path: Path) -> None:
    assert write_sections(three() * 2, tmp_path / "c.png", title="", width=300) == 2


@pytest.mark.picture
@every
def test_every_shape_is_drawn(name: str, tmp_path: Path) -> None:
    path = tmp_path / "c.png"
    write_sections([section(name, EVERY[name])], path, title=name, width=400)
    assert path.stat().st_size > 3000


def test_without_matplotlib(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    monkeypatch.setattr("fea.out.section_drawing.find_spec", lambda _: None)
    with pytest.raises(MissingExtraError, match="needs matplotlib"):
        write_sections(three(), tmp_path / "c.png", title="")
    assert not list(tmp_path.iterdir())
