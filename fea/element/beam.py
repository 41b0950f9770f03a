"""Straight prismatic thin-walled beam elements, seven freedoms a node, all at once.

Freedoms of a node, in vehicle axes: ux uy uz rx ry rz warp; warp is chi, the rate of
twist of the members that end there.  Forces conjugate to them: Fx Fy Fz Mx My Mz B.

Inside, an element knows its *natural* motions at each end, in its principal axes
(x along, y' and z' across): u at the centroid, v and w at the shear centre, the
section's rotations tx t1 t2, and chi.  There axial force, bending with shear in both
planes and torsion with warping do not couple (Vlasov [1]_), except that the two shears
share one flexibility in a section without symmetry.  From the natural motions come
eight deformations that rigid motion leaves at zero (`deformation`), each with its
stiffness (`rigidity`); element stiffness is ``(D A)' C (D A)``, with A the exact
geometry of the offsets from node to section origin to centroid and shear centre.

The element is exact for loads at its ends (Timoshenko bending [2]_, torsion as in
:mod:`fea.element.torsion`) and for loads spread evenly over it.

References
----------
.. [1] V. Z. Vlasov, Thin-Walled Elastic Beams, 2nd ed., 1961, ch. I.
.. [2] J. S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, sec. 5.6
   (stiffness of a beam with shear deformation).
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from fea.element import torsion
from fea.errors import ModelError

Array = NDArray[np.float64]

N_FREEDOMS = 7
N_DEFORMATIONS = 8
E_AXIAL, E_SHEAR_Y, E_SHEAR_Z, E_BEND_1, E_BEND_2, E_TWIST, E_RATE, E_WARP = range(8)


@dataclass(frozen=True, eq=False)
class Beams:
    """Everything an element's stiffness needs, one row per element.

    Attributes
    ----------
    length : (n,), mm, of the flexible part
    axes : (n, 3, 3), rows are unit vectors along x, y', z' in vehicle axes
    arms : (n, 2, 3), mm, from each end's node to its section origin, vehicle axes
    centroid, shear_centre : (n, 2), mm, from the section origin, principal axes
    held : (n, 2, 3), per end: what the section's plane does beyond the node's for a
        unit chi: axial shift (mm2), rotations about y' and z' (mm)
    EA, EI1, EI2, GJ, ECw : (n,), N, N mm2, N mm2, N mm2, N mm4
    shear : (n, 2, 2), 1/N, shear flexibility per length in principal axes
    """

    length: Array
    axes: Array
    arms: Array
    centroid: Array
    shear_centre: Array
    held: Array
    EA: Array
    EI1: Array
    EI2: Array
    GJ: Array
    ECw: Array
    shear: Array

    @property
    def lam(self) -> Array:
        """Torsion parameter k L, shape (n,); infinite without warping stiffness."""
        with np.errstate(divide="ignore"):
            return self.length * np.sqrt(self.GJ / self.ECw)

    def part(self, of: slice) -> "Beams":
        """Return some of the elements."""
        return Beams(*(getattr(self, f.name)[of] for f in fields(self)))


def cross_matrix(r: Array) -> Array:
    """Return the matrices X with ``X v = r x v``, shape (..., 3, 3)."""
    zero = np.zeros_like(r[..., 0])
    x, y, z = r[..., 0], r[..., 1], r[..., 2]
    rows = [[zero, -z, y], [z, zero, -x], [-y, x, zero]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def geometry(beams: Beams) -> Array:
    """Return A, natural motions of both ends from the nodes' freedoms, shape (n, 14, 14)."""
    A = np.zeros((len(beams.length), 14, 14))
    for end in (0, 1):
        own = slice(7 * end, 7 * end + 7)
        A[:, own, own] = _end_geometry(beams, end).transpose(2, 0, 1)
    return A


def _end_geometry(beams: Beams, end: int) -> Array:
    """Return the part of one end, (7, 7, n): element by element last, so that sums run along it."""
    pc, qc = beams.centroid.T
    ps, qs = beams.shear_centre.T
    # Motion of the section origin along x, y', z'; rotation is R in all of them.
    shift = np.ascontiguousarray(beams.axes.transpose(1, 2, 0))
    h0, h1, h2 = beams.held[:, end].T
    arm = beams.arms[:, end].T
    block = np.zeros((7, 7, len(beams.length)))
    block[0:3, 0:3] = shift
    for c, a, b in ((3, 1, 2), (4, 2, 0), (5, 0, 1)):  # arm x axis
        block[0:3, c] = arm[a] * shift[:, b] - arm[b] * shift[:, a]
    block[3:6, 3:6] = shift
    block[4, 6], block[5, 6] = h1, h2
    block[6, 6] = 1.0
    # To the centroid (axial) and to the shear centre (sideways).
    block[0] += qc * block[4] - pc * block[5]
    block[0, 6] += h0
    block[1] -= qs * block[3]
    block[2] += ps * block[3]
    return block


def deformation(beams: Beams) -> Array:
    """Return D, deformations from natural motions, shape (n, 8, 14).

    Rows: stretch (mm); shear-and-bending of the chord in x-y' and x-z' (mm); end slope
    differences about y' and z' (rad); twist beyond the mean rate, mean rate, change of
    rate of twist.
    """
    n = len(beams.length)
    L = beams.length
    _, r, _, _ = torsion.stiffnesses(beams.GJ, beams.ECw, L)
    D = np.zeros((n, 8, 14))
    i, j = 0, 7
    D[:, E_AXIAL, [i, j]] = [-1.0, 1.0]
    D[:, E_SHEAR_Y, [i + 1, j + 1]] = [-1.0, 1.0]
    D[:, E_SHEAR_Y, i + 5] = D[:, E_SHEAR_Y, j + 5] = -L / 2.0
    D[:, E_SHEAR_Z, [i + 2, j + 2]] = [-1.0, 1.0]
    D[:, E_SHEAR_Z, i + 4] = D[:, E_SHEAR_Z, j + 4] = L / 2.0
    D[:, E_BEND_1, [i + 4, j + 4]] = [-1.0, 1.0]
    D[:, E_BEND_2, [i + 5, j + 5]] = [-1.0, 1.0]
    D[:, E_TWIST, [i + 3, j + 3]] = [-1.0, 1.0]
    D[:, E_TWIST, i + 6] = D[:, E_TWIST, j + 6] = -r / 2.0
    D[:, E_RATE, [i + 6, j + 6]] = 0.5
    D[:, E_WARP, [i + 6, j + 6]] = [-1.0, 1.0]
    return D


def rigidity(beams: Beams) -> Array:
    """Return C, forces conjugate to the deformations, shape (n, 8, 8)."""
    own, couple = _rigidities(beams)
    C = np.zeros((len(beams.length), 8, 8))
    for k in range(N_DEFORMATIONS):
        C[:, k, k] = own[k]
    C[:, E_SHEAR_Y, E_SHEAR_Z] = C[:, E_SHEAR_Z, E_SHEAR_Y] = couple
    return C


def _rigidities(beams: Beams) -> tuple[Array, Array]:
    """Return what C has on its diagonal, (8, n), and between the two shears, (n,)."""
    L = beams.length
    own = np.empty((N_DEFORMATIONS, len(L)))
    own[E_TWIST], _, own[E_RATE], own[E_WARP] = torsion.stiffnesses(beams.GJ, beams.ECw, L)
    own[E_AXIAL] = beams.EA / L
    # Flexibility of the chord with both end slopes held: L^3/12EI + L * shear.
    f11 = L**3 / (12.0 * beams.EI2) + L * beams.shear[:, 0, 0]
    f22 = L**3 / (12.0 * beams.EI1) + L * beams.shear[:, 1, 1]
    f12 = L * beams.shear[:, 0, 1]
    det = f11 * f22 - f12 * f12
    own[E_SHEAR_Y], own[E_SHEAR_Z] = f22 / det, f11 / det
    own[E_BEND_1], own[E_BEND_2] = beams.EI1 / L, beams.EI2 / L
    return own, -f12 / det


def stiffness(beams: Beams) -> Array:
    """Return the element stiffnesses in the nodes' freedoms, shape (n, 14, 14)."""
    B, (own, couple) = _deformed(beams), _rigidities(beams)
    forces = own[:, None] * B
    forces[E_SHEAR_Y] += couple * B[E_SHEAR_Z]
    forces[E_SHEAR_Z] += couple * B[E_SHEAR_Y]
    across, along = (np.ascontiguousarray(B.transpose(2, 1, 0)), forces.transpose(2, 0, 1))
    return np.asarray(across @ np.ascontiguousarray(along))


def _deformed(beams: Beams) -> Array:
    """Return D A of `deformation` and `geometry`, (8, 14, n), row by row: D is nearly empty."""
    n, L = len(beams.length), beams.length
    _, r, _, _ = torsion.stiffnesses(beams.GJ, beams.ECw, L)
    B = np.empty((N_DEFORMATIONS, 14, n))
    half, turn = L / 2.0, r / 2.0
    for end, sign in ((0, -1.0), (1, 1.0)):
        a, b = _end_geometry(beams, end), B[:, 7 * end : 7 * end + 7]
        b[E_AXIAL] = sign * a[0]
        b[E_SHEAR_Y] = sign * a[1] - half * a[5]
        b[E_SHEAR_Z] = sign * a[2] + half * a[4]
        b[E_BEND_1] = sign * a[4]
        b[E_BEND_2] = sign * a[5]
        b[E_TWIST] = sign * a[3] - turn * a[6]
        b[E_RATE] = 0.5 * a[6]
        b[E_WARP] = sign * a[6]
    return B


def even_load(beams: Beams, force: Array, point: Array) -> Array:
    """Return an even load as forces and couples per length on the element's own axes.

    Parameters
    ----------
    force : array (n, 3), N/mm, vehicle axes
    point : array (n, 2), mm, where in the section it acts, principal axes from the origin

    Returns
    -------
    array (n, 6): qx at the centroid, qy, qz at the shear centre, N/mm; torque about the
    shear centre, couples about y' and z', N
    """
    q = np.einsum("nij,nj->ni", beams.axes, force)
    arm_y, arm_z = (point - beams.shear_centre).T
    off_y, off_z = (point - beams.centroid).T
    couples = [arm_y * q[:, 2] - arm_z * q[:, 1], q[:, 0] * off_z, -q[:, 0] * off_y]
    return np.column_stack([q, *couples])


def end_loads(beams: Beams, load: Array) -> Array:
    """Return the natural end loads, shape (n, 14), of even loads (n, 6) of `even_load`."""
    L = beams.length
    qx, qy, qz, m, m1, m2 = load.T
    bimoment = m * torsion.end_bimoment(beams.lam, L)
    f = np.zeros((len(L), 14))
    for start, sign in ((0, 1.0), (7, -1.0)):
        f[:, start + 0] = qx * L / 2.0
        f[:, start + 1] = qy * L / 2.0
        f[:, start + 2] = qz * L / 2.0
        f[:, start + 3] = m * L / 2.0
        f[:, start + 4] = -sign * qz * L**2 / 12.0
        f[:, start + 5] = sign * qy * L**2 / 12.0
        f[:, start + 6] = sign * bimoment
    return _even_moments(beams, f, m1, m2)


def _even_moments(beams: Beams, f: Array, m1: Array, m2: Array) -> Array:
    """Add the end loads of moments per length m1, m2 (N) to `f`.

    A built-in beam under an even moment m bends into an S: with the chord's
    flexibility split into bending b and shear s, its ends take the shear m b/(b+s) and
    the rest as moments; exact also with the two shears coupled.
    """
    C = rigidity(beams)
    L = beams.length
    K = C[:, 1:3, 1:3]
    # Shear forces that hold the chord still: K (bending part of flexibility) times m.
    bend = np.stack([L**3 / (12.0 * beams.EI2), L**3 / (12.0 * beams.EI1)], axis=1)
    couple = np.stack([m2, -m1], axis=1)  # acts on the slopes v' and w'
    hold = np.einsum("nij,nj->ni", K, bend * couple)
    # Static: chord shear q acts on the deformation e = dv - L (slopes)/2.
    f[:, 1] += -hold[:, 0]
    f[:, 8] += hold[:, 0]
    f[:, 2] += -hold[:, 1]
    f[:, 9] += hold[:, 1]
    f[:, 5] += (couple[:, 0] - hold[:, 0]) * L / 2.0
    f[:, 12] += (couple[:, 0] - hold[:, 0]) * L / 2.0
    f[:, 4] -= (couple[:, 1] - hold[:, 1]) * L / 2.0
    f[:, 11] -= (couple[:, 1] - hold[:, 1]) * L / 2.0
    return f


def shape_functions(beams: Beams, places: Array) -> tuple[Array, Array]:
    """Return natural motions along the elements from those at their ends, and slopes.

    Exact for an element loaded at its ends.

    Parameters
    ----------
    places : array (s,), 0 to 1

    Returns
    -------
    motion : array (n, s, 7, 14), rows u v w tx t1 t2 chi
    slope : array (n, s, 3, 14), rows dv/dx, dw/dx, dtx/dx
    """
    n, s = len(beams.length), len(places)
    x = places
    L = beams.length[:, None]
    forces = rigidity(beams) @ deformation(beams)
    slip = beams.shear @ forces[:, [E_SHEAR_Y, E_SHEAR_Z]]
    motion = np.zeros((n, s, 7, 14))
    slope = np.zeros((n, s, 3, 14))
    motion[:, :, 0, 0], motion[:, :, 0, 7] = 1.0 - x, x
    for k, t, sign in ((1, 5, 1.0), (2, 4, -1.0)):
        ends = np.zeros((2, n, 14))  # slopes of the axis at both ends: turn plus shear
        for end, start in ((0, 0), (1, 7)):
            ends[end, :, start + t] = sign
            ends[end] += slip[:, k - 1]
        for end, cubic, rate in (
            (0, x - 2 * x**2 + x**3, 1 - 4 * x + 3 * x**2),
            (1, x**3 - x**2, 3 * x**2 - 2 * x),
        ):
            motion[:, :, k] += (L * cubic)[:, :, None] * ends[end][:, None]
            slope[:, :, k - 1] += rate[None, :, None] * ends[end][:, None]
        rise, climb = 3 * x**2 - 2 * x**3, (6 * x - 6 * x**2) / L
        motion[:, :, k, k] += 1.0 - rise
        motion[:, :, k, 7 + k] += rise
        slope[:, :, k - 1, k] -= climb
        slope[:, :, k - 1, 7 + k] += climb
        motion[:, :, t] = sign * (slope[:, :, k - 1] - slip[:, None, k - 1])
    _torsion_shapes(beams, places, forces[:, E_TWIST], motion)
    slope[:, :, 2] = motion[:, :, 6]
    return motion, slope


def _torsion_shapes(beams: Beams, places: Array, torque: Array, motion: Array) -> None:
    """Fill the rows of twist and rate of twist."""
    L = beams.length[:, None]
    warps = (beams.ECw > 0.0)[:, None]
    values = torsion.interpolation(beams.lam, places)
    sums = torsion.interpolation_integrals(beams.lam, places)
    with np.errstate(divide="ignore", invalid="ignore"):
        for row, (h_i, h_j, w), size, plain in (
            (6, values, 1.0, np.ones_like(places)),
            (3, sums, L, places),
        ):
            forced = np.where(
                warps,
                -w * L**2 / beams.ECw[:, None],
                -(h_i + h_j - plain) / beams.GJ[:, None],
            )
            motion[:, :, row] += (size * forced)[:, :, None] * torque[:, None]
            motion[:, :, row, 6] += size * h_i
            motion[:, :, row, 13] += size * h_j
    motion[:, :, 3, 3] += 1.0


def beam_axes(direction: Array, up: Array, angle: Array) -> Array:
    """Return unit vectors along x, y', z' of each element, shape (n, 3, 3).

    Section z leans to `up`, y is ``z cross x``; y' and z' are turned from y and z by
    the principal angle.  A member that runs along `up` is an error.
    """
    z = up - np.einsum("ij,ij->i", up, direction)[:, None] * direction
    size = np.linalg.norm(z, axis=1)
    if np.any(size < 1e-6):
        msg = "a member must not run along its own up direction: give it another one"
        raise ModelError(msg)
    z /= size[:, None]
    y = np.cross(z, direction)
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    return np.stack([direction, c * y + s * z, c * z - s * y], axis=1)
