"""What welding locks in, in sentences and as plain data for JSON."""

from math import degrees
from typing import Any

from fea.shop.gaps import Gap
from fea.shop.left_in import Left
from fea.shop.locked import SHOWN, Figure, Locked
from fea.shop.rig import Grip
from fea.shop.survey_measures import TITLES

FORMAT = 1
"""Version of the layout; keys are only ever added within a version."""

CLEAR = {"twist": 2e-4, "diamond": 0.2, "sag": 0.2, "sidesway": 0.2}
"""A measure that clamps take off less of than this, mm or rad, is not told a share of."""

NEAR = 1.2
"""Beam rules that take more than this many times the force are told of."""

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."


def amount(figure: Figure, value: float) -> str:
    """Return a figure's value with its unit."""
    if figure.measure.is_angle:
        return f"{degrees(value):+.3f} deg"
    return f"{value:+.2f} mm"


def sense_of(figure: Figure) -> str:
    """Return what the sign of a measure as surveyed means."""
    return figure.measure.words[0 if (figure.off or 0.0) >= 0.0 else 1]


def share_back(figure: Figure) -> float | None:
    """Return the share of what the clamps took off that springs back, None if they took little."""
    if figure.off is None or abs(figure.off) - abs(figure.forced) < CLEAR[figure.measure.key]:
        return None
    return figure.springs_back


def overbend(found: Locked) -> float | None:
    """Return how many times as far the clamps must go for no twist to stay, None if not told."""
    twist = found.worst("twist")
    back = None if twist is None else share_back(twist)
    if twist is None or twist.off is None or back is None:
        return None
    return twist.off / (twist.off - twist.after)


def hardest(found: Locked) -> float:
    """Return the highest use of yield in the clamps."""
    return max((p.utilisation for p in found.clamping), default=0.0)


def sense(grip: Grip, force: float) -> str:
    """Return which way a clamp works."""
    if len(grip.ends) > 1:
        return "pull" if force < 0.0 else "push apart"
    return "up" if force > 0.0 else "down"


def sentences(found: Locked) -> list[str]:
    """Return what the figures mean, the most important first."""
    out = [
        "Welded as it stands, it keeps its shape; the same straightening then takes"
        f" {found.stiffer:.2f} x the force."
    ]
    twist = found.worst("twist")
    back = None if twist is None else share_back(twist)
    if twist is not None and twist.off is not None and back is not None:
        out.append(
            f"Forced straight, welded and let go: of {abs(degrees(twist.off)):.2f} deg twist"
            f" {abs(degrees(twist.after)):.2f} deg stay; {100.0 * back:.0f} % of what the clamps"
            " took off springs back."
        )
    far, use = overbend(found), hardest(found)
    if far is not None and 0.0 < far < 10.0:
        out.append(
            f"For no twist to stay, move every clamp {far:.2f} x as far; the hardest used member"
            f" is then at {100.0 * far * use:.0f} % of yield."
        )
    if use >= 1.0:
        out.append(
            "The clamps pass yield: the frame takes a set there, and figures beyond are too high."
        )
    if found.by_rule > NEAR:
        out.append(
            "By the beam rules for joints, which stress and gaps are by, the same takes"
            f" {found.by_rule:.1f} x the force: stress is likely less than told."
        )
    lone = [g for g in found.gaps if g.elsewhere is not None]
    if lone:
        worst = min(lone, key=_to_yield)
        out.append(
            f"A gap at {worst.member} forced shut uses up all of yield at {_to_yield(worst):.1f} mm"
            " (no weld's own shrinkage counted): shim or cut anew instead."
        )
    return out


def _to_yield(gap: Gap) -> float:
    """Return the gap, mm, at which something yields, closing it or afterwards."""
    used = [one.utilisation for one in (gap.own, gap.elsewhere, gap.closing) if one is not None]
    return 1.0 / max(used) if used else float("inf")


def basis(found: Locked) -> str:
    """Say what the figures rest on."""
    joints = (
        "as sheet metal, stress and gaps by beam rules" if found.sheet_joints else ("by beam rules")
    )
    beside = found.shape.beside
    left_out = f" Points off the rails are left out: {', '.join(beside)}." if beside else ""
    gone = f" Taken out before: {', '.join(found.replaced)}." if found.replaced else ""
    return (
        "Linear, from a frame free of stress in its crooked shape, stiff as a straight one; the"
        " frame's weight and the welds' own shrinkage are left out; parts meet it without gaps but"
        f" where told. Joints {joints}.{gone}{left_out}"
    )


def as_record(found: Locked) -> dict[str, Any]:
    """Return all that is locked in, ready for JSON."""
    staged = found.staged
    return {
        "format": FORMAT,
        "frame": found.frame.name,
        "title": found.frame.title,
        "shape": found.shape.source,
        "parts": list(found.frame.fitted),
        "replaced": list(found.replaced),
        "joints": "sheet" if found.sheet_joints else "beam",
        "as_it_stands": {"straightening_force_ratio": found.stiffer},
        "forced": {
            "measures": [_figure(f) for key in SHOWN if (f := found.worst(key)) is not None],
            "clamps": [
                {"at": g.words, "moved_mm": float(m), "force_n": float(f), "works": sense(g, f)}
                for g, m, f in zip(
                    staged.grips, staged.motions.tolist(), staged.clamps.tolist(), strict=True
                )
            ],
            "times_the_force_by_beam_rules": found.by_rule,
            "highest_use_of_yield_in_clamps": hardest(found),
            "clamps_pass_yield": hardest(found) >= 1.0,
            "times_as_far_for_no_twist": overbend(found),
            "stress": _stress(found),
        },
        "gaps_per_mm": [_gap(g) for g in found.gaps],
        "basis": basis(found),
    }


def _figure(f: Figure) -> dict[str, Any]:
    unit, of = ("deg", degrees) if f.measure.is_angle else ("mm", float)
    return {
        "measure": f.measure.key,
        "title": TITLES[f.measure.key],
        "where": f.measure.title,
        f"surveyed_{unit}": None if f.off is None else of(f.off),
        f"in_clamps_{unit}": of(f.forced),
        f"after_{unit}": of(f.after),
        "springs_back": share_back(f),
    }


def _stress(found: Locked) -> list[dict[str, Any]]:
    clamped = {p.member: p for p in found.clamping}
    return [
        {
            "member": one.member,
            "left_mpa": one.stress,
            "left_of_yield": one.utilisation,
            "station_mm": one.station,
            "in_clamps_mpa": clamped[one.member].von_mises if one.member in clamped else None,
            "in_clamps_of_yield": (
                clamped[one.member].utilisation if one.member in clamped else None
            ),
        }
        for one in found.left
    ]


def _gap(gap: Gap) -> dict[str, Any]:
    leaves = {}
    for key in ("twist", "diamond", "sag", "sidesway", "width"):
        worst = gap.worst(key)
        if worst is not None:
            of = degrees if worst[0].is_angle else float
            leaves[f"{key}_{'deg' if worst[0].is_angle else 'mm'}"] = of(worst[1])
    return {
        "member": gap.member,
        "part": gap.part,
        "force_n": gap.force,
        "stays_in_what_it_joins_mm": gap.drawn,
        "leaves": leaves,
        "own_stress": _left(gap.own),
        "stress_elsewhere": _left(gap.elsewhere),
        "yields_at_mm": _to_yield(gap),
    }


def _left(one: Left | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {"member": one.member, "mpa": one.stress, "of_yield": one.utilisation}
