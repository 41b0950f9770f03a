"""Blanks as DXF files in millimetres, one each, for cutting.

Layers: CUT for outline and holes, BEND for lines to bend along, TEXT, DIMENSIONS.
"""

import io
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, MissingExtraError
from fea.out.drawn import Dimension, dimensions, text_height
from fea.out.files import write_text
from fea.shop.cut_list import Cut, CutList
from fea.shop.cut_plates import Blank
from fea.shop.cut_record import file_stem, title
from fea.shop.flat import Opening

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

Array = NDArray[np.float64]

LAYERS = {"CUT": 7, "BEND": 5, "TEXT": 3, "DIMENSIONS": 8}
"""Layers with their colours, by the numbers that DXF gives to colours."""


def write_dxf(found: CutList, folder: Path) -> list[Path]:
    """Write a file for each blank into a folder; return what was written.

    Raises
    ------
    MissingExtraError
        If ezdxf is not installed.
    """
    if find_spec("ezdxf") is None:
        do = 'pip install "ezdxf>=1.4"'
        raise MissingExtraError(Complaint("DXF files need ezdxf", found="not installed", do=do))
    written = []
    for cut in found.cuts:
        if isinstance(cut.piece, Blank):
            text = io.StringIO()
            drawing(cut, cut.piece).write(text)
            path = folder / f"{file_stem(cut)}.dxf"
            write_text(path, text.getvalue())
            written.append(path)
    return written


def drawing(cut: Cut, piece: Blank) -> "Drawing":
    """Return the drawing of a blank."""
    from ezdxf import units
    from ezdxf.filemanagement import new

    document = new("R2010", setup=True, units=units.MM)
    for name, colour in LAYERS.items():
        document.layers.add(name, color=colour)
    document.layers.get("BEND").dxf.linetype = "DASHDOT"
    document.header["$LTSCALE"] = 10.0
    space = document.modelspace()
    outline = [(x, y) for x, y in piece.pattern.outline.tolist()]
    space.add_lwpolyline(outline, close=True, dxfattribs={"layer": "CUT"})
    for opening in piece.pattern.openings:
        _opening(space, opening)
    for bend in piece.pattern.bends:
        low, high = (tuple(p) for p in bend.line.tolist())
        space.add_line(low, high, dxfattribs={"layer": "BEND"})
    tall = text_height(piece)
    below = -2.0 * 4.0 * tall - 4.0 * tall
    for k, line in enumerate(title(cut)):
        text = space.add_text(_plain(line), height=tall, dxfattribs={"layer": "TEXT"})
        text.set_placement((0.0, below - 1.6 * tall * k))
    for one in dimensions(cut):
        _dimension(space, one, tall)
    return document


def _plain(text: str) -> str:
    """Return a text in which no sign is taken for a control code."""
    return text.replace("%%", "% %").replace("\\", "/").replace("^", "' ")


def _opening(space: "Modelspace", opening: Opening) -> None:
    on = {"layer": "CUT"}
    x, y = opening.centre.tolist()
    if opening.is_round:
        space.add_circle((x, y), 0.5 * opening.length, dxfattribs=on)
        return
    first, second = opening.axis
    along = (second - first) / np.linalg.norm(second - first)
    aside = 0.5 * min(opening.length, opening.height) * np.array([-along[1], along[0]])
    corners = (first - aside, second - aside, second + aside, first + aside)
    # A bulge of 1 is a half circle to the next corner.
    rows = [(*p.tolist(), bulge) for p, bulge in zip(corners, (0.0, 1.0, 0.0, 1.0), strict=True)]
    space.add_lwpolyline(rows, format="xyb", close=True, dxfattribs=on)


def _dimension(space: "Modelspace", one: Dimension, tall: float) -> None:
    start, end = (tuple(p.tolist()) for p in (one.start, one.end))
    style = {"dimtxt": 0.8 * tall, "dimasz": 0.7 * tall, "dimexe": 0.4 * tall, "dimexo": 0.4 * tall,
             "dimdec": 1, "dimlunit": 2, "dimtad": 1, "dimscale": 1.0, "dimlfac": 1.0,
             "dimblk": "", "dimdsep": ord(".")}  # fmt: skip
    placed = space.add_aligned_dim(
        p1=start, p2=end, distance=one.away, dimstyle="Standard", override=style,
        dxfattribs={"layer": "DIMENSIONS"},
    )  # fmt: skip
    placed.render()
