"""The packet's chapters for building: what to cut, where the stands go, in what order to weld."""

from math import degrees

from fea import units
from fea.out import packet_html as page
from fea.out.packet_contents import LEVEL, Contents, Welding
from fea.out.packet_flat import flats
from fea.out.packet_html import Cell, Markup
from fea.shop.cut_list import Cut
from fea.shop.cut_plates import Blank
from fea.shop.cut_record import BASIS, notes, size
from fea.shop.stand_record import CAUTIONS, sentences, stations, tipping
from fea.shop.weld_schedule import NEAR
from fea.shop.weld_words import SAFETY, verdict

IN_COLUMN = 22
"""Steps of welding in a column; two columns make a table of half a page."""

LEAST_WAIT = 3.0
"""Pauses shorter than this, s, pass by themselves."""


def cut_chapter(found: Contents) -> Markup:
    """Return what is to be cut for the parts."""
    title, cuts = "Cut list", found.cuts
    if isinstance(cuts, str):
        return page.chapter("cuts", title, page.say(f"Not told: {cuts}."))
    if not cuts.cuts:
        words = "No part is fitted that needs cutting."
        return page.chapter("cuts", title, page.say(words))
    system = found.asked.system
    rows: list[tuple[Cell, ...]] = [
        (
            str(cut.number),
            str(cut.count),
            cut.piece.part,
            _two(cut.piece.name, "; ".join(notes(cut))),
            _two(size(cut).replace(" ", "\u00a0"), _inches(cut)),
            units.show(cut.piece.wall, "thickness", system),
            cut.piece.material.name,
            units.show(cut.mass, "mass", system),
            f"{cut.weld / 1000.0:.2f}",
        )
        for cut in cuts.cuts
    ]
    total = (
        "", "", "together", "", "", "", "",
        units.show(cuts.mass, "mass", system), f"{cuts.weld / 1000.0:.2f}",
    )  # fmt: skip
    heads = ("", "off", "part", "piece", "size, mm", "wall", "material", "all of them", "weld, m")
    return page.chapter(
        "cuts",
        title,
        page.table("", heads, [*rows, total], (0, 1, 5, 7, 8)),
        page.say(BASIS, "quiet"),
        flats(cuts),
        page.say(
            f"The same as files to cut by, DXF and SVG: plumbrail cutlist {found.asked.frame.name}"
            " --dxf DIR --svg DIR, with the same parts.",
            "quiet",
        ),
    )


def _inches(cut: Cut) -> str:
    """Return the size in inches."""
    piece = cut.piece
    sizes = piece.pattern.size if isinstance(piece, Blank) else (piece.length,)
    return " x ".join(f"{units.convert(s, 'length', 'in'):.2f}" for s in sizes) + " in"


def _two(first: str, second: str) -> Markup:
    small = f"<br><small>{page.escaped(second)}</small>" if second else ""
    return Markup(page.escaped(first) + small)


def stands_chapter(found: Contents) -> Markup:
    """Return where stands go, what they bear, how true they must be."""
    title, told = "Stands for welding", found.stands
    if isinstance(told, str):
        return page.chapter("stands", title, page.say(f"Not told: {told}."))
    system, first = found.asked.system, told.sets[0]
    on = first.bench
    rows = [
        (
            str(len(s.stands)),
            ", ".join(f"{x:.0f}" for x in stations(s)),
            f"{s.sag:.2f}",
            f"{abs(degrees(s.twist)):.3f}",
            f"{tipping(s):.0f}",
        )
        for s in told.sets
    ]
    heads = ("stands", "pairs at stations, mm", "sags by, mm", "twists by, deg", "tips beyond, mm")
    loads = []
    for k, force in zip(first.stands.tolist(), first.forces.tolist(), strict=True):
        cells = [on.place(k), units.show(force, "force", system)]
        for sign in (1, -1):
            move = next(m for m in told.moves if m.place == k and m.sign == sign)
            cells.append("never" if move.twists is None else f"{move.twists:.1f}")
        loads.append((*cells, ""))
    at = f"{degrees(LEVEL):g} deg of twist"
    second = ("stand", "bears", f"raised: {at} at, mm", f"lowered: {at} at, mm", "measured")
    return page.chapter(
        "stands",
        title,
        page.say(
            f"The bare frame weighs {units.show(on.weight, 'force', system)}; its centre of mass is"
            f" at station {on.centre[0]:.0f}, offset {round(on.centre[1])} mm."
        ),
        page.table("Best places, all sets tried", heads, rows, (0, 2, 3, 4)),
        page.table("The four stands", second, loads, (1, 2, 3), kind="tick"),
        *(page.say(line) for line in (*sentences(first, list(told.moves), LEVEL), *CAUTIONS)),
        page.say(
            "For measuring the frame's own shape use three stands, as the form says: on four and"
            " more it takes the shape of the stands.",
            "quiet",
        ),
    )


def order_chapter(found: Contents) -> Markup:
    """Return in what order to weld, with pauses."""
    title, told = "Order of welding", found.welding
    if isinstance(told, str):
        return page.chapter("order", title, page.say(f"Not told: {told}."))
    study, when = told.orders, told.schedule
    rows = [
        (
            o.name,
            f"{o.shape.off:.2f}",
            f"{o.low:.2f} to {o.high:.2f}",
            _signed(o.shape.vertical, 1),
            _signed(o.shape.lateral, 1),
            "" if o.shape.twist is None else _signed(o.shape.twist, 2),
            f"{o.worst:.1f}",
        )
        for o in study.outcomes
    ]
    heads = ("order", "off, mm", "band", "bow up, mm", "bow right, mm", "twist, deg",
             "on the way, mm")  # fmt: skip
    runs = study.model.plan.runs
    return page.chapter(
        "order",
        title,
        page.table("Five orders, and how straight each leaves the frame", heads, rows, range(1, 7)),
        *(page.say(line) for line in verdict(study)),
        page.say(
            f"Below: {study.best.name}, {len(runs)} runs,"
            f" {sum(r.length for r in runs) / 1000.0:.1f} m of weld, about"
            f" {when.total / 3600.0:.1f} hours with"
            f" {when.process.about}, of which {when.waited / 60.0:.0f} minutes are waiting until"
            f" nothing within {NEAR:.0f} mm is more than hand-warm."
        ),
        *(page.say(line, "warn") for line in SAFETY[:1]),
        *_steps(told),
    )


def _signed(value: float, digits: int) -> str:
    """Return a figure with its sign, a plain zero without.

    >>> _signed(-0.04, 1), _signed(0.25, 2)
    ('0', '+0.25')
    """
    text = f"{value:+.{digits}f}"
    return text if float(text) else "0"


def _steps(told: Welding) -> list[Markup]:
    """Return the steps in tables of two columns, each of which fits a page."""
    runs, steps = told.orders.model.plan.runs, told.schedule.steps
    cells = [
        (
            str(step.number),
            runs[step.run].name().replace(" seam, station", ","),
            f"{runs[step.run].length:.0f}",
            f"{step.pause / 60.0:.1f}" if step.pause >= LEAST_WAIT else "",
        )
        for step in steps
    ]
    heads = ("", "run", "mm", "wait, min") * 2
    out = []
    # Tables of one length: a short last one would be left on a page of its own.
    n_tables = max(-(-len(cells) // (2 * IN_COLUMN)), 1)
    long = 2 * -(-len(cells) // (2 * n_tables))
    for start in range(0, len(cells), max(long, 1)):
        block = cells[start : start + long]
        half = -(-len(block) // 2)
        none = ("", "", "", "")
        rows = [
            (*block[k], *(block[half + k] if half + k < len(block) else none)) for k in range(half)
        ]
        title = f"Steps {start + 1} to {start + len(block)}: down the left, then down the right"
        out.append(page.table(title, heads, rows, (0, 2, 3, 4, 6, 7), kind="steps whole"))
    return out
