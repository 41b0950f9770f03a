"""The outcome of a clearance study as plain data for JSON, and in words."""

from typing import Any

import numpy as np

from fea.shop.clearance import Clearance, ClearanceStudy, Reach

FORMAT = 1
"""Version of the layout; keys are only ever added within a version."""

BASIS = (
    "Metal counts with its walls' thickness, corners sharp, swept along each member; a closed"
    " section counts as solid, an open one wall by wall. The geometry is exact, except that round"
    " tubes are prisms of 64 sides (0.12 % of the radius too large at most). Bulkheads, body"
    " mounts, ties, brackets, bolts and weld are left out, and so is how far the frame bends."
)


def as_record(study: ClearanceStudy) -> dict[str, Any]:
    """Return the study as a dictionary ready for JSON."""
    return {
        "format": FORMAT,
        "frame": study.frame.name,
        "title": study.frame.title,
        "parts": list(study.frame.fitted),
        "all_members": study.everything,
        "verdict": verdict(study),
        "clearances": [_one(one) for one in study.found],
        "gearbox_positions": [_reach(one) for one in study.reaches],
        "gearbox_face_mm": study.face,
        "basis": BASIS,
    }


def _one(one: Clearance) -> dict[str, Any]:
    station, offset, height = one.at.tolist()
    return {
        "metal": one.metal,
        "part": one.part,
        "obstacle": one.obstacle,
        "kind": one.kind,
        "least_mm": one.least,
        "asked_mm": one.asked,
        "status": one.status,
        "station_mm": station,
        "offset_mm": offset,
        "height_mm": height,
        "way": one.way.tolist(),
        "shaft_lift_mm": one.lift,
        "at_full_jounce_mm": one.jounce,
        "hump_offsets_mm": None if one.hump is None else list(one.hump),
    }


def _reach(one: Reach) -> dict[str, Any]:
    return {
        "station_mm": one.station,
        "turned": one.turned,
        "seat_mm": one.mount,
        "behind_mount_mm": one.off,
        "within_range": one.inside,
    }


def verdict(study: ClearanceStudy) -> str:
    """Return in one line how many clearances are not kept."""
    broken = study.broken
    overlaps = sum(one.status == "overlap" for one in broken)
    if not broken:
        return f"all {len(study.found)} clearances are kept"
    text = f"{len(broken)} of {len(study.found)} clearances are not kept"
    return f"{text}, {overlaps} of them overlaps" if overlaps else text


def remedy(one: Clearance) -> str:
    """Return how far which way the obstacle would have to move, for a clearance not kept."""
    if one.status == "clear":
        return ""
    ways = (("rearward", "forward"), ("right", "left"), ("up", "down"))
    axis = int(abs(one.way).argmax())
    sense = ways[axis][0 if one.way[axis] > 0.0 else 1]
    short = one.asked - one.least
    if one.kind == "ground":
        return f"raise it by {short:.0f} mm" if short > 0.0 else "it meets the ground in jounce"
    amount = short / abs(one.way[axis])
    text = f"move {one.obstacle} {sense} by {amount:.0f} mm"
    if one.hump is None or axis != 2:
        return f"{text}, or the metal away"
    other = "raised" if sense == "down" else "lowered"
    low, high = (f"{value + 0.0:.0f}" for value in np.round(one.hump))
    return f"{text}, or have the metal {other} by it between offsets {low} and {high} mm"


def lines(study: ClearanceStudy) -> list[str]:
    """Return what is to be said of arches and the gearbox."""
    out = []
    for arch in study.frame.packaging.arches:
        out.append(
            f"{arch.member} is arched by {arch.height:g} mm over {arch.width:g} mm, its sides at 45"
            " degrees: shape only, its stiffness is that of a straight one."
        )
    box = study.frame.packaging.gearbox
    if box is not None and study.reaches:
        best = study.reaches[0]
        turned = ", turned round," if best.turned else ""
        member = box.crossmember
        out.append(
            f"Gearbox mount at {box.mount[0]:g} mm: {member} bolted at {best.station:g} mm{turned}"
            f" has its seat at {best.mount:g} mm, {abs(best.off):g} mm off."
        )
        if study.face is not None:
            where = "under" if study.face >= 0.0 else "above"
            out.append(
                f"The upper face of {member} is {abs(study.face):.1f} mm {where} the mount's"
                " lower face."
            )
    return out
