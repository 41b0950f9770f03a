"""Body mounts: ready grades with their sources, ring pads from hardness, what is left of one.

The rates are static ones.  Filled rubber is some 1.2 to 2 times as stiff under vibration.

References
----------
.. [1] A. N. Gent, On the relation between indentation hardness and Young's modulus,
   Rubber Chemistry and Technology 31, 1958.
.. [2] A. N. Gent and P. B. Lindley, The compression of bonded rubber blocks, Proceedings of
   the Institution of Mechanical Engineers 173, 1959.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from fea.document.spelling import choices
from fea.element.wall_seat import ring_stiffness
from fea.errors import Complaint, ModelError
from fea.frame.model import Fastening, Frame, Mount, MountState

Three = tuple[float, float, float]

#: What a mount in each state keeps of its stiffness.  Half for a worn one is common practice
#: in estimates, without a source; the last three hold nothing.
LEFT: Mapping[MountState, float] = {
    "good": 1.0,
    "worn": 0.5,
    "torn": 0.0,
    "missing": 0.0,
    "rusted out": 0.0,
}

HELD = 50.0
"""Distance from a mount's bolt at which the sheet under it counts as clamped, mm: about that
of the walls of a bracket or of a wide rail (an estimate, no source)."""


@dataclass(frozen=True)
class Grade:
    """A ready stiffness of a pair of pads, N/mm, and what it rests on.

    The spans say within what such mounts are met, None where nobody says.
    """

    name: str
    vertical: float
    lateral: float
    source: str
    vertical_span: tuple[float, float] | None = None
    lateral_span: tuple[float, float] | None = None


def modulus(hardness: float) -> float:
    """Return the modulus of elasticity, MPa, of rubber from its Shore A hardness.

    The gauge's spring presses with 56 gf plus 7.66 gf per degree, and its tip has sunk in by
    2.54 mm less 0.0254 mm per degree; the tip, a blunt cone, is taken as a flat punch of its
    mean radius on a deep block that keeps its volume [1]_.  That was compared with tests
    from about 20 to 80 degrees; above, the figure is rough.

    Raises
    ------
    ModelError
        If the hardness is not between 10 and 95 degrees.
    """
    if not 10.0 <= hardness <= 95.0:
        raise ModelError(
            Complaint(
                "a hardness must be from 10 to 95 degrees Shore A",
                found=f"{hardness:g}",
                do="give it as the gauge reads it",
            )
        )
    return 0.0981 * (56.0 + 7.66 * hardness) / (0.137505 * (254.0 - 2.54 * hardness))


def ring_pad(
    hardness: float, outer: float, inner: float, height: float, *, beta: float = 2.0
) -> tuple[float, float]:
    """Return the stiffness of a ring pad up and down and sideways, N/mm.

    Both faces are held from sliding: the modulus in compression is ``E (1 + beta S^2)``,
    with the shape factor S, loaded area over free area [2]_.  Sideways it shears, with a third
    of E.  Its change of volume is left out, so a thin pad (S above about 3) comes out too
    stiff.

    Parameters
    ----------
    hardness : float
        Degrees Shore A, as in `modulus`.
    outer, inner, height : float, mm
        Diameters, the inner one 0 for a disc, and the pad's height as clamped.
    beta : float
        2 for unfilled rubber, less with carbon black: 1 at about 65 degrees.

    Raises
    ------
    ModelError
        If the pad has no metal to bear on, or the hardness is out of range.
    """
    if not (outer > inner >= 0.0 and height > 0.0):
        raise ModelError(
            Complaint(
                "a ring pad needs an outer diameter above the inner one, and a height",
                found=f"{outer:g} mm, {inner:g} mm, {height:g} mm",
                do="give all three as measured",
            )
        )
    area = math.pi / 4.0 * (outer**2 - inner**2)
    shape = area / (math.pi * (outer + inner) * height)
    E = modulus(hardness)  # noqa: N806  # the symbol of the sources
    return E * (1.0 + beta * shape**2) * area / height, E / 3.0 * area / height


#: The ring pad of the computed grades: outer and inner diameter and height, mm.
PAD = (64.0, 20.0, 25.0)

_PRACTICE = "common practice, no source"


def _computed(name: str, hardness: float) -> Grade:
    vertical, lateral = ring_pad(hardness, *PAD)
    outer, inner, height = PAD
    source = (
        f"computed: modulus from hardness (Gent 1958), shape factor (Gent and Lindley 1959, "
        f"unfilled), ring pad {outer:g}/{inner:g} mm, {height:g} mm high"
    )
    source += "; rough above 80 degrees" if hardness > 80.0 else ""
    return Grade(name, vertical, lateral, source)


#: Ready grades by name.  The number is the hardness, degrees Shore A.
GRADES: Mapping[str, Grade] = {
    grade.name: grade
    for grade in (
        *(_computed(f"rubber {hardness}", hardness) for hardness in (50, 60, 70)),
        *(_computed(f"urethane {hardness}", hardness) for hardness in (80, 90)),
        Grade("soft rubber", 350.0, 120.0, _PRACTICE, (250.0, 500.0), (80.0, 200.0)),
        Grade("rubber", 500.0, 200.0, f"{_PRACTICE}; upright between rubber 50 and rubber 60"),
        Grade("urethane", 1500.0, 600.0, _PRACTICE, (1000.0, 4000.0), (300.0, 1000.0)),
        Grade("hard urethane", 4000.0, 1600.0, f"{_PRACTICE}; as stiff as they are met"),
        Grade(
            "solid",
            5000.0,
            5000.0,
            f"{_PRACTICE}: the spacer itself is above 1e5 N/mm, bracket and floor sheet give; "
            "it slips above the friction of its clamping",
            (1000.0, 10000.0),
        ),
    )
}


def graded(mount: Mount, grade: str) -> Mount:
    """Return a mount with pads of another grade: new ones, where there were any.

    Worn and torn pads are good again; a mount that is missing or rusted out stays so, and so
    does its stiffness in turning.

    Raises
    ------
    ModelError
        If there is no such grade.
    """
    new = _grade(grade)
    good = mount.state in ("good", "worn", "torn")
    return replace(
        mount,
        stiffness=(new.lateral, new.lateral, new.vertical),
        grade=new.name,
        state="good" if good else mount.state,
    )


def with_grade(frame: Frame, grade: str) -> Frame:
    """Return a frame with pads of one grade in all its mounts.

    Raises
    ------
    ModelError
        If there is no such grade.
    """
    _grade(grade)  # also where there is no mount
    return replace(frame, mounts=tuple(graded(mount, grade) for mount in frame.mounts))


def effective(mount: Mount) -> Three:
    """Return what a mount gives along x, y and z, N/mm.

    Its pads as their state leaves them.  Upright, the bracket on the frame is in series,
    and so is the sheet round the washer (:func:`seat_stiffness`) where its wall, its hole
    and the washer are told; a bracket's stiffness then is that away from its hole.
    """
    left = LEFT[mount.state]
    if left == 0.0:
        return 0.0, 0.0, 0.0
    x, y, z = (left * k for k in mount.stiffness)
    return x, y, _in_series(_in_series(z, mount.bracket), seat_stiffness(mount.fastening))


def seat_stiffness(fastening: Fastening, held: float = HELD) -> float:
    """Return what the sheet round a mount's washer gives upright, N/mm.

    The washer is stiff, lies loose on a sheet of steel and bears on it by its edge; the
    sheet is clamped round about at the radius `held`, mm.  Infinite where wall, hole or
    washer is not told, and for a washer that reaches as far as the sheet is held.
    """
    wall, hole, washer = fastening.wall, fastening.hole, fastening.washer_diameter
    if wall is None or hole is None or washer is None:
        return math.inf
    return ring_stiffness(wall, hole, washer, held)


def effective_turn(mount: Mount) -> Three:
    """Return what a mount gives about x, y and z, N mm/rad, as its state leaves it."""
    left = LEFT[mount.state]
    x, y, z = (left * k if left else 0.0 for k in mount.turn)
    return x, y, z


def _in_series(pad: float, bracket: float) -> float:
    if pad == 0.0 or math.isinf(bracket):
        return pad
    return bracket if math.isinf(pad) else pad * bracket / (pad + bracket)


def _grade(name: str) -> Grade:
    if name not in GRADES:
        raise ModelError(
            Complaint(f'there is no grade of mount "{name}"', do=choices(GRADES, name))
        )
    return GRADES[name]
