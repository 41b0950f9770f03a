"""DXF read back and SVG: the blank's area, its layers and dimensions, names escaped."""

from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.frame.build import build_frame
from fea.out.dxf import write_dxf
from fea.out.flat_svg import write_svg
from fea.shop.cut_list import CutList, cut_list
from fea.shop.cut_plates import Blank

ezdxf = pytest.importorskip("ezdxf")

HOLES = """
[[hole]]
rail = "rail"
wall = "plate"
diameter = "40 mm"
at = "1500 mm"

[[hole]]
rail = "rail"
wall = "plate"
length = "60 mm"
height = "30 mm"
at = "2700 mm"

[[hole]]
rail = "rail"
wall = "plate"
length = "40 mm"
height = "50 mm"
at = "1000 mm"
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> CutList:
    text = find_frame("orchard_pickup").read_text(encoding="utf-8") + HOLES
    text = text.replace('"boxing_cab"', '"cab <&> ../%%c"')
    path = tmp_path_factory.mktemp("cuts") / "holed.toml"
    path.write_text(text, encoding="utf-8")
    document = read_frame(path)
    return cut_list(document, build_frame(document, source=str(path)))


def _area(rows: np.ndarray) -> float:
    """Return the area within a polyline of x, y and bulge."""
    x, y, bulge = rows.T
    dx, dy = np.roll(x, -1) - x, np.roll(y, -1) - y
    straight = 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    chord, angle = np.hypot(dx, dy), 4.0 * np.arctan(bulge)
    bent = bulge != 0.0
    radius = chord[bent] / (2.0 * np.sin(angle[bent] / 2.0))
    return straight + float((0.5 * radius**2 * (angle[bent] - np.sin(angle[bent]))).sum())


def test_areas_read_back_from_dxf(found: CutList, tmp_path: Path) -> None:
    paths = write_dxf(found, tmp_path)
    blanks = [cut for cut in found.cuts if isinstance(cut.piece, Blank)]
    assert len(paths) == len(blanks)
    assert sorted(tmp_path.iterdir()) == sorted(paths)
    n_holes = 0
    for cut, path in zip(blanks, paths, strict=True):
        drawing = ezdxf.readfile(path)
        assert not drawing.audit().errors
        assert drawing.units == ezdxf.units.MM
        space = drawing.modelspace()
        lines = [np.array(p.get_points("xyb")) for p in space.query('LWPOLYLINE[layer=="CUT"]')]
        areas = sorted((_area(rows) for rows in lines), reverse=True)
        circles = [np.pi * c.dxf.radius**2 for c in space.query('CIRCLE[layer=="CUT"]')]
        n_holes += len(circles) + len(areas) - 1
        net = areas[0] - sum(areas[1:]) - sum(circles)
        assert net == pytest.approx(cut.piece.pattern.area, rel=1e-6)
        assert len(space.query('LINE[layer=="BEND"]')) == len(cut.piece.pattern.bends)
        assert len(space.query('TEXT[layer=="TEXT"]')) >= 2
        sizes = [d.get_measurement() for d in space.query('DIMENSION[layer=="DIMENSIONS"]')]
        assert sizes[0] == pytest.approx(cut.piece.pattern.size[0], abs=1e-6)
        assert sizes[1] == pytest.approx(cut.piece.pattern.size[1], abs=1e-6)
    assert n_holes == 3


def test_svg_holds_the_same(found: CutList, tmp_path: Path) -> None:
    paths = write_svg(found, tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted(paths)
    space = "{http://www.w3.org/2000/svg}"
    blanks = [cut for cut in found.cuts if isinstance(cut.piece, Blank)]
    for cut, path in zip(blanks, paths, strict=True):
        page = ElementTree.fromstring(path.read_text(encoding="utf-8"))
        assert page.get("width") == f"{float(page.get('viewBox').split()[2]):.3f}mm"
        layers = {g.get("id"): g for g in page.iter(f"{space}g")}
        assert set(layers) == {"cut", "bend", "text", "dimensions"}
        numbers = layers["cut"].find(f"{space}path").get("d").replace("M", "").replace("Z", "")
        rows = np.array([[float(v) for v in p.split()] for p in numbers.split("L")])
        flipped = np.column_stack((rows[:, 0], -rows[:, 1], np.zeros(len(rows))))
        holes = sum(o.area for o in cut.piece.pattern.openings)
        assert _area(flipped) - holes == pytest.approx(cut.piece.pattern.area, rel=1e-6)
        words = [t.text for t in layers["text"]]
        assert cut.piece.part in words[0]
