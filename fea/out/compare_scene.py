"""Two states of a frame in one picture: the same scale, colours and magnification for both.

The frames stand side by side as on a shop floor, before nearer to the viewer, so that they
share one ruler of stations, one colour bar and one magnification of movements.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea import units
from fea.out.frame_scene import scene
from fea.out.picture import PictureReport, write_png
from fea.out.scene import Badge, Curve, Field, Grillage, Line, Mark, Scene, Walls
from fea.out.surface import every_point, frame_length
from fea.study.compare import Comparison
from fea.study.compare_places import Place
from fea.study.compare_record import sentence

Array = NDArray[np.float64]

BETWEEN = 0.18
"""Free floor between the frames, of the longer one's length."""

HEADROOM = 0.9
"""More free floor for each mm by which the nearer one stands high: it shall not hide the other."""

MOST_PLACES = 12
"""Places that got worse that are numbered in the picture."""


def write_compare_picture(
    found: Comparison,
    path: Path,
    *,
    number: int = 0,
    system: units.System = "si",
    width: int = 2000,
    software: bool = False,
) -> PictureReport:
    """Write both states under one case as a PNG.

    Parameters
    ----------
    number : which of the cases
    system : which unit comes first
    width, software : as in :func:`fea.out.picture.write_png`
    """
    shown = compare_scene(found, number, system)
    return write_png(shown, path, width=width, software=software)


def compare_scene(found: Comparison, number: int = 0, system: units.System = "si") -> Scene:
    """Return the scene of both states under one case."""
    answers = [state.answers[number] for state in (found.before, found.after)]
    near, far = (scene(a, None, "stress", system) for a in answers)
    away = _away(near, far)
    labels = (found.before.label, found.after.label)
    titles = dict.fromkeys((near.title, far.title))
    stations = dict.fromkeys((*near.stations, *far.stations))
    worse = _worse(found, number)[:MOST_PLACES]
    return replace(
        far,
        title=" and ".join(titles) if len(titles) > 1 else f"{near.title}: {' and '.join(labels)}",
        subtitle=f"nearer: {labels[0]}; behind it: {labels[1]}; both under {far.subtitle}",
        facts=_facts(found, number, system),
        walls=_side_by_side(near.walls, far.walls, away),
        lines=(*near.lines, *(Line(m.name, m.points + away, m.part) for m in far.lines)),
        marks=(
            *_marks(near, labels[0], np.zeros(3)),
            *_marks(far, labels[1], away),
        ),
        stations=tuple(sorted(stations)),
        profile=_profile(near, far, labels),
        soft=(),
        bodies=(*near.bodies, *(_moved(b, away) for b in far.bodies)),
        badges=tuple(Badge(k, at) for k, p in worse for at in _spots(p, away)),
        listed=tuple(
            (k, sentence(replace(p, use_before=None, where=""), system)) for k, p in worse
        ),
        listed_title="Stressed more, numbered as printed",
    )


def _away(near: Scene, far: Scene) -> Array:
    """Return how far to the right the second frame stands, (3,), mm."""
    one, other = every_point(near), every_point(far)
    high = max(float(np.ptp(p[:, 2])) for p in (one, other))
    gap = BETWEEN * max(frame_length(near), frame_length(far)) + HEADROOM * high
    return np.array([0.0, float(one[:, 1].max() - other[:, 1].min()) + gap, 0.0])


def _side_by_side(near: Walls, far: Walls, away: Array) -> Walls:
    """Return the walls of both as one set, the second moved."""
    n_points, n_members = len(near.points), len(near.members)
    fields = zip(near.fields, far.fields, strict=True)
    return Walls(
        points=np.concatenate([near.points, far.points + away]),
        movement=np.concatenate([near.movement, far.movement]),
        quads=np.concatenate([near.quads, far.quads + n_points]),
        member=np.concatenate([near.member, far.member + n_members]),
        members=(*near.members, *far.members),
        sections=(*near.sections, *far.sections),
        fields=tuple(
            Field(a.name, a.unit, np.concatenate([a.values, b.values])) for a, b in fields
        ),
    )


def _moved(body: Grillage, away: Array) -> Grillage:
    links = tuple(replace(link, ends=link.ends + away) for link in body.links)
    return replace(body, points=body.points + away, links=links)


def _marks(shown: Scene, label: str, away: Array) -> list[Mark]:
    """Return a state's marks, moved; the foremost names the state, of the nearer all loads speak.

    The case is the same for both: all loads told twice would crowd the picture.
    """
    told = sorted(shown.marks, key=lambda m: (m.kind != "load", m.position))
    near = not away.any()
    out = []
    for k, mark in enumerate(told):
        x, y, z = (float(v) for v in np.array(mark.position) + away)
        text = mark.text if mark.kind == "load" and near else ""
        out.append(
            replace(mark, position=(x, y, z), text=f"{label}: {mark.text}" if k == 0 else text)
        )
    return out


def _profile(near: Scene, far: Scene, labels: tuple[str, str]) -> tuple[Curve, ...]:
    return (
        *(replace(c, name=labels[1]) for c in far.profile),
        *(replace(c, name=labels[0], dashed=True) for c in near.profile),
    )


def _facts(found: Comparison, number: int, system: units.System) -> tuple[tuple[str, str], ...]:
    """Return the figures of the whole frame and the places that got worse, in words."""
    case = found.after.answers[number].case.name
    rows = []
    for f in found.figures:
        if f.ratio is None or f.after is None or f.kind == "frequency" or f.case not in ("", case):
            continue
        now = units.show(f.after, f.kind, system)
        rows.append((f.name, f"{f.ratio:.2f} x {found.before.label}: {now}"))
    one, other = (s.answers[number].peaks for s in (found.before, found.after))
    if one and other:
        values = [max(p.von_mises for p in peaks) for peaks in (one, other)]
        now = units.show(values[1], "stress", system)
        label, where = found.before.label, found.after.answers[number].where_peaks
        rows.append((f"Highest stress {where}", f"{values[1] / values[0]:.2f} x {label}: {now}"))
    if not any(not p.about for _, p in _worse(found, number)):
        rows.append(("Places stressed more", "none along the members"))
    return tuple(rows)


def _worse(found: Comparison, number: int) -> list[tuple[int, Place]]:
    """Return the places that got worse under a case, with the numbers they are printed by."""
    case = found.after.answers[number].case.name
    return [(k, p) for k, p in enumerate(found.places, start=1) if p.case == case]


def _spots(place: Place, away: Array) -> list[tuple[float, float, float]]:
    """Return where a place and its mirror image are in the frame moved by `away`."""
    sides = [1.0, -1.0] if len(place.members) > 1 or place.either_side else [1.0]
    x, y, z = away.tolist()
    return [(place.station + x, side * place.offset + y, place.height + z) for side in sides]
