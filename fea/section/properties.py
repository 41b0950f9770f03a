"""Properties of a thin-walled section from its midline, open, closed or mixed.

Every shear flow here (Saint-Venant torsion round the cells, bending shear, warping
shear) obeys the same law: along a wall ``q = G t (d(psi)/ds + r)`` with a single-valued
axial displacement ``psi``, and at a corner the flows into it sum to zero.  So one
small Laplacian, weight t/l per wall, solves them all, for any number of cells, and
open branches come out right without being told apart (q = 0 there in torsion).
That is Bredt's and Batho's cell equation written for displacements instead of flows.

Where holes or a stitched seam make a wall softer than plain sheet, its thickness counts
by two shares (:class:`~fea.section.midline.Midline`): ``normal_factor`` in all that comes
of stretching (A, I, Cw, what feeds the bending flow) and of a wall's own twist,
``shear_factor`` in the slip of a shear flow.  Stresses are over the full thickness.

References
----------
.. [1] V. Z. Vlasov, Thin-Walled Elastic Beams, 2nd ed., 1961, ch. I (sectorial
   coordinate, shear centre, bimoment).
.. [2] R. Bredt, Zeitschrift VDI 40, 1896, pp. 785-790 and 813-817; C. Batho,
   Engineering (London) 1915 (closed cells).
.. [3] E. Trefftz, ZAMM 15, 1935, pp. 220-225 (shear centre from the warping function).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fea.errors import ModelError
from fea.section.midline import Midline

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class SectionProperties:
    """Geometry of a section, mm; y and z are section axes, 1 and 2 principal axes.

    A wall's two ends are the recovery points: 2m rows, end a then end b of each wall.

    Attributes
    ----------
    A : float, mm2, as far as it carries normal stress
    centroid, shear_centre : arrays (2,), mm, from the section's origin
    Iy, Iz, Iyz : float, mm4, about the centroid (Iy resists bending in the x-z plane)
    I1, I2 : float, mm4; about principal axes y' and z'
    angle : float, rad, from y to y', turning y towards z
    J : float, mm4, Saint-Venant torsion constant, walls and cells
    J_cells : float, mm4, the cells' share of J
    Cw : float, mm6, warping constant about the shear centre
    shear : array (2, 2), 1/mm2; shear flexibility in principal axes: the energy of
        shear forces V is V' shear V / 2G per length (1/shear_ii is the shear area
        when the off-diagonal vanishes)
    point_y, point_z : arrays (2m,), mm, principal axes through the centroid
    omega : array (2m,), mm2, principal sectorial coordinate; axial displacement of a
        wall point by warping is ``omega * chi``, with chi the rate of twist
    flow_y, flow_z, flow_w : arrays (2m,), 1/mm; shear flow of a unit force along
        y', z' and of a unit warping torque
    flow_t : array (2m,), 1/mm2; mean shear flow in a wall of a unit Saint-Venant torque
    point_t : array (2m,), mm, wall thickness at each recovery point
    point_s : array (2m,), mm, tangent length of each wall, for display
    held : array (3,): axial shift (mm2) at the origin and rotations about y' and z' (mm)
        of the section's plane over those of its held wall, for a unit chi
    """

    A: float
    centroid: Array
    shear_centre: Array
    Iy: float
    Iz: float
    Iyz: float
    I1: float
    I2: float
    angle: float
    J: float
    J_cells: float
    Cw: float
    shear: Array
    point_y: Array
    point_z: Array
    omega: Array
    flow_y: Array
    flow_z: Array
    flow_w: Array
    flow_t: Array
    point_t: Array
    point_s: Array
    held: Array

    @property
    def is_closed(self) -> bool:
        """Whether cells carry more than the walls themselves do in torsion."""
        return self.J_cells > self.J - self.J_cells

    @property
    def principal_axes(self) -> Array:
        """Rows: unit vectors y' and z' in section axes, shape (2, 2)."""
        c, s = np.cos(self.angle), np.sin(self.angle)
        return np.array([[c, s], [-s, c]])


@dataclass(frozen=True, eq=False)
class _Walls:
    """The midline spread out per wall, and the Laplacian of its corners."""

    a: NDArray[np.intp]
    b: NDArray[np.intp]
    t: Array
    normal: Array
    """Thickness that carries normal stress, mm."""
    shear: Array
    """Thickness that a shear flow slips by, mm."""
    length: Array
    tangent: Array
    inverse: Array
    """Inverse of the corner Laplacian (weights shear/l, constant pinned), shape (n, n)."""


def _walls(midline: Midline) -> _Walls:
    points, pairs, t = midline.points, midline.walls, midline.thickness
    a, b = pairs[:, 0], pairs[:, 1]
    step = points[b] - points[a]
    length = np.linalg.norm(step, axis=1)
    if not (np.all(np.isfinite(points)) and np.all(length > 0.0) and np.all(t > 0.0)):
        msg = "every wall of a section must have a length and a thickness greater than 0"
        raise ModelError(msg)
    normal, shear = _share(midline.normal_factor, t), _share(midline.shear_factor, t)
    n = len(points)
    if not _hang_together(n, pairs):
        msg = "the walls of a section must all hang together"
        raise ModelError(msg)
    weight = shear / length
    laplacian = np.zeros((n, n))
    np.add.at(laplacian, (a, a), weight)
    np.add.at(laplacian, (b, b), weight)
    np.add.at(laplacian, (a, b), -weight)
    np.add.at(laplacian, (b, a), -weight)
    # The constant is free in a connected midline: pin it by its mean.
    mean = np.full((n, n), weight.mean() / n)
    inverse = np.linalg.inv(laplacian + mean)
    return _Walls(a, b, t, normal, shear, length, step / length[:, None], inverse)


def _share(factor: Array | None, t: Array) -> Array:
    """Return the thickness that counts, shape (m,), mm."""
    if factor is None:
        return t
    if not np.all((factor > 0.0) & (factor <= 1.0)):
        msg = "the share of a wall that carries must be greater than 0 and at most 1"
        raise ModelError(msg)
    return t * factor


def _hang_together(n: int, pairs: NDArray[np.intp]) -> bool:
    group = np.arange(n)
    for a, b in pairs:
        if group[a] != group[b]:
            group[group == group[b]] = group[a]
    return bool(np.all(group == group[0]))


def _balance(walls: _Walls, out_a: Array, out_b: Array) -> Array:
    """Return per corner the flow that leaves it at wall ends a less what arrives at ends b."""
    n = len(walls.inverse)
    leaves, arrives = np.bincount(walls.a, out_a, n), np.bincount(walls.b, out_b, n)
    return np.asarray(leaves - arrives, dtype=np.float64)


def _warping(walls: _Walls, arm: Array) -> tuple[Array, Array]:
    """Return corner warping per unit rate of twist, and the flow q/G in each wall.

    A wall's slip is d(psi)/ds + r with r the arm of its tangent about the pole.
    """
    psi = walls.inverse @ _balance(walls, walls.shear * arm, walls.shear * arm)
    return psi, walls.shear * ((psi[walls.b] - psi[walls.a]) / walls.length + arm)


def _product(walls: _Walls, f: Array, g: Array) -> float:
    """Return the integral of f g t ds for f and g linear along each wall (corner values)."""
    fa, fb, ga, gb = f[walls.a], f[walls.b], g[walls.a], g[walls.b]
    per_wall = (2.0 * (fa * ga + fb * gb) + fa * gb + fb * ga) / 6.0
    return float(np.sum(per_wall * walls.normal * walls.length))


def _bending_flow(walls: _Walls, f: Array) -> tuple[Array, Array, Array]:
    """Return the shear flow at wall ends a, middles and ends b for dq/ds = -f t.

    f is linear along each wall and integrates to zero over the section.  The flow is
    the one with a single-valued axial displacement: the shear force that makes it
    passes through the shear centre of [3]_.
    """
    fa, fb = f[walls.a], f[walls.b]
    tl = walls.normal * walls.length
    # q(s) = q_a - t l (fa x + (fb - fa) x^2/2); its mean is the slip, shear (psi_b - psi_a)/l.
    mean_drop = tl * (fa / 2.0 + (fb - fa) / 6.0)
    end_drop = tl * (fa + fb) / 2.0
    source = _balance(walls, mean_drop, mean_drop - end_drop)
    psi = walls.inverse @ source
    q_a = walls.shear / walls.length * (psi[walls.b] - psi[walls.a]) + mean_drop
    q_m = q_a - tl * (fa / 2.0 + (fb - fa) / 8.0)
    return q_a, q_m, q_a - end_drop


def _flow_energy(walls: _Walls, first: tuple[Array, ...], second: tuple[Array, ...]) -> float:
    """Return the integral of q1 q2 / t ds of two flows, quadratic along each wall."""
    x = np.array([0.5 - np.sqrt(0.15), 0.5, 0.5 + np.sqrt(0.15)])
    weight = np.array([5.0, 8.0, 5.0]) / 18.0
    shape = np.stack([(1 - x) * (1 - 2 * x), 4 * x * (1 - x), x * (2 * x - 1)])
    q1 = np.stack(first, axis=1) @ shape
    q2 = np.stack(second, axis=1) @ shape
    return float(np.sum((q1 * q2) @ weight * walls.length / walls.shear))


def _ends(walls: _Walls, corner: Array) -> Array:
    return np.stack([corner[walls.a], corner[walls.b]], axis=1).ravel()


def _at_ends(flow: tuple[Array, ...]) -> Array:
    return np.stack([flow[0], flow[2]], axis=1).ravel()


def _principal_angle(Iy: float, Iz: float, Iyz: float) -> float:
    """Return the turn to principal axes, between -45 and 45 degrees: y' stays near y."""
    if abs(Iyz) <= 1e-12 * (Iy + Iz):
        return 0.0
    if Iy == Iz:
        return float(np.copysign(np.pi / 4.0, Iyz))
    return 0.5 * float(np.arctan(2.0 * Iyz / (Iz - Iy)))


def _shear_flexibility(
    walls: _Walls,
    flows: tuple[tuple[Array, ...], tuple[Array, ...]],
    inertia: tuple[float, float],
    tangent: tuple[Array, Array],
    own: Array,
) -> Array:
    """Return the 2 x 2 shear flexibility of unit forces along y' and z', 1/mm2.

    Beside the flow along the walls stands the shear through their thickness (6/5 over
    its area), which is what carries a flat plate bent the flat way.
    """
    I1, I2 = inertia
    through = np.stack([-tangent[1] / I2, tangent[0] / I1]) * own
    shear = 1.2 * (through / (walls.normal * walls.length)) @ through.T
    for i in (0, 1):
        for j in (0, 1):
            shear[i, j] += _flow_energy(walls, flows[i], flows[j])
    return shear


def _held_wall(
    midline: Midline,
    walls: _Walls,
    corners: tuple[Array, Array],
    omega: Array,
    shear_centre: tuple[float, float],
    origin: Array,
) -> Array:
    """Return what a unit rate of twist adds to the section's plane over the held wall's.

    A member that is welded to one wall follows that wall: its in-plane rotation is
    half the sum of what warping (d omega/ds) and the wall's own sweep about the shear
    centre (-r) turn it by; without shear in the wall, as in an open section, the two
    are equal.  Rows: axial shift at the origin, rotations about y' and z'.
    """
    p, q = corners
    k = midline.held_wall
    a, b = walls.a[k], walls.b[k]
    step = np.array([p[b] - p[a], q[b] - q[a]])
    length = float(walls.length[k])
    tp, tq = step / length
    arm = (p[a] - shear_centre[0]) * tq - (q[a] - shear_centre[1]) * tp
    slope = 0.5 * ((omega[b] - omega[a]) / length - arm)
    about_1, about_2 = -slope * tq, slope * tp
    # Axial: at the wall's middle the plane and the warping together stay where they are.
    p_m, q_m = 0.5 * (p[a] + p[b]) - origin[0], 0.5 * (q[a] + q[b]) - origin[1]
    shift = -0.5 * (omega[a] + omega[b]) - about_1 * q_m + about_2 * p_m
    return np.array([shift, about_1, about_2])


def properties(midline: Midline) -> SectionProperties:
    """Return the section properties of a midline (see :class:`SectionProperties`).

    Assumes walls thin against their lengths; each wall's own bending stiffness across
    its thickness is kept, so that a flat plate has a weak axis.

    Raises
    ------
    ModelError
        If a wall has no length or thickness, or the walls do not hang together.
    """
    return _properties(midline.key(), _Holder(midline))


class _Holder:
    """Carries a midline past the cache, which looks at the fingerprint alone."""

    def __init__(self, midline: Midline) -> None:
        self.midline = midline

    def __hash__(self) -> int:
        return 0

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Holder)


@lru_cache(maxsize=512)
def _properties(key: bytes, holder: _Holder) -> SectionProperties:
    del key
    midline = holder.midline
    walls = _walls(midline)
    own = walls.normal * walls.t**2 * walls.length / 12.0  # a wall bent across its thickness
    one = np.ones(len(midline.points))
    A = _product(walls, one, one)
    centroid = np.array([_product(walls, midline.points[:, k], one) / A for k in (0, 1)])
    y, z = (midline.points - centroid).T
    ty, tz = walls.tangent.T
    Iy = _product(walls, z, z) + float(np.sum(own * ty**2))
    Iz = _product(walls, y, y) + float(np.sum(own * tz**2))
    Iyz = _product(walls, y, z) - float(np.sum(own * ty * tz))

    angle = _principal_angle(Iy, Iz, Iyz)
    c, s = np.cos(angle), np.sin(angle)
    p, q = c * y + s * z, c * z - s * y  # principal coordinates of the corners
    tp, tq = c * ty + s * tz, c * tz - s * ty
    I1 = _product(walls, q, q) + float(np.sum(own * tp**2))
    I2 = _product(walls, p, p) + float(np.sum(own * tq**2))

    arm = p[walls.a] * tq - q[walls.a] * tp
    psi, cell_flow = _warping(walls, arm)
    J_cells = float(np.sum(cell_flow * arm * walls.length))
    J = J_cells + 4.0 * float(np.sum(own))

    # psi is warping about the centroid; Trefftz: no bending in pure twist.
    P, Q = _product(walls, psi, p), _product(walls, psi, q)
    I1m, I2m = _product(walls, q, q), _product(walls, p, p)
    Im = _product(walls, p, q)
    det = I1m * I2m - Im * Im
    if det > 1e-12 * max(I1, I2) ** 2:
        # u = psi - q_s p + p_s q (arm about the shear centre) is orthogonal to p and q.
        a_p, a_q = (P * I1m - Q * Im) / det, (Q * I2m - P * Im) / det
        shear_1, shear_2 = -a_q, a_p
    else:  # all corners on one line: it has no warping, and its middle is the centre
        a_p = a_q = shear_1 = shear_2 = 0.0
    omega = psi - a_p * p - a_q * q
    omega -= _product(walls, omega, one) / A
    Cw = _product(walls, omega, omega)

    flow_1, flow_2 = _bending_flow(walls, p / I2), _bending_flow(walls, q / I1)
    shear = _shear_flexibility(walls, (flow_1, flow_2), (I1, I2), (tp, tq), own)
    size = float(np.max(np.abs(np.stack([p, q])))) or 1.0
    if Cw < 1e-14 * A * size**4:
        Cw, omega = 0.0, np.zeros_like(omega)
        flow_w = (np.zeros(len(walls.t)),) * 3
    else:
        flow_w = _bending_flow(walls, -omega / Cw)
    rotate = np.array([[c, -s], [s, c]])
    return SectionProperties(
        A=A,
        centroid=centroid,
        shear_centre=centroid + rotate @ np.array([shear_1, shear_2]),
        Iy=Iy,
        Iz=Iz,
        Iyz=Iyz,
        I1=I1,
        I2=I2,
        angle=angle,
        J=J,
        J_cells=J_cells,
        Cw=Cw,
        shear=shear,
        point_y=_ends(walls, p),
        point_z=_ends(walls, q),
        omega=_ends(walls, omega),
        flow_y=_at_ends(flow_1),
        flow_z=_at_ends(flow_2),
        flow_w=_at_ends(flow_w),
        flow_t=np.repeat(cell_flow / J, 2),
        point_t=np.repeat(walls.t, 2),
        point_s=np.repeat(walls.length, 2),
        held=_held_wall(midline, walls, (p, q), omega, (shear_1, shear_2), rotate.T @ -centroid),
    )
