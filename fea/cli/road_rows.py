"""What is told of a vehicle on the road: wheel loads, where factors come from, how it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fea import units

if TYPE_CHECKING:
    from fea.cli.tables import Page
    from fea.result.answer import Answer


def road_tables(page: Page, answer: Answer, system: units.System) -> None:
    """Print how the vehicle of a road case stands; nothing for other cases."""
    road = answer.solution.loads.road
    if road is None:
        return
    x, y, z = (round(float(v)) for v in road.centre)
    mass = units.show(road.mass, "mass", system)
    page.say(f"Vehicle {mass}, centre at station {x}, offset {y}, height {z} mm.")
    if road.wheels:
        rows = [
            (wheel, *(units.show(round(float(f), 6) + 0.0, "force", system) for f in force))
            for wheel, force in road.wheels.items()
        ]
        heads = ("the road pushes", "rearward", "to the right", "up")
        page.table("Wheels", heads, rows, (1, 2, 3))
        largest = max((abs(r.force) for r in answer.reactions), default=0.0)
        page.say(
            f"In equilibrium to {road.imbalance:.0e} of the weight; supports bear"
            f" {largest:.0e} N at most."
        )
    for note in road.notes:
        page.say(f"- {note}.")
    for name, text in sources(answer):
        page.say(f"Source of {name}: {text}.")


def sources(answer: Answer) -> list[tuple[str, str]]:
    """Return where each factor of a case, or of the cases of a sum, comes from."""
    cases = [answer.case, *(t.case for t in answer.case.combine)]
    found = [
        (name.replace("_", " "), text.rstrip("."))
        for c in cases
        if c.road is not None
        for name, text in c.road.sources
    ]
    return list(dict.fromkeys(found))
