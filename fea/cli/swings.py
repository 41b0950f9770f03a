"""What `modes` and `buckle` do and print."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea import units
from fea.cli.busy import busy
from fea.cli.options import Choice, load_cases
from fea.cli.tables import Page
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.result.buckling import FrameBuckling
    from fea.result.modes import FrameModes

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."

RIGID = {
    "free": "Hung in nothing: the six rigid motions (three movements, three turns) are left out.",
    "springs": "On its axles' springs, wheels at rest; fore and aft, sideways and in yaw it is free"
    " ({n} left out).",
    "case": "Held as {case} holds it; rigid motions left free and left out: {n}.",
}

FAR = 1000.0
"""A factor above this is no concern: something else gives way long before."""


@dataclass(frozen=True)
class Asked:
    """What the user asks of `modes`."""

    count: int
    free: bool
    on_springs: bool
    case: str | None
    bare: bool
    laden: bool
    joints: str
    html: Path | None
    gif: Path | None
    number: int


def _check(asked: Asked, choice: Choice) -> None:
    """Refuse options that contradict each other, all at once."""
    wrong = []
    ways = {"--free": asked.free, "--on-springs": asked.on_springs, "--case": asked.case}
    chosen = [name for name, on in ways.items() if on]
    if len(chosen) > 1:
        wrong.append(Complaint("a frame stands in one way", found=", ".join(chosen), do="ask one"))
    if asked.joints not in ("sheet", "beam"):
        wrong.append(Complaint("unknown joints", "--joints", asked.joints, "sheet or beam"))
    if asked.bare and (asked.laden or choice.body):
        rule = "a bare frame carries nothing"
        found = "--laden" if asked.laden else "--body"
        wrong.append(Complaint(rule, "--bare", found, "leave one of them out"))
    if asked.number > asked.count:
        rule = "the moving picture shows one of the modes asked for"
        wrong.append(Complaint(rule, "--mode", str(asked.number), f"1 to {asked.count}"))
    if wrong:
        raise DocumentError(*wrong)


def mode_study(choice: Choice, asked: Asked, *, as_json: bool) -> None:
    """Find the modes, print them, draw them."""
    from fea.result.modes import as_record, frame_modes
    from fea.store import store

    _check(asked, choice)
    frame = choice.frame()
    sheet = asked.joints == "sheet"
    case = load_cases([asked.case])[0] if asked.case else None
    with busy("finding modes"):
        found = frame_modes(
            frame,
            asked.count,
            standing="springs" if asked.on_springs else "case" if case else "free",
            case=case,
            laden=asked.laden,
            bare=asked.bare,
            sheet_joints=sheet,
            store=store() if sheet else None,
        )
    if as_json:
        record = as_record(found)
        record["body"] = choice.body
        record["joints"] = asked.joints
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print_modes(found, choice, asked)
    if asked.html is not None:
        from fea.out.mode_scene import mode_scene
        from fea.out.moving_page import write_moving_page

        with busy("writing the page"):
            write_moving_page(mode_scene(found), asked.html)
    if asked.gif is not None:
        from fea.out.film import write_film
        from fea.out.mode_scene import mode_scene

        with busy("drawing"):
            write_film(mode_scene(found), asked.gif, asked.number - 1)
    if not as_json:
        for path in (asked.html, asked.gif):
            if path is not None:
                typer.echo(f"Wrote {path}.")


def _print_modes(found: "FrameModes", choice: Choice, asked: Asked) -> None:
    page = Page()
    on = f", body {choice.body}" if choice.body else ""
    page.say(f"{found.frame.title}{on}: natural frequencies", "bold")
    parts = ", ".join(found.frame.fitted)
    page.say(f"Parts fitted: {parts}." if parts else "Stock frame: no added part fitted.")
    page.say(RIGID[found.standing].format(n=found.n_rigid, case=asked.case))
    rows = [
        (str(k), f"{m.frequency:.2f}", m.name, m.where, f"{100.0 * m.metal:.0f} %")
        for k, m in enumerate(found.modes, start=1)
    ]
    page.table("", ("no.", "Hz", "mode", "moves most", "in the frame"), rows, (0, 1, 4))
    page.say(
        f"Mass in the model: frame {units.show(found.metal, 'mass')}, carried"
        f" {units.show(found.carried, 'mass')}."
    )
    page.say('"In the frame": the share of the energy of motion that is in the metal modelled.')
    for line in _assumed(found, choice, asked):
        page.say(f"Assumed: {line}.")
    worst = max(m.residual for m in found.modes)
    page.say(
        f"Checks: residual {worst:.1e} at most; {found.refine} elements per stretch, which changed"
        f" frequencies by {100.0 * found.change:.3f} %."
    )
    page.say(CAUTION)


def _assumed(found: "FrameModes", choice: Choice, asked: Asked) -> list[str]:
    lines = []
    if not asked.bare:
        lines.append("masses on the frame are points that follow the rails' mean; no damping")
        carriers = {m.carrier for m in found.frame.masses}
        if "mounts" in carriers and not choice.body:
            lines.append("without --body what the mounts carry sits on the frame as if bolted down")
        if choice.body:
            lines.append("a body's own metal has the mass the document gives it, at its mounts")
        if "unsprung" in carriers:
            lines.append("axles and wheels do not swing along")
    if found.whole.metal:
        lines.append("sheet metal in joints moves as its statics would move it")
    return lines


def buckling_study(choice: Choice, case: str, count: int, *, as_json: bool) -> None:
    """Find the buckling factors and print them."""
    from fea.result.buckling import as_record, frame_buckling

    load = load_cases([case])[0]
    with busy("looking for buckling"):
        found = frame_buckling(choice.frame(), load, count)
    if as_json:
        typer.echo(json.dumps(as_record(found), indent=2, ensure_ascii=False, allow_nan=False))
        return
    _print_buckling(found)


def _print_buckling(found: "FrameBuckling") -> None:
    page = Page()
    page.say(f"{found.frame.title}: buckling under {found.case.title}", "bold")
    parts = ", ".join(found.frame.fitted)
    page.say(f"Parts fitted: {parts}." if parts else "Stock frame: no added part fitted.")
    rows = [
        (
            f"{f.factor:.4g}",
            f"{f.member} ({100.0 * f.share:.0f} %)",
            units.show(f.compression, "force"),
            f.where,
        )
        for f in found.factors
    ]
    if rows:
        heads = ("times the load", "gives way", "compressed by", "moves most")
        page.table("", heads, rows, (0, 2))
        if found.factors[0].factor > FAR:
            page.say(f"Beyond {FAR:g} times the load: something else gives way long before.")
    else:
        page.say("Under this case nothing is compressed: nothing buckles.")
    page.say(
        "Assumed: axial forces of members alone; not counted are bending that tips a member over,"
        " walls"
    )
    page.say("that buckle by themselves, play and dents. A real frame gives way at less.")
    page.say(
        "Joints by beam rules: condensed sheet metal has no stiffness from axial forces."
        f" {found.refine} elements"
    )
    page.say(f"per stretch, which changed the lowest factor by {100.0 * found.change:.3f} %.")
    page.say(CAUTION)
