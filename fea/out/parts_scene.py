"""A picture of the frame with all parts, each coloured by its share of the twist gained."""

from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.frame import path as paths
from fea.frame.model import Frame
from fea.out.frame_scene import scene
from fea.out.picture import PictureReport, write_png
from fea.out.scene import Field, Scene, Walls
from fea.solve.condense import Store
from fea.study.parts import PartStudy
from fea.study.variant import solve_variant

Array = NDArray[np.float64]

MOST_FACTS = 6
"""Parts listed beside the picture, those with the largest shares."""


def write_parts_picture(
    found: PartStudy,
    path: Path,
    *,
    store: Store | None = None,
    width: int = 2000,
    software: bool = False,
) -> PictureReport:
    """Write a picture of the frame with all parts, twisted.

    Parameters
    ----------
    store : where condensed sheet metal is kept; by default for this call only
    width, software : as in :func:`fea.out.picture.write_png`
    """
    return write_png(parts_scene(found, store), path, width=width, software=software)


def parts_scene(found: PartStudy, store: Store | None = None) -> Scene:
    """Return the scene: every part's metal has its share, what is stock has no value."""
    full = replace(found.base, parts=frozenset(found.names))
    bare = replace(found.base, parts=frozenset())
    setting = replace(found.setting, cases=found.setting.cases[:1])
    answer = solve_variant(setting, full, store)[0]
    stock = solve_variant(setting, bare, store)[0]
    base = scene(answer, stock)
    whole = found.shared("twist")
    shares = {
        # Round-off of a part that gives nothing would print a minus before its nothing.
        name: round(100.0 * found.share(k, "twist")[0] / whole, 9) + 0.0 if whole else 0.0
        for k, name in enumerate(found.names)
    }
    order = sorted(shares, key=lambda name: -shares[name])
    by = "as sheet metal" if found.division.setting.sheet_joints else "by beam rules"
    return replace(
        base,
        subtitle=f"each part in the colour of its Shapley share (joints {by}) of the twist"
        f" stiffness gained; stock metal is grey; {base.subtitle}",
        walls=_coloured(base.walls, answer.frame, shares),
        soft=(),
        facts=(
            *base.facts[:1],
            *((name, f"{shares[name]:.1f} % of the twist gained") for name in order[:MOST_FACTS]),
        ),
    )


def _coloured(walls: Walls, frame: Frame, shares: dict[str, float]) -> Walls:
    """Return walls with a part's share at all its corners; no two quadrilaterals share a point.

    A length of rail that a plate closes is coloured as a whole.
    """
    value = np.full(len(walls.quads), np.nan)
    middles = walls.points[walls.quads].mean(axis=1)
    for number, name in enumerate(walls.members):
        member = frame.member(name)
        mine = np.flatnonzero(walls.member == number)
        if member.part is not None:
            value[mine] = shares.get(member.part, np.nan)
            continue
        at = np.array([_along(member.path, p) for p in middles[mine]])
        for run in member.runs:
            if run.part is not None:
                inside = (at >= run.start) & (at <= run.end)
                value[mine[inside]] = shares.get(run.part, np.nan)
    flat = walls.quads.ravel()
    return replace(
        walls,
        points=walls.points[flat],
        movement=walls.movement[flat],
        quads=np.arange(len(flat)).reshape(-1, 4),
        fields=(Field("Share of twist gained", "%", np.repeat(value, 4)),),
    )


def _along(path: Array, point: Array) -> float:
    """Return how far along a member's path a point of its walls lies, mm."""
    distance, _ = paths.nearest(path, point)
    return distance
