"""The frame coloured by the highest utilisation over many cases."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fea import units
from fea.out.fittings import with_fittings
from fea.out.frame_scene import scene
from fea.out.scene import Field, Scene, Walls
from fea.result.answer import Answer
from fea.result.envelope import Envelope
from fea.result.shape import Surface, surface

Array = NDArray[np.float64]

MOST_ROWS = 5
"""Members whose figures stand beside the picture."""

RANKS = "about welds, in sheet metal, the stress of shells ranks places and is no limit"


def envelope_scene(found: Envelope, answers: list[Answer], system: units.System = "si") -> Scene:
    """Return the frame at rest, coloured by the envelope of its utilisation.

    Cases that take hold of whole ends of rails, in sheet metal, have a mesh of their own:
    only those that share the first one's are in the colours, and a note says so.
    """
    first = answers[0]
    shared = [a for a in answers if a.solution.mesh is first.solution.mesh]
    base = scene(first, None, "stress", system)
    skins = [surface(a.solution) for a in shared]
    walls = Walls(
        points=skins[0].points,
        movement=np.zeros_like(skins[0].points),
        quads=skins[0].quads,
        member=skins[0].member,
        members=first.solution.mesh.members,
        sections=skins[0].section,
        fields=(Field("Highest share of yield", "%", 100.0 * _utilisation(first, skins)),),
    )
    fitted = with_fittings(walls, first, replace(skins[0], movement=walls.movement))
    rows = [(r, r.utilisation) for r in found.of("member") if r.utilisation is not None]
    left = [a.case.name for a in answers if a.solution.mesh is not first.solution.mesh]
    notes = [f"not in the colours, on a mesh of their own: {', '.join(left)}"] if left else []
    notes += [RANKS] if first.solution.metal else []
    return replace(
        base,
        subtitle=f"highest share of yield over {len(shared)} cases; {rows[0][1].case} is worst",
        facts=tuple(
            (r.name, f"{100.0 * u.value:.0f} % of yield: {u.case}") for r, u in rows[:MOST_ROWS]
        ),
        walls=fitted,
        marks=(),
        profile=(),
        profile_title="",
        soft=(),
        notes=(*notes, *base.notes),
        # at rest, and without the mounts: what they bear is of one case
        bodies=tuple(replace(b, movement=np.zeros_like(b.movement), links=()) for b in base.bodies),
    )


def _utilisation(first: Answer, skins: list[Surface]) -> Array:
    """Return at every point the highest stress over the cases, as a share of its yield."""
    weakest = {
        (m.name, run.section.name): run.weakest_yield or run.material.yield_stress
        for m in first.frame.members
        for run in m.runs
    }
    lowest = {
        m.name: min(r.weakest_yield or r.material.yield_stress for r in m.runs)
        for m in first.frame.members
    }
    skin, members = skins[0], first.solution.mesh.members
    of_quad = np.array(
        [
            weakest.get((members[k], name), lowest[members[k]])
            for k, name in zip(skin.member.tolist(), skin.section, strict=True)
        ]
    )
    limit = np.full(len(skin.points), np.inf)
    np.minimum.at(limit, skin.quads, of_quad[:, None])
    return np.asarray(np.max([s.von_mises for s in skins], axis=0) / limit)
