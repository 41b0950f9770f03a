"""How the end of a member is cut to what it is fixed to."""

from fea.frame.crossing import Crossing, crossings, tip
from fea.frame.model import Frame, Joint

LAP_GAP = 30.0
"""Flanges nearer than this, mm, are welded to each other through a shim."""

SAME = 0.5
"""Walls nearer to each other along a line than this, mm, are one."""


def met(frame: Frame, joint: Joint) -> list[Crossing]:
    """Return the walls that a member's axis passes through, from its end inward."""
    member = frame.member(joint.member)
    return crossings(frame.member(joint.onto), joint.distance, *tip(member, joint.end))


def wall_of(frame: Frame, joint: Joint) -> Crossing | None:
    """Return the wall that a member's end is fixed to, None if its axis meets none.

    It is the wall nearest to the end of its path; of two equally near (a box on its centre
    line) the one it meets first.  A member that passes through goes to the outermost.
    """
    found = met(frame, joint)
    if not found:
        return None
    if joint.kind == "through":
        return min(found, key=lambda c: (c.t < -SAME, c.t))
    return max(found, key=lambda c: (-round(abs(c.t), 3), c.t))


def trim(frame: Frame, joint: Joint) -> float:
    """Return how much of a member's end lies beyond the wall it is fixed to, mm."""
    found = None if joint.kind == "rigid" else wall_of(frame, joint)
    return 0.0 if found is None else max(0.0, found.t)


def walls_crossed(frame: Frame, joint: Joint) -> list[float]:
    """Return how far from a member's end its axis passes through walls, each once, mm."""
    out: list[float] = []
    for c in met(frame, joint):
        if not out or c.t - out[-1] > SAME:
            out.append(c.t)
    return out
