"""Four-node thin or thick flat shell elements, all at once.

Freedoms of a node, in vehicle axes: ux uy uz rx ry rz.  In the plane of an element the
membrane with its drilling rotation (:mod:`fea.element.shell_membrane`) and the plate in
bending (:mod:`fea.element.shell_bending`) do not couple.

Four corners need not lie in one plane.  Their mean plane holds their centre and is parallel
to both diagonals; it leaves the corners alternately h above and h below.  The element
lies in the mean plane, and rigid arms of length h carry it from the corners: a rigid
motion stays exactly free of stress.  The arms are right for slightly warped elements,
h well below the side lengths.

Elements must be convex: see `least_corner`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element import shell_bending, shell_membrane
from fea.element.shell_membrane import CORNERS

Array = NDArray[np.float64]

N_FREEDOMS = 6
DRILL_FACTOR = 0.1
"""Stiffness of the drilling tie over G t.

Folded plates hardly feel it: a channel's or a tube's twist moves by 0.2 % between 1e-3
and 1.  Where a surface turns from element to element, the tie carries bending moments
round the turn: a pretwisted strip is soft by 30 % at 1e-3, 3 % at 0.01, 0.2 % at 0.1.
Much above that, walls with an odd few elements across stiffen a tube (three across, 1 %
at 1).
"""

STRESS_PLACES = np.vstack([[0.0, 0.0], CORNERS])
"""Where `stress` reports, natural coordinates: the centre, then the four corners."""

CENTRE = STRESS_PLACES[:1]
"""The centre alone, at a fifth of the cost: the incompatible modes strain nothing there."""

_BATCH = 256
"""Elements at a time: their arrays stay in the cache, which halves the time."""
_STRESS_BATCH = 1024
"""The same for their stress, whose arrays are smaller."""
_IN_PLANE = np.array([6 * corner + k for corner in range(4) for k in (0, 1, 5)])
_OUT_OF_PLANE = np.array([6 * corner + k for corner in range(4) for k in (2, 3, 4)])


@dataclass(frozen=True, eq=False)
class Shells:
    """Everything an element's stiffness needs, one row per element.

    Attributes
    ----------
    corners : (n, 4, 3), mm, vehicle axes, in order round the quadrilateral
    thickness : (n,), mm
    E : (n,), MPa; or (n, 2), MPa, where sheet is softer in shear than E / 2 (1 + nu): E, G
    nu : (n,)

    G counts in the membrane alone.  What makes sheet softer in shear than in tension is slip
    along a seam or between holes, in the plane; the plate bends, twists and shears through
    its thickness by E and nu.
    """

    corners: Array
    thickness: Array
    E: Array
    nu: Array

    def part(self, of: slice | NDArray[np.bool_]) -> "Shells":
        """Return some of the elements."""
        return Shells(self.corners[of], self.thickness[of], self.E[of], self.nu[of])


@dataclass(frozen=True, eq=False)
class ShellStress:
    """Stress at s places, those of `STRESS_PLACES` unless asked otherwise, MPa.

    In the axes of the elements.

    Attributes
    ----------
    membrane : (n, s, 3), sx sy txy, mean through the thickness
    top, bottom : (n, s, 3), sx sy txy on the surfaces at +t/2 and -t/2 along the normal
    von_mises_top, von_mises_bottom : (n, s)
    shear : (n, s, 2), txz tyz, mean through the thickness (their peak is 1.5 times that)
    """

    membrane: Array
    top: Array
    bottom: Array
    von_mises_top: Array
    von_mises_bottom: Array
    shear: Array


def axes(shells: Shells) -> Array:
    """Return the axes of the elements as rows, shape (n, 3, 3).

    x lies along the mean of the sides 1-2 and 4-3, z along the normal, on the side from
    which the corners run anticlockwise.
    """
    r1, r2, r3, r4 = shells.corners.transpose(1, 0, 2)
    x = (r3 - r1) - (r4 - r2)  # the sum of the two sides; it lies in the mean plane
    z = np.cross(r3 - r1, r4 - r2)
    x = x / np.linalg.norm(x, axis=1)[:, None]
    z = z / np.linalg.norm(z, axis=1)[:, None]
    return np.stack([x, np.cross(z, x), z], axis=1)


def local_corners(shells: Shells) -> Array:
    """Return the corners in the axes of the elements, from their centre, (n, 4, 3), mm."""
    arms = shells.corners - shells.corners.mean(axis=1, keepdims=True)
    return np.asarray(arms @ np.swapaxes(axes(shells), 1, 2))


def least_corner(shells: Shells) -> Array:
    """Return the smallest Jacobian at a corner over the mean one, shape (n,).

    1 for a parallelogram; 0 where three corners lie in line.  An element that is not
    convex has less than 0, and its stiffness means nothing.
    """
    _, det = shell_membrane.jacobians(local_corners(shells)[:, :, :2], CORNERS)
    return np.asarray(det.min(axis=1) / det.mean(axis=1))


def geometry(shells: Shells) -> Array:
    """Return the motions of the corners of the flat element from the nodes', (n, 24, 24).

    Both per corner ux uy uz rx ry rz; the former in the element's axes.
    """
    R = axes(shells)
    height = local_corners(shells)[:, :, 2, None]
    A = np.zeros((len(R), 4, 6, 4, 6))
    for corner in range(4):
        A[:, corner, :3, corner, :3] = A[:, corner, 3:, corner, 3:] = R
        # The flat element lies at -height from the corner: rotation times arm.
        A[:, corner, 0, corner, 3:] = -height[:, corner] * R[:, 1]
        A[:, corner, 1, corner, 3:] = height[:, corner] * R[:, 0]
    return A.reshape(-1, 24, 24)


def stiffness(shells: Shells, drill_factor: float = DRILL_FACTOR) -> Array:
    """Return the element stiffnesses in the nodes' freedoms, shape (n, 24, 24).

    Parameters
    ----------
    drill_factor : float
        See `DRILL_FACTOR`; for studies of its influence.
    """
    n = len(shells.thickness)
    K = np.empty((n, 24, 24))
    for start in range(0, n, _BATCH):
        part = slice(start, start + _BATCH)
        K[part] = _stiffness(shells.part(part), drill_factor)
    return K


def rigidities(shells: Shells) -> tuple[Array, Array]:
    """Return the plane-stress matrices of membrane and of bending, each (n, 3, 3), MPa."""
    bending = shell_membrane.rigidity(shells.E.reshape(len(shells.nu), -1)[:, 0], shells.nu)
    if shells.E.ndim == 1:
        return bending, bending
    membrane = bending.copy()
    membrane[:, 2, 2] = shells.E[:, 1]
    return membrane, bending


def _stiffness(shells: Shells, drill_factor: float) -> Array:
    """Return the element stiffnesses of one batch."""
    plane = local_corners(shells)[:, :, :2]
    t = shells.thickness
    D, D_bending = rigidities(shells)
    K = np.zeros((len(plane), 24, 24))
    K[:, _IN_PLANE[:, None], _IN_PLANE] = shell_membrane.stiffness(
        plane, t, D, drill_factor * D[:, 2, 2]
    )
    K[:, _OUT_OF_PLANE[:, None], _OUT_OF_PLANE] = shell_bending.stiffness(plane, t, D_bending)
    A = geometry(shells)
    K = np.swapaxes(A, 1, 2) @ (K @ A)
    return np.asarray(0.5 * (K + np.swapaxes(K, 1, 2)))


def stress(
    shells: Shells,
    motion: Array,
    drill_factor: float = DRILL_FACTOR,
    places: Array = STRESS_PLACES,
) -> ShellStress:
    """Return the stress in the elements under a motion of their nodes, over the full thickness.

    Parameters
    ----------
    motion : (n, 24), mm and rad, vehicle axes, per corner ux uy uz rx ry rz
    places : (s, 2), natural coordinates; `CENTRE` is quick
    """
    n, s = len(shells.thickness), len(places)
    membrane, surface, shear = np.empty((n, s, 3)), np.empty((n, s, 3)), np.empty((n, s, 2))
    for start in range(0, n, _STRESS_BATCH):
        of = slice(start, start + _STRESS_BATCH)
        found = _stress(shells.part(of), motion[of], drill_factor, places)
        membrane[of], surface[of], shear[of] = found
    top, bottom = membrane + surface, membrane - surface
    return ShellStress(membrane, top, bottom, von_mises(top), von_mises(bottom), shear)


def _stress(
    shells: Shells, motion: Array, drill_factor: float, places: Array
) -> tuple[Array, Array, Array]:
    """Return membrane stress, what bending adds on top, and transverse shear of one batch."""
    R = axes(shells)
    local = local_corners(shells)
    plane, height = local[:, :, :2], local[:, :, 2]
    t = shells.thickness
    D, D_bending = rigidities(shells)
    # As `geometry` has it, without its matrices: axes turned, then rotation times arm.
    own = motion.reshape(-1, 8, 3) @ np.swapaxes(R, 1, 2)
    own = own.reshape(-1, 4, 6)
    own[:, :, 0] -= height * own[:, :, 4]
    own[:, :, 1] += height * own[:, :, 3]
    own = own.reshape(-1, 24)
    outer = own[:, _IN_PLANE]
    stretch = shell_membrane.strains(plane, places)[:, :, :3]
    strain = (stretch[..., :12] @ outer[:, None, :, None])[..., 0]
    if np.any(places):  # at the centre the incompatible modes have no gradient
        full = shell_membrane.full_stiffness(plane, t, D, drill_factor * D[:, 2, 2])
        inner = (shell_membrane.inner_motion(full) @ outer[:, :, None])[:, None]
        strain += (stretch[..., 12:] @ inner)[..., 0]
    bend = shell_bending.strains(plane, places)
    bent = (bend @ own[:, None, _OUT_OF_PLANE, None])[..., 0]
    surface = (0.5 * t)[:, None, None] * (bent[:, :, :3] @ D_bending)
    through = shell_bending.SHEAR_FACTOR * D_bending[:, 2, 2]
    return strain @ D, surface, through[:, None, None] * bent[:, :, 3:]


def von_mises(plane_stress: Array) -> Array:
    """Return the von Mises stress of sx, sy, txy in the last axis, MPa."""
    sx, sy, txy = np.moveaxis(plane_stress, -1, 0)
    return np.asarray(np.sqrt(sx**2 - sx * sy + sy**2 + 3.0 * txy**2))


def area(shells: Shells) -> Array:
    """Return the areas of the elements in their mean planes, shape (n,), mm2."""
    r1, r2, r3, r4 = shells.corners.transpose(1, 0, 2)
    return np.asarray(0.5 * np.linalg.norm(np.cross(r3 - r1, r4 - r2), axis=1))


def mass_per_element(shells: Shells, density: Array) -> Array:
    """Return the masses of the elements, shape (n,), tonne; density (n,) in tonne/mm3."""
    return density * shells.thickness * area(shells)
