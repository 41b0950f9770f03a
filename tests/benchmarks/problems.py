"""Ladders of beams and tubes of sheet metal, as long as one wishes."""

import numpy as np
import scipy.sparse as sp

from fea.element import shell
from fea.element.beam import N_FREEDOMS, Beams, beam_axes
from fea.mesh.mesh import Elements, Mesh, Springs, empty_rows

PITCH, WIDTH = 300.0, 800.0
"""Between rungs, and between the rails, mm."""


def ladder(n_elements: int) -> Mesh:
    """Return two rails with a rung at every node: three elements a bay, open sections."""
    bays = max(1, round(n_elements / 3))
    x = PITCH * np.arange(bays + 1.0)
    points = np.zeros((2 * (bays + 1), 3))
    points[0::2, 0] = points[1::2, 0] = x
    points[0::2, 1], points[1::2, 1] = WIDTH / 2.0, -WIDTH / 2.0
    k = np.arange(bays)
    nodes = np.stack(
        [
            np.stack([2 * k, 2 * k + 2], axis=1),
            np.stack([2 * k + 1, 2 * k + 3], axis=1),
            np.stack([2 * k + 2, 2 * k + 3], axis=1),
        ],
        axis=1,
    ).reshape(-1, 2)
    n = len(nodes)
    reach = points[nodes[:, 1]] - points[nodes[:, 0]]
    length = np.linalg.norm(reach, axis=1)
    up = np.tile([0.0, 0.0, 1.0], (n, 1))
    rung = np.arange(n) % 3 == 2
    E, G = 205e3, 79e3
    shear = np.zeros((n, 2, 2))
    shear[:, 0, 0], shear[:, 1, 1] = 1.0 / (G * 350.0), 1.0 / (G * 500.0)
    shear[:, 0, 1] = shear[:, 1, 0] = 1e-10
    beams = Beams(
        length=length,
        axes=beam_axes(reach / length[:, None], up, np.full(n, 0.05)),
        arms=np.tile([0.0, 3.0, 5.0], (n, 2, 1)),
        centroid=np.tile([15.0, 2.0], (n, 1)),
        shear_centre=np.tile([-20.0, 1.0], (n, 1)),
        held=np.zeros((n, 2, 3)),
        EA=E * np.where(rung, 700.0, 1100.0),
        EI1=E * np.where(rung, 1.2e6, 4e6),
        EI2=E * np.where(rung, 2e5, 5e5),
        GJ=G * np.where(rung, 2.1e3, 5.9e3),
        ECw=E * np.where(rung, 3e8, 2e9),
        shear=shear,
    )
    none = np.zeros(n, dtype=np.intp)
    elements = Elements(
        nodes.astype(np.intp), none, np.zeros((n, 2)), none, np.full(n, 8e-9), np.full(n, 250.0),
        none - 1,
    )  # fmt: skip
    return Mesh(
        points, elements, beams, empty_rows(), np.zeros(0, dtype=np.intp),
        Springs(empty_rows(), np.zeros(0), ()), ("ladder",), (), (), (), {}, (),
    )  # fmt: skip


def ladder_matrix(n_freedoms: int) -> sp.csr_array:
    """Return the stiffness of a long ladder on springs under every tenth rung."""
    from fea.solve.assemble import stiffness

    mesh = ladder(3 * (n_freedoms // (2 * N_FREEDOMS) - 1))
    K = stiffness(mesh)
    under = np.arange(0, len(mesh.points), 20)
    ground = np.zeros(mesh.n_freedoms)
    for side in (0, 1):
        for k in range(3):
            ground[N_FREEDOMS * (under + side) + k] = 1e3
    K.setdiag(K.diagonal() + ground)
    return K


def tube_matrix(n_freedoms: int, around: int = 32) -> sp.csr_array:
    """Return the stiffness of a square tube of sheet metal, built in at one end."""
    along = max(2, n_freedoms // (6 * around))
    size = 10.0
    side = around // 4
    ring = np.zeros((around, 2))
    t = np.arange(side)
    ring[:side, 0], ring[side : 2 * side, 0], ring[2 * side : 3 * side, 0] = t, side, side - t
    ring[side : 2 * side, 1], ring[2 * side : 3 * side, 1], ring[3 * side :, 1] = t, side, side - t
    points = np.zeros((along + 1, around, 3))
    points[..., 0] = size * np.arange(along + 1.0)[:, None]
    points[..., 1:] = size * ring
    here = np.arange((along + 1) * around).reshape(along + 1, around)
    near, far = here[:-1], here[1:]
    quads = np.stack([near, far, np.roll(far, -1, 1), np.roll(near, -1, 1)], axis=-1).reshape(-1, 4)
    m = len(quads)
    plate = shell.Shells(
        points.reshape(-1, 3)[quads], np.full(m, 3.0), np.full(m, 205e3), np.full(m, 0.3)
    )
    freedoms = (6 * quads[:, :, None] + np.arange(6)).reshape(m, -1)
    row, column = np.repeat(freedoms, 24, axis=1).ravel(), np.tile(freedoms, (1, 24)).ravel()
    n = 6 * here.size
    K = sp.csr_array(sp.coo_array((shell.stiffness(plate).ravel(), (row, column)), shape=(n, n)))
    K.sum_duplicates()
    return sp.csr_array(K[6 * around :][:, 6 * around :])
