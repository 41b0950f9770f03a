"""What `joints` does and prints: joints, seams, and cautions on fatigue."""

import math
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, TypeVar

import typer

from fea import units
from fea.cli.options import Choice, load_cases
from fea.errors import Complaint, DocumentError, FeaError
from fea.section.seam import Stitch

if TYPE_CHECKING:
    from fea.cli.tables import Page
    from fea.document.schema import FrameDocument
    from fea.strength.report import JointStrength, SeamStrength, Strength, Wanted
    from fea.units import System

PREFIX = "road_"
"""What the names of shipped road cases begin with."""

TWIST = "twist"
"""The shipped case that is turned to and fro for the cautions."""

MOST_CAUTIONS = 10

MOST_NAMED = 3
"""Load cases that the headline names."""

ALIKE = 0.005
"""A right and a left row whose worst figures differ by less than this share are one line."""

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."

Row = TypeVar("Row")


def asked(
    electrode: str | None, leg: str | None, bolt_class: str, torque: str | None, joints: str
) -> "Wanted":
    """Return what is said of welds and bolts; refuse what makes no sense, all at once."""
    from fea.strength.bolts import Fastener
    from fea.strength.report import Wanted
    from fea.strength.weld import Electrode
    from fea.study.bolt import property_class

    complaints: list[Complaint] = []
    strength = _positive("--electrode", electrode, "stress", complaints)
    size = _positive("--leg", leg, "length", complaints)
    turn = _positive("--torque", torque, "moment", complaints)
    if joints not in ("sheet", "beam"):
        complaints.append(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    try:
        property_class(bolt_class)
    except FeaError as error:
        complaints += [
            Complaint(c.rule, "--bolt-class", bolt_class, c.do) for c in error.complaints
        ]
    if complaints:
        raise DocumentError(*complaints)
    return Wanted(
        Electrode() if strength is None else Electrode(strength),
        size,
        Fastener(bolt_class, turn),
    )


def _positive(
    option: str, text: str | None, kind: str, complaints: list[Complaint]
) -> float | None:
    if text is None:
        return None
    try:
        value = units.parse(text, kind)
    except DocumentError as error:
        complaints += [Complaint(c.rule, option, text, c.do) for c in error.complaints]
        return None
    if value <= 0.0:
        complaints.append(Complaint("must be greater than 0", option, text))
    return value


def weld_study(
    choice: Choice,
    names: Sequence[str] | None,
    wanted: "Wanted",
    system: "System",
    *,
    sheet_joints: bool,
    as_json: bool,
) -> None:
    """Solve, size and print."""
    from dataclasses import replace

    from fea.cli.busy import busy
    from fea.store import store
    from fea.strength.record import as_record
    from fea.strength.report import strength

    frame = choice.frame()
    cases = load_cases(names or (_road_cases() if frame.masses and frame.axles else None))
    wanted = replace(wanted, stitches=stitches(choice.document))
    with busy("solving"):
        found = strength(
            frame,
            cases,
            load_cases([TWIST])[0],
            wanted,
            sheet_joints=sheet_joints,
            store=store() if sheet_joints else None,
        )
    if as_json:
        from fea.out.record import to_json

        typer.echo(to_json(as_record(found)), nl=False)
        return
    from fea.cli.tables import Page

    page = Page()
    strength_tables(page, found, system)
    page.say(CAUTION)


def _road_cases() -> list[str] | None:
    from fea.document.find import shipped_cases

    return [name for name in shipped_cases() if name.startswith(PREFIX)] or None


def stitches(document: "FrameDocument") -> dict[str | None, Stitch]:
    """Return how the boxing plates of each part are stitched; of several the sparsest."""
    out: dict[str | None, Stitch] = {}
    for part in document.part:
        told = [Stitch(b.stitch.weld, b.stitch.pitch) for b in part.boxing if b.stitch is not None]
        if told:
            out[part.name] = min(told, key=lambda s: s.weld / s.pitch)
    return out


def strength_tables(page: "Page", found: "Strength", system: "System") -> None:
    """Print joints, bolts, seams and cautions."""
    frame, electrode = found.frame, found.wanted.electrode
    names = ", ".join(_short(c.name) for c in found.cases)
    if len(found.cases) > MOST_NAMED:
        names = f"{len(found.cases)} load cases"
    page.say(f"{frame.title}: welds, bolts and seams, the worst of {names}", "bold")
    parts = ", ".join(frame.fitted)
    page.say(f"Parts fitted: {parts}." if parts else "Stock frame: no added part fitted.")
    leg = "as thick as the thinner wall"
    if found.wanted.leg is not None:
        leg = units.show(found.wanted.leg, "thickness", system)
    strength = units.show(electrode.strength, "stress", system)
    page.say(f"Fillets, legs {leg}; electrode {strength},")
    page.say("0.3 of it allowed on the throat. No fillet is laid smaller than 3 mm (1/8 in).")
    _joints(page, found.joints, system)
    _bolts(page, found.joints, system)
    _seams(page, found.seams, system)
    _cautions(page, found, system)


def _joints(page: "Page", joints: Sequence["JointStrength"], system: "System") -> None:
    rows = []
    for name, item in _paired(joints, _joint_name, lambda j: j.force.size[0]):
        force, moment = item.force.size
        told = (name, _show(force, "force", system), _show(moment, "moment", system))
        load = item.weld
        if load is None:
            what = "bolted" if item.bolts is not None else "bolts not told"
            rows.append((*told, what, "", "", "", "", _short(item.case)))
            continue
        rows.append(
            (
                *told,
                _show(load.weld.line.length, "length", system, 3),
                _show(load.per_length, "force_per_length", system),
                _show(load.required, "thickness", system, 2),
                _show(load.leg, "thickness", system, 2),
                _percent(load.use),
                _short(item.case),
            )
        )
    heads = ("joint", "force", "moment", "weld", "load", "needs leg", "leg", "used", "in")
    title = "Joints: what the member's end passes on, and its weld"
    page.table(title, heads, rows, (1, 2, 3, 4, 5, 6, 7))
    abouts: dict[str, list[str]] = {}
    for item in joints:
        if item.weld is not None:
            abouts.setdefault(item.weld.weld.about, []).append(item.force.joint.member)
    for about, members in abouts.items():
        page.say(f"Weld taken as {about}: {', '.join(dict.fromkeys(members))}.")
    thin = [
        j.force.joint.member for j in joints if j.weld and j.weld.required > j.weld.weld.thinner
    ]
    if thin:
        called = ", ".join(dict.fromkeys(thin))
        page.say(f"Need a leg larger than the thinner wall, so the sheet itself is weak: {called}.")
    untold = [j.force.joint.member for j in joints if j.weld is None and j.bolts is None]
    if untold:
        called = ", ".join(dict.fromkeys(untold))
        page.say(f"Not sized: {called}, as the document does not say what bolts hold it.")
    between = [j.force.joint.member for j in joints if j.force.between]
    if between:
        called = ", ".join(dict.fromkeys(between))
        page.say(f"Loads act on the ends themselves, and are passed on with them: {called}.")


def _bolts(page: "Page", joints: Sequence["JointStrength"], system: "System") -> None:
    bolted = [j for j in joints if j.bolts is not None]
    rows = []
    for name, item in _paired(bolted, _joint_name, lambda j: j.use):
        load = item.bolts
        assert load is not None
        slip = "slips" if load.slip > 1.0 else "holds"
        rows.append(
            (
                name,
                f"{load.count} x {_show(load.diameter, 'thickness', system)}",
                _show(load.shear, "force", system),
                _show(load.tension, "force", system),
                _show(load.bearing, "stress", system),
                slip + (", gapes" if load.gape > 1.0 else ""),
                _percent(load.use),
                _short(item.case),
            )
        )
    if rows:
        heads = ("bolts of", "", "shear", "tension", "bearing", "friction", "used", "in")
        page.table("Worst bolt", heads, rows, (2, 3, 4, 6))


def _seams(page: "Page", seams: Sequence["SeamStrength"], system: "System") -> None:
    rows = []
    for name, item in _paired(seams, _seam_name, lambda s: s.load.use):
        load = item.load
        stitch = "all along"
        if load.stitch is not None:
            stitch = f"{load.stitch.weld:g} in {load.stitch.pitch:g} mm"
        rows.append(
            (
                name,
                f"{load.station:.0f}",
                _show(load.flow, "force_per_length", system),
                stitch,
                _show(load.leg, "thickness", system, 2),
                f"{load.weld_per(100.0):.0f} mm in 100",
                _percent(load.use),
                _short(item.case),
            )
        )
    if rows:
        heads = ("seams of", "at, mm", "shear flow", "welded", "leg", "needs", "used", "in")
        title = "Seams of boxing plates (by beam rules; shear flow alone)"
        page.table(title, heads, rows, (1, 2, 4, 5, 6))


def _cautions(page: "Page", found: "Strength", system: "System") -> None:
    paired = list(_paired(found.cautions, lambda c: (c.where, c.detail.name), lambda c: c.range))
    if not paired:
        return
    rows = [
        (
            name,
            c.detail.name,
            f"{c.station:.0f}",
            _show(c.range, "stress", system),
            f"{c.detail.category:.0f} MPa",
            _show(c.detail.limit, "stress", system),
            "above" if c.ratio > 1.0 else "",
        )
        for name, c in paired[:MOST_CAUTIONS]
    ]
    heads = ("at", "detail", "at, mm", "range", "class", "limit", "")
    title = (
        f"Fatigue, a caution: {_couple(found)} to and fro, beside EN 1993-1-9:2005 (from memory)"
    )
    page.table(title, heads, rows, (2, 3, 4, 5))
    above = sum(c.ratio > 1.0 for _, c in paired)
    page.say(f"{above} of {len(paired)} details go above the limit (of cycles that are all alike).")
    page.say("A caution on where to look for cracks: it says nothing of a life.")


def _couple(found: "Strength") -> str:
    """Return the couple of the twist case in words."""
    sizes = [abs(p.couple) for p in found.twist.pushes if p.couple]
    return f"{sizes[0] / 1000.0:.0f} N m" if sizes else f"case {found.twist.name}"


def _paired(
    items: Iterable[Row],
    name: Callable[[Row], tuple[str, str]],
    size: Callable[[Row], float],
) -> Iterable[tuple[str, Row]]:
    """Yield name and row in their order; those alike on right and left, once."""
    from fea.out.packet_pairs import sideless

    left = list(items)
    while left:
        item = left.pop(0)
        called, kind = name(item)
        bare = sideless(called)
        twin = next(
            (
                other
                for other in left
                if name(other)[1] == kind
                and name(other)[0] != called
                and sideless(name(other)[0]) == bare
                and math.isclose(size(item), size(other), rel_tol=ALIKE)
            ),
            None,
        )
        if twin is not None:
            left.remove(twin)
            called = called.replace("rail right", "both rails").replace("rail left", "both rails")
            item = max(item, twin, key=size)
        yield called, item


def _joint_name(item: "JointStrength") -> tuple[str, str]:
    return f"{item.force.joint.member} on {item.force.joint.onto}", ""


def _seam_name(item: "SeamStrength") -> tuple[str, str]:
    return f"{item.load.part or 'plate'} on {item.load.member}", ""


def _short(case: str) -> str:
    return case.removeprefix(PREFIX)


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def _show(value: float, kind: str, system: "System", digits: int | None = None) -> str:
    """Return a figure in the one unit that comes first."""
    return units.show(value, kind, system, digits=digits).split(" (")[0]
