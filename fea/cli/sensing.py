"""What `sensitivity` does and prints."""

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import typer

from fea import units
from fea.cli.busy import busy
from fea.cli.first_tables import print_mode_slopes
from fea.cli.highest_rows import print_highest, step_mpa
from fea.cli.many import CAUTION, setting_of
from fea.cli.options import Choice, load_cases
from fea.cli.tables import Page
from fea.cli.wrapped import say
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.study.keys import NumericKey
    from fea.study.mode_slope import ModeBase, ModeSlope
    from fea.study.sensitivity import Slope
    from fea.study.sensitivity_peak import PeakPlace
    from fea.study.sensitivity_record import Now
    from fea.units import System


def sense(
    choice: Choice,
    paths: Sequence[str] | None,
    joints: str,
    system: "System",
    *,
    stress: bool,
    as_json: bool,
    modes: bool = False,
) -> None:
    """Take the derivatives and print them, those that matter most for twist first."""
    from fea.study.keys import key_at, numeric_keys
    from fea.study.mode_slope import as_record as modes_record
    from fea.study.sensitivity_peak_record import with_peaks
    from fea.study.sensitivity_record import as_record, felt

    if joints not in ("sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "--joints", joints, "beam or sheet"))
    frame = choice.frame()
    keys = [key_at(choice.document, p) for p in paths or ()]
    keys = keys or numeric_keys(choice.document, bodies=choice.body is not None)
    with busy("taking derivatives"):
        slopes, now, places = _slopes(choice, keys, sheet=joints == "sheet", stress=stress)
    if now.twist:
        slopes = sorted(slopes, key=lambda s: -abs((s.twist or 0.0) * s.key.value))
    halves = _halves(choice, slopes)
    swings = _swings(choice, [s.key for s in slopes]) if modes else None
    if as_json:
        record = with_peaks(as_record(slopes, now, halves), slopes, places, load_cases(None))
        if swings is not None:
            record["modes"] = modes_record(*swings)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
        return
    page = Page()
    say(page, f"{frame.title}: what one more step of a figure buys", "bold")
    say(page, f"Parts fitted: {', '.join(frame.fitted) or 'none'}.")
    if now.twist is not None:
        say(page, f"Twist {units.show(now.twist, 'rotational_stiffness', system)}.")
    if now.bending is not None:
        say(page, f"Bending {units.show(now.bending, 'stiffness', system)}.")
    shown = [s for s in slopes if felt(s, now)]
    _table(page, shown, now, system, places)
    _ranges(page, [s for s in shown if s.key.path in halves], now, halves)
    if swings is not None:
        print_mode_slopes(page, *swings)
    if places:
        print_highest(page, shown, places, system, sheet=joints == "sheet")
    _after(page, slopes, len(slopes) - len(shown), sheet=joints == "sheet")


def _after(page: Page, slopes: "Sequence[Slope]", idle: int, *, sheet: bool) -> None:
    if idle:
        say(page, f"{idle} more figures change neither stiffness nor steel of the frame as fitted.")
    others = [s.key.path for s in slopes if not s.adjoint]
    if sheet:
        say(page, "Joints as sheet metal: differences of full solves.")
    elif len(others) < len(slopes):
        say(page, "Derivatives by the adjoint, joints by beam rules.")
    if others and not sheet:
        say(page, f"By differences of full solves (the mesh changes): {', '.join(others)}.")
    say(page, CAUTION)


def _halves(choice: Choice, slopes: "Sequence[Slope]") -> dict[str, float]:
    """Return half the tolerances that the document gives, by path, of what is differentiated."""
    from fea.document.edit import value_at
    from fea.study.tolerances import spread_in

    found = {}
    for s in slopes:
        told = spread_in(str(value_at(choice.document, s.key.path)))
        if told is not None and told[2] > 0.0:
            found[s.key.path] = told[2]
    return found


def _ranges(
    page: Page, slopes: "Sequence[Slope]", now: "Now", halves: "Mapping[str, float]"
) -> None:
    """Print what half the tolerance of every figure that carries one makes."""
    from fea.study.sensitivity_record import over_half

    rows = []
    for s in slopes:
        half = halves[s.key.path]
        unit = units.KINDS[s.key.kind].si
        mean, width = (units.convert(x, s.key.kind, unit) for x in (s.key.value, half))
        shares = (over_half(getattr(s, m), getattr(now, m), half) for m in ("twist", "bending"))
        told = ("-" if x is None else f"±{abs(100.0 * x):.2f}" for x in shares)
        rows.append((s.key.path, f"{mean:.4g} +- {width:.4g} {unit}", *told))
    if rows:
        title = "What the document gives as a range, and what the range makes to first order"
        page.table(title, ("figure", "", "twist %", "bend. %"), rows, (1, 2, 3))


def _slopes(
    choice: Choice, keys: "Sequence[NumericKey]", *, sheet: bool, stress: bool
) -> "tuple[list[Slope], Now, tuple[PeakPlace, ...]]":
    from fea.study.sensitivity import base, differences, slopes
    from fea.study.sensitivity_peak import peak_places, peaks
    from fea.study.sensitivity_record import Now
    from fea.study.variant import measure, solve_variant

    setting, variant, _ = setting_of(choice, None, sheet=sheet)
    if sheet:
        from fea.store import store

        kept = store()
        f = measure(setting, variant, kept)
        solved = solve_variant(setting, variant, kept) if stress else []
        places = peak_places([answer.solution for answer in solved])
        found = [differences(setting, variant, key, store=kept, places=places) for key in keys]
        return found, Now(f.twist, f.bending, f.steel), places
    start = base(setting, variant)
    now = Now(start.value("twist"), start.value("bending"), start.steel)
    high = peaks(start.state, setting) if stress else None
    return slopes(start, keys, stress=high), now, high.places if high else ()


def _swings(choice: Choice, keys: "Sequence[NumericKey]") -> "tuple[ModeBase, list[ModeSlope]]":
    from fea.study.mode_slope import mode_base, mode_slopes

    setting, variant, _ = setting_of(choice, None, sheet=False)
    with busy("taking derivatives of modes"):
        swinging = mode_base(setting, variant)
        return swinging, mode_slopes(swinging, keys)


def _table(
    page: Page,
    slopes: "Sequence[Slope]",
    now: "Now",
    system: "System",
    places: "Sequence[PeakPlace]",
) -> None:
    from fea.study.sensitivity_record import gain, per_kg, step_of

    rows = []
    for s in slopes:
        gains = [gain(getattr(s, m), getattr(now, m), s.key) for m in ("twist", "bending")]
        row = [
            s.key.path,
            _value(s.key.value, s.key.kind, system),
            *(_percent(g) for g in gains),
            f"{1000.0 * s.steel * step_of(s.key):+.3f}",
            *(_percent(per_kg(g, s, now)) for g in gains),
        ]
        if places:
            row.append(step_mpa(s, places))
        rows.append(row)
    heads = ["figure", "now", "twist %", "bend. %", "kg", "twist/kg", "bend./kg"]
    if places:
        heads.append("MPa")
    lost = any(s.key.kind == "share" for s in slopes)
    say(
        page,
        "One more step: 0.1 mm of a wall or plate, 1 mm of another size, 10 % of a stiffness"
        f"{', 1 % of a wall that wears' if lost else ''}."
        " Gains in per cent, to first order: good for a small step, too much for a large one.",
    )
    page.table("", heads, rows, range(1, len(heads)))


def _value(value: float, kind: str, system: "System") -> str:
    """Return a figure in the system asked for, without the other one."""
    if kind.endswith("stiffness"):
        unit = units.KINDS[kind].si if system == "si" else units.KINDS[kind].us
        return f"{units.convert(value, kind, unit):.4g} {unit}"
    return units.show(value, kind, system).split(" (")[0]


def _percent(share: float | None) -> str:
    return "-" if share is None else f"{100.0 * share:+.2f}"
