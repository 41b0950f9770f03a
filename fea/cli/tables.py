"""Tables for the terminal: the same figures as the JSON, said for a person."""

from __future__ import annotations

import sys
import textwrap
from typing import TYPE_CHECKING

from fea import units
from fea.cli.joint_rows import joint_rows
from fea.cli.road_rows import road_tables
from fea.result.band import band_sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from fea.frame.model import Frame, Mass, Member, Mount
    from fea.result.answer import Answer, Reaction
    from fea.result.energy import Share
    from fea.result.mass import MassSummary
    from fea.result.readings import Reading
    from fea.result.stiffness import Bay
    from fea.result.stress import Peak

BAR = 24
"""Width of the bars drawn beside shares, characters."""

MOST_JOINTS = 8
"""Lines of the table of the joints' stress."""


WIDTH = 110
"""Characters that a line has at most."""


class Page:
    """Prints headed tables; rich is imported on first use."""

    def __init__(self) -> None:
        from rich.console import Console

        self.console = Console(highlight=False, soft_wrap=not sys.stdout.isatty())
        if not sys.stdout.isatty():
            self.console.width = WIDTH

    def say(self, text: str = "", style: str = "") -> None:
        """Print a line, broken only where it is longer than a table is wide.

        What follows a break stands two characters in; nothing in the text is markup.
        """
        wide = min(WIDTH, self.console.width)
        lines = [text]
        if len(text) > wide:
            margin = " " * (len(text) - len(text.lstrip()))
            lines = textwrap.wrap(
                text,
                wide,
                subsequent_indent=f"{margin}  ",
                break_on_hyphens=False,
                break_long_words=False,  # a path stays whole
            )
        for line in lines:
            self.console.print(line, style=style or None, markup=False)

    def table(
        self, title: str, heads: Sequence[str], rows: Iterable[Sequence[str]], right: Sequence[int]
    ) -> None:
        """Print a table; columns listed in `right` are set to the right."""
        from rich import box
        from rich.table import Table
        from rich.text import Text

        table = Table(title=Text(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
        for k, head in enumerate(heads):
            table.add_column(Text(head), justify="right" if k in right else "left")
        for row in rows:
            table.add_row(*(Text(cell) for cell in row))
        self.console.print(table)


def answer_tables(page: Page, answer: Answer, stock: Answer | None, system: units.System) -> None:
    """Print everything of one case."""
    page.say(f"{answer.frame.title}: {answer.case.title}", "bold")
    parts = ", ".join(answer.frame.fitted)
    page.say(f"Parts fitted: {parts}." if parts else "Stock frame: no added part fitted.")
    _figures(page, answer, stock, system)
    road_tables(page, answer, system)
    _readings(page, answer, stock, system)
    if answer.bays:
        bays = ("between", "stations, mm", "share", "")
        page.table("Where it twists", bays, [_bay(b) for b in answer.bays], (2,))
    peaks = {p.member: p for p in answer.peaks}
    members = [_share(s, peaks.get(s.name), system) for s in answer.shares]
    heads = ("member", "energy", "", "highest stress", "of yield", "where, mm")
    page.table(
        f"Strain energy, and stress {answer.where_peaks}, by member", heads, members, (1, 3, 4)
    )
    _reactions(page, answer, system)
    _joints(page, answer, system)
    c = answer.checks
    page.say(
        f"Checks: residual {c.residual:.1e}, forces {c.force_balance:.1e}, "
        f"moments {c.moment_balance:.1e}, energy {c.energy_balance:.1e} "
        f"({c.freedoms} free motions, {c.backend} solver)."
    )
    page.say(_sureness(answer))


def _sureness(answer: Answer) -> str:
    """Return what round-off can have done to the case's figures."""
    condition = f"Condition number about {answer.condition or 0.0:.0e}"
    if answer.round_off is None:
        return f"{condition}."
    return f"{condition}; round-off moves the stiffness by less than {answer.round_off:.0e} of it."


def _readings(page: Page, answer: Answer, stock: Answer | None, system: units.System) -> None:
    """Print the motions that the case reads, beside those of the stock frame."""
    if not answer.readings:
        return
    sides = {r.name: [x.side for x in answer.readings if x.name == r.name] for r in answer.readings}
    base = {(r.name, r.side): _amount(r, system) for r in stock.readings} if stock else {}
    rows = [
        (
            r.name if len(sides[r.name]) == 1 else f"{r.name}, {r.side}",
            r.motion,
            _amount(r, system),
            *([base.get((r.name, r.side), "")] if stock else []),
        )
        for r in answer.readings
    ]
    heads = ("reading", "motion", "now", "stock") if stock else ("reading", "motion", "now")
    page.table("Readings", heads, rows, (2, 3))


def _amount(reading: Reading, system: units.System) -> str:
    if reading.unit == "mm":
        return units.show(reading.value, "length", system)
    if reading.unit == "rad":
        return f"{units.show(reading.value, 'angle', digits=4)} ({reading.value:.4g} rad)"
    return f"{reading.value:.4g} {reading.unit}"


def _reactions(page: Page, answer: Answer, system: units.System) -> None:
    """Print what the supports bear, round-off left out: forces count at the frame's span."""
    road = answer.solution.loads.road
    if road is not None and road.wheels:  # told with the wheels: they bear nothing
        return
    points = answer.solution.mesh.points
    span = float((points.max(axis=0) - points.min(axis=0)).max())
    weight = {"force": span, "moment": 1.0, "bimoment": 1.0 / span}
    sizes = [abs(r.force) * weight[r.kind] for r in answer.reactions]
    least = 1e-6 * max(sizes, default=0.0)
    held = [r for r, size in zip(answer.reactions, sizes, strict=True) if size > least]
    rows = [(r.place, _bears(r, system)) for r in held]
    head = "force" if all(r.kind == "force" for r in held) else "force or moment"
    page.table("Reactions", ("support", head), rows, (1,))


def _bears(reaction: Reaction, system: units.System) -> str:
    if reaction.kind == "bimoment":
        return f"bimoment {1e-6 * reaction.force:.4g} N m2"
    return units.show(reaction.force, reaction.kind, system)


def _joints(page: Page, answer: Answer, system: units.System) -> None:
    """Print the joints' own peaks, and what the beam rules say of the stiffness."""
    if answer.joint_peaks:
        heads = ("at", "peak", "in", "where, mm")
        rows = joint_rows(answer.frame, answer.joint_peaks, system)[:MOST_JOINTS]
        widths = sorted({f"{s.width:.0f}" for s in answer.sheeting}, key=float)
        wide = widths[0] if len(widths) == 1 else f"{widths[0]} to {widths[-1]}"
        title = f"Stress in the joints' sheet metal (quadrilaterals {wide} mm wide: for ranking)"
        page.table(title, heads, rows, (1,))
    by, own = answer.beside, answer.stiffness
    if by is not None and own and by.rule and by.soft and by.stiff:
        kind = "rotational_stiffness" if answer.twist_stiffness is not None else "stiffness"
        rule, soft, stiff = (units.show(v, kind, system) for v in (by.rule, by.soft, by.stiff))
        if answer.solution.metal:
            page.say(
                f"By the beam rules for joints {rule} ({100.0 * (by.rule / own - 1.0):+.1f} %);"
                f" their soft and stiff bounds {soft} and {stiff}."
            )
        else:
            page.say(f"With the joints' soft and stiff bounds: {soft} and {stiff}.")
            sentence = band_sentence(own, by.soft, by.stiff) if kind != "stiffness" else None
            if sentence:
                page.say(sentence)


def _bay(bay: Bay) -> tuple[str, ...]:
    stations = f"{bay.start:.0f} to {bay.end:.0f}"
    return bay.words, stations, _percent(bay.share), _bar(bay.share)


def _share(share: Share, peak: Peak | None, system: units.System) -> tuple[str, ...]:
    row = (share.name, _percent(share.share), _bar(share.share))
    if peak is None:
        return (*row, "", "", "")
    place = f"station {peak.station:.0f}, height {peak.height:.0f}"
    stress = units.show(peak.von_mises, "stress", system)
    return (*row, stress, _percent(peak.utilisation), place)


def _figures(page: Page, answer: Answer, stock: Answer | None, system: units.System) -> None:
    """Print the figures, the ratio to the stock frame first."""
    names = {
        "twist stiffness": "rotational_stiffness",
        "bending stiffness": "stiffness",
        f"highest stress {answer.where_peaks}": "stress",
        "frame steel": "mass",
    }
    ours, theirs = _values(answer), _values(stock) if stock else (None,) * len(names)
    rows: list[tuple[str, ...]] = []
    for (name, kind), value, base in zip(names.items(), ours, theirs, strict=True):
        if value is None:
            continue
        now = units.show(value, kind, system)
        if stock is None:
            rows.append((name, now))
        else:
            was = units.show(base, kind, system) if base is not None else ""
            rows.append((name, f"{value / base:.3f}" if base else "", now, was))
    heads: tuple[str, ...] = ("", "x stock", "now", "stock") if stock else ("", "now")
    page.table("", heads, rows, (1, 2, 3))


def _values(answer: Answer) -> tuple[float | None, ...]:
    return (
        answer.twist_stiffness,
        answer.bending_stiffness,
        max((p.von_mises for p in answer.peaks), default=None),
        answer.mass.steel,
    )


def frame_tables(
    page: Page,
    frame: Frame,
    summary: MassSummary,
    part_mass: dict[str, float],
    system: units.System,
) -> None:
    """Print what a frame document holds."""
    page.say(frame.title, "bold")
    page.say(f"{frame.source}: no complaint.")
    heads: tuple[str, ...]
    heads = ("member", "kind", "station", "length", "sections", "joined by", "part")
    page.table("Members", heads, [_member(frame, m, system) for m in frame.members], (2, 3))
    if frame.parts:
        parts = [
            (
                p.name,
                "fitted" if p.fitted else "left off",
                units.show(part_mass[p.name], "mass", system),
                p.about,
            )
            for p in frame.parts
        ]
        page.table("Parts", ("part", "", "adds", "about"), parts, (2,))
    if frame.mounts:
        heads = ("mount", "station", "offset", "height", "up and down", "sideways", "carries")
        rows = [_mount(m, system) for m in frame.mounts]
        page.table("Body mounts", heads, rows, (1, 2, 3, 4, 5))
    if frame.masses:
        rows = [_mass(m, system) for m in frame.masses]
        page.table("Masses carried", ("mass", "", "station", "by", ""), rows, (1, 2))
    steel = units.show(summary.steel, "mass", system)
    page.say(f"Frame steel {steel}, centre at {_place(summary.centre)}.")
    kerb = units.show(summary.kerb, "mass", system)
    page.say(f"With all it carries, unladen, {kerb}, centre at {_place(summary.kerb_centre)}.")


def _member(frame: Frame, member: Member, system: units.System) -> tuple[str, ...]:
    kinds = [j.kind.replace("_", " ") for j in frame.joints if j.member == member.name]
    return (
        member.name,
        member.kind,
        f"{member.path[0, 0]:.0f}",
        units.show(member.runs[-1].end, "length", system),
        ", ".join(dict.fromkeys(r.section.name for r in member.runs)),
        " / ".join(dict.fromkeys(kinds)),
        member.part or "",
    )


def _mount(mount: Mount, system: units.System) -> tuple[str, ...]:
    side = "" if mount.name.endswith(mount.side) else f" {mount.side}"
    return (
        mount.name + side,
        *(f"{v:.0f}" for v in mount.position),
        units.show(mount.stiffness[2], "stiffness", system),
        units.show(mount.stiffness[1], "stiffness", system),
        mount.carries,
    )


def _mass(mass: Mass, system: units.System) -> tuple[str, ...]:
    laden = "laden only" if mass.laden else ""
    station = f"{mass.position[0]:.0f}"
    return mass.name, units.show(mass.mass, "mass", system), station, mass.carrier, laden


def _place(point: NDArray[np.float64]) -> str:
    x, y, z = (round(float(v)) for v in point)
    return f"station {x}, offset {y}, height {z} mm"


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"


def _bar(share: float) -> str:
    return "▇" * round(BAR * min(1.0, max(0.0, share)))
