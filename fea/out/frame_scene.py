"""A solved case as a scene: walls, marks, stations, profile and the figures beside them."""

import numpy as np
from numpy.typing import NDArray

from fea import units
from fea.frame.case import ROTATIONS, Hold, Push
from fea.frame.spots import couple_forces, push_moments, spots
from fea.out import surface as surfaces
from fea.out.fittings import with_fittings
from fea.out.road_marks import road_marks
from fea.out.scene import Curve, Field, Grillage, Line, Mark, Scene, Walls
from fea.result.answer import Answer
from fea.result.shape import surface

Array = NDArray[np.float64]
Index = NDArray[np.intp]

AXIS = {"station": 0, "offset": 1, "height": 2, "roll": 0, "pitch": 1, "yaw": 2, "clamped": 2}
"""The axis that a hold's mark points along."""


def scene(
    answer: Answer, stock: Answer | None = None, colour: str = "stress", system: units.System = "si"
) -> Scene:
    """Return the scene of an answer.

    Parameters
    ----------
    answer : Answer
    stock : Answer or None
        The stock frame under the same case: its profile is drawn dashed.
    colour : "stress" or "movement"
        Which field comes first.
    system : "si" or "us"
        Which unit comes first in the figures.
    """
    frame, case = answer.frame, answer.case
    walls = _walls(answer, colour)
    return Scene(
        title=frame.title,
        subtitle=case.title,
        facts=facts(answer, stock, system, walls),
        walls=walls,
        lines=tuple(Line(m.name, m.path, m.part) for m in frame.members),
        marks=_marks(answer),
        stations=_stations(answer),
        profile=_profile(answer, stock),
        profile_title="Twist angle" if case.measure == "twist" else "Vertical movement",
        soft=tuple((s.name, 100.0 * s.share) for s in answer.shares[:10]),
        notes=(*answer.assumed, *frame.notes),
        bodies=_bodies(answer),
    )


def facts(
    answer: Answer, stock: Answer | None, system: units.System, walls: Walls
) -> tuple[tuple[str, str], ...]:
    """Return the figures of an answer in words, the ratio to the stock frame first.

    The highest stress by which a frame is judged is not the highest that is drawn and ringed:
    sheet metal peaks at joints, which serves to rank them.
    """
    rows: list[tuple[str, str]] = []

    def add(label: str, value: float | None, other: float | None, kind: str) -> None:
        if value is None:
            return
        text = units.show(value, kind, system)
        if other:
            text = f"{value / other:.2f} x stock: {text}"
        rows.append((label, text))

    add(
        "Twist stiffness",
        answer.twist_stiffness,
        stock.twist_stiffness if stock else None,
        "rotational_stiffness",
    )
    add(
        "Bending stiffness",
        answer.bending_stiffness,
        stock.bending_stiffness if stock else None,
        "stiffness",
    )
    if answer.peaks:
        top = max(answer.peaks, key=lambda p: p.utilisation)
        rows.append(
            (
                f"Highest stress {answer.where_peaks}",
                f"{units.show(top.von_mises, 'stress', system)} in {top.member} "
                f"at station {top.station:.0f} mm",
            )
        )
        rows.append(("Share of yield", f"{100.0 * top.utilisation:.0f} %"))
    rows += _drawn(walls)
    add("Frame steel", answer.mass.steel, stock.mass.steel if stock else None, "mass")
    if stock and answer.mass.steel - stock.mass.steel > 1e-9:
        rows.append(("Added", units.show(answer.mass.steel - stock.mass.steel, "mass", system)))
    return tuple(rows)


def _drawn(walls: Walls) -> list[tuple[str, str]]:
    """Return what is ringed in the picture, and where it is."""
    shown = walls.fields[0]
    top = surfaces.highest(shown)
    if top is None:
        return []
    quad = int(np.flatnonzero((walls.quads == top).any(axis=1))[0])
    member = walls.members[walls.member[quad]]
    place = f"{member} at station {walls.points[top, 0]:.0f} mm"
    return [("Highest drawn", f"{surfaces.highest_words(shown, top)} in {place}")]


def _walls(answer: Answer, colour: str, *, stress: bool = True) -> Walls:
    """Return the walls; without the stress in the joints' metal they take a tenth of the time."""
    solution = answer.solution
    mesh = solution.mesh
    skin = surface(solution, sheets=answer.sheeting if stress else None, stress=stress)
    fields = [
        Field("Von Mises stress", "MPa", skin.von_mises),
        Field("Movement", "mm", np.linalg.norm(skin.movement, axis=1)),
    ]
    if colour == "movement":
        fields.reverse()
    walls = Walls(
        points=skin.points,
        movement=skin.movement,
        quads=skin.quads,
        member=skin.member,
        members=mesh.members,
        sections=skin.section,
        fields=tuple(fields),
    )
    return with_fittings(walls, answer, skin)


def _bodies(answer: Answer) -> tuple[Grillage, ...]:
    """Return the bodies on the frame as they move with it."""
    if not answer.solution.mesh.bodies:
        return ()
    from fea.out.body_scene import grillages

    return grillages(answer)


def _marks(answer: Answer) -> tuple[Mark, ...]:
    found: list[Mark] = []
    for hold in answer.case.holds:
        if hold.motion in ("height", "clamped") or hold.value:
            found += _hold_marks(answer, hold)
    for push in answer.case.pushes:
        found += _push_marks(answer, push)
    return tuple(found + road_marks(answer))


def _hold_marks(answer: Answer, hold: Hold) -> list[Mark]:
    vector = [0.0, 0.0, 0.0]
    vector[AXIS[hold.motion]] = 1.0
    text = "clamped" if hold.motion == "clamped" else "held"
    if hold.place.side == "mean":
        text = f"mean {text}"
    if hold.value and hold.motion in ROTATIONS:
        text = f"turned {units.show(hold.value, 'angle')}"
    elif hold.value:
        text = f"moved {hold.value:g} mm"
    return [
        Mark("hold", _triple(point), _triple(np.array(vector)), text)
        for spot in spots(answer.frame, hold.place, answer.case.name)
        for point in spot.points
    ]


def _push_marks(answer: Answer, push: Push) -> list[Mark]:
    marks = []
    found = spots(answer.frame, push.place, answer.case.name)
    forces = couple_forces(found, push, answer.case.name)
    moments = push_moments(found, push, answer.case.name)
    for kind, listed in (("force", forces), ("moment", moments)):
        for spot, each in listed:
            for point, share in zip(spot.points, spot.shares, strict=True):
                size = float(np.linalg.norm(share * each))
                if size > 0.0:
                    # A moment's arrow lies along the axis that it turns about.
                    text = ("moment " if kind == "moment" else "") + units.show(size, kind)
                    marks.append(Mark("load", _triple(point), _triple(share * each / size), text))
    return marks


def _triple(values: Array) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in values)
    return x, y, z


def _stations(answer: Answer) -> tuple[tuple[float, str], ...]:
    marks = [(float(m.path[0, 0]), m.name) for m in answer.frame.members if m.kind == "crossmember"]
    marks += [(axle.station, f"{axle.name} axle") for axle in answer.frame.axles]
    return tuple(sorted(marks))


def _profile(answer: Answer, stock: Answer | None) -> tuple[Curve, ...]:
    curves = []
    for one, dashed in ((answer, False), (stock, True)):
        if one is None or one.profile is None:
            continue
        line = one.profile
        twist = answer.case.measure == "twist"
        values = np.degrees(line.angle) if twist else line.height
        name = "stock" if dashed else ("with parts" if stock else "frame")
        curves.append(Curve(name, "deg" if twist else "mm", line.stations, values, dashed))
    return tuple(curves)
