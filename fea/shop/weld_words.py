"""What a study of welding orders comes to, in sentences."""

from fea.shop.weld_order import OrderStudy, Outcome
from fea.shop.weld_shrinkage import (
    PROCESSES,
    Process,
    heat_per_length,
    okerblom_force,
    tendon_force,
    white_force,
)

SAFETY = (
    "Before the arc: battery and electronics off, fuel tank and lines out or made inert, zinc and"
    " paint off, extinguisher by; the frame on stands on a hard floor, never on a jack.",
    "A planning aid, not a certification: local codes, a licensed welder and a licensed engineer"
    " decide.",
)


def verdict(study: OrderStudy) -> list[str]:
    """Return which order is best, by how much, and whether that says anything."""
    best = study.best
    others = sorted((o for o in study.outcomes if o is not best), key=lambda o: o.shape.off)
    half = 0.5 * (best.high - best.low)
    lines = [f"Straightest: {best.name}, off by {best.shape.off:.2f} mm (rms along the rails)."]
    even = [o for o in others if not study.clearly_worse(o)]
    worse = [o for o in others if study.clearly_worse(o)]
    if even:
        lines.append(
            "Not told apart from it, as shrinkage strays: " + ", ".join(o.name for o in even) + "."
        )
    far = [o for o in worse if o.shape.off - best.shape.off > half]
    near = [o for o in worse if o not in far]
    if far:
        lines.append("Worse by more than the band: " + "; ".join(_by(o, best) for o in far) + ".")
    if near:
        lines.append(
            "Worse in nearly every draw, but by less than the band: "
            + "; ".join(_by(o, best) for o in near)
            + "."
        )
    if not far:
        lines.append(
            f"All orders end within the band of the figures themselves ({best.low:.2f} to"
            f" {best.high:.2f} mm): choose by what happens on the way and by time."
        )
    soft = ", ".join(f"{o.name} {study.softer[o.name]:.2f}" for o in study.outcomes)
    lines.append(f"Off with tacks half as stiff, mm: {soft}.")
    calm = min(study.outcomes, key=lambda o: o.worst)
    wild = max(study.outcomes, key=lambda o: o.worst)
    if wild.worst > 1.5 * calm.worst:
        lines.append(
            f"On the way the frame is off by up to {wild.worst:.1f} mm with {wild.name}, by"
            f" {calm.worst:.1f} mm with {calm.name}: what is clamped or tacked then holds that."
        )
    return lines


def _by(other: Outcome, best: Outcome) -> str:
    return f"{other.name} by {other.shape.off - best.shape.off:.2f} mm"


def assumed(study: OrderStudy, process: Process) -> list[str]:
    """Return what the figures rest on."""
    plan = study.model.plan
    first = plan.runs[0]
    E = plan.stretches[first.stretch].E  # noqa: N806 - the symbol of every source
    heat = heat_per_length(first.area, process)
    known = ", ".join(f"{p.name} {p.heat:g}" for p in PROCESSES.values())
    return [
        "Shrinkage: O. W. Blodgett, Design of Welded Structures, 1966, sec. 7.7, quoted from"
        f" memory: along a weld the tendon force {tendon_force(first.area, E) / 1e3:.0f} kN"
        f" for a {first.leg:.1f} mm leg, across it 0.10 Aw/t.",
        f"For the same leg and {heat:.0f} J/mm White has {white_force(heat) / 1e3:.0f} kN, Okerblom"
        f" {okerblom_force(heat, E) / 1e3:.0f} kN (both from memory; heat is an estimate, J per mm3"
        f" of weld: {known}).",
        f"Bands: shrinkage strays by {100.0 * study.band:.0f} % either way (two standard"
        " deviations), all runs together and each on its own.",
        f"Tacks give {study.model.tack:g} of a finished weld's stiffness, an estimate. A section"
        " counts as open but for the tacks until both edges of the plate are welded there.",
        "Left out: clamps, gravity, steel that yields elsewhere, gaps, gussets, bulkheads, welds"
        " along flange edges, where members cross.",
        f"The search: greedy, the best order so far, then {study.exchanges} exchanges of pairs"
        f" ({study.kept} kept), seed {study.seed}. It is not proved to be the best there is.",
    ]
