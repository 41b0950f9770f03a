"""A cut list as plain data for JSON, as CSV, and in words."""

import re
from collections import Counter
from math import degrees
from typing import Any

from fea.result.tabular import csv_text
from fea.shop.cut_list import Cut, CutList
from fea.shop.cut_plates import Blank
from fea.units import show_sheet

FORMAT = 1
"""Version of the layout; keys are only ever added within a version."""

BASIS = (
    "Blanks are sizes at the middle of the sheet, bends sharp, no allowance for kerf or weld gap;"
    " boxing plates are drawn as on the right rail seen from inboard, front to the left;"
    " boxing plates and bulkheads reach to the inner faces of what they stand between. A row's"
    " holes stand a pitch apart from where it starts. Mass is that of the blank, of stock at its"
    " mean length. Weld is one run along every wall at a welded end, both edges of a plate (only"
    " the welds of a stitched one), three sides of a bulkhead, two of a gusset; brackets, bolts,"
    " mounts and ties are not listed."
)


def as_record(found: CutList) -> dict[str, Any]:
    """Return the list as a dictionary ready for JSON."""
    return {
        "format": FORMAT,
        "frame": found.frame.name,
        "title": found.frame.title,
        "parts": list(found.frame.fitted),
        "pieces": [_piece(cut) for cut in found.cuts],
        "mass_kg": 1000.0 * found.mass,
        "weld_m": found.weld / 1000.0,
        "basis": BASIS,
    }


def _piece(cut: Cut) -> dict[str, Any]:
    piece = cut.piece
    common = {
        "number": cut.number,
        "count": cut.count,
        "part": piece.part,
        "name": piece.name,
        "material": piece.material.name,
        "wall_mm": piece.wall,
        "mass_each_kg": 1000.0 * piece.mass,
        "mass_kg": 1000.0 * cut.mass,
        "weld_m": cut.weld / 1000.0,
        "note": piece.note,
        "sides": list(cut.sides),
    }
    if not isinstance(piece, Blank):
        ends = [
            {"plan_deg": e.plan, "elevation_deg": e.elevation, "cut": e.words, "note": e.note}
            for e in piece.ends
        ]
        stock = {"section": piece.section, "length_mm": piece.length, "ends": ends}
        return {**common, "kind": "stock", **stock}
    wide, high = piece.pattern.size
    return {
        **common,
        "kind": "blank",
        "length_mm": wide,
        "height_mm": high,
        "area_mm2": piece.pattern.area,
        "outline_mm": piece.pattern.outline.tolist(),
        "bends": [
            {"line_mm": b.line.tolist(), "angle_deg": degrees(b.angle), "to": b.to}
            for b in piece.pattern.bends
        ],
        "openings": [
            {"centre_mm": o.centre.tolist(), "length_mm": o.length, "height_mm": o.height,
             "turn_deg": degrees(o.turn)}
            for o in piece.pattern.openings
        ],
    }  # fmt: skip


def size(cut: Cut) -> str:
    """Return what to cut, in mm: the blank's rectangle, or section and length."""
    piece = cut.piece
    if isinstance(piece, Blank):
        wide, high = piece.pattern.size
        return f"{wide:.1f} x {high:.1f}"
    return f"{piece.section}, {piece.length:.1f}"


def notes(cut: Cut) -> list[str]:
    """Return what is to be said of one piece."""
    piece = cut.piece
    if not isinstance(piece, Blank):
        ends = list(dict.fromkeys(f"{e.words}, {e.note}" for e in piece.ends))
        both = len(ends) == 1 and len(piece.ends) > 1
        texts = [f"both ends {ends[0]}"] if both else [
            f"{word} end {e.words}, {e.note}"
            for word, e in zip(("left or first", "right or last"), piece.ends, strict=False)
        ]  # fmt: skip
        return [*texts, *([piece.note] if piece.note else [])]
    texts = [piece.note] if piece.note else []
    texts += [f"bend {degrees(b.angle):.1f} deg {b.to} at {b.line[b.line[:, 1].argmin(), 0]:.0f} mm"
              for b in piece.pattern.bends]  # fmt: skip
    if piece.pattern.openings:
        sizes = Counter(
            f"hole of {o.length:g}" if o.is_round else f"slot of {o.length:g} x {o.height:g}"
            for o in piece.pattern.openings
        )
        texts.append(", ".join(f"{n} x {words}" for words, n in sizes.items()))
    if set(cut.sides) >= {"right", "left"}:
        texts.append("turn over for the left rail")
    elif cut.sides == ("left",):
        texts.append("for the left rail alone: turn over")
    elif cut.sides == ("right",):
        texts.append("for the right rail alone")
    return texts


def as_csv(found: CutList) -> str:
    """Return the list as CSV text."""
    rows: list[list[object]] = [
        ["number", "count", "part", "piece", "size_mm", "wall_mm", "material", "mass_each_kg",
         "mass_kg", "weld_m", "notes"]
    ]  # fmt: skip
    for cut in found.cuts:
        piece = cut.piece
        rows.append(
            [
                cut.number, cut.count, piece.part, piece.name, size(cut),
                f"{round(piece.wall, 2):g}",
                piece.material.name, f"{1000.0 * piece.mass:.4f}", f"{1000.0 * cut.mass:.4f}",
                f"{cut.weld / 1000.0:.3f}", "; ".join(notes(cut)),
            ]
        )  # fmt: skip
    return csv_text(rows)


def file_stem(cut: Cut) -> str:
    """Return the name of a piece's file: letters, digits, dashes; its number keeps it apart."""
    words = re.sub(r"[^a-z0-9]+", "-", f"{cut.piece.part} {cut.piece.name}".lower()).strip("-")
    return f"{cut.number:02d}-{words[:60].strip('-')}"


def title(cut: Cut) -> list[str]:
    """Return the lines of text that stand on a drawing."""
    piece = cut.piece
    lines = [f"{cut.number}  {piece.part}: {piece.name}",
             f"{cut.count} off, {show_sheet(piece.wall)}, {piece.material.name},"
             f" {1000.0 * piece.mass:.3f} kg each"]  # fmt: skip
    return [" ".join(line.split()) for line in (*lines, *notes(cut))]
