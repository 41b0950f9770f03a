"""A plane-stress model of one pitch of a wall with a hole: a twin for the smeared estimate.

A quarter of the cell in equal rectangles with incompatible modes; rectangles whose middle
lies in the hole are left out.  The wall's edges are held straight, as by stiff flanges.
"""

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve

NU = 0.3


def _rectangle(a, b):
    """Stiffness of a rectangle a x b of unit E and thickness, condensed, (8, 8)."""
    D = np.array([[1, NU, 0], [NU, 1, 0], [0, 0, (1 - NU) / 2]]) / (1 - NU**2)
    K, C, S = np.zeros((8, 8)), np.zeros((8, 4)), np.zeros((4, 4))
    g = 1 / np.sqrt(3)
    for x, y in ((-g, -g), (-g, g), (g, -g), (g, g)):
        dx = np.array([y - 1, 1 - y, 1 + y, -1 - y]) / (2 * a)
        dy = np.array([x - 1, -1 - x, 1 + x, 1 - x]) / (2 * b)
        B, M = np.zeros((3, 8)), np.zeros((3, 4))
        B[0, ::2], B[1, 1::2], B[2, ::2], B[2, 1::2] = dx, dy, dy, dx
        M[0, 0], M[2, 1], M[2, 2], M[1, 3] = -4 * x / a, -4 * x / a, -4 * y / b, -4 * y / b
        K += B.T @ D @ B * a * b / 4
        C += B.T @ D @ M * a * b / 4
        S += M.T @ D @ M * a * b / 4
    return K - C @ np.linalg.solve(S, C.T)


def stiffness_left(pitch, height, hole, *, shear, n=100):
    """Return the stiffness of the cell over that of plain sheet, in tension or in shear.

    `hole` is (length, height), with round ends; n rectangles along the longer half side.
    """
    most = max(pitch, height)
    nx, ny = round(n * pitch / most), round(n * height / most)
    a, b = pitch / 2 / nx, height / 2 / ny
    i, j = np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij")
    x, y = (i + 0.5) * a, (j + 0.5) * b
    length, high = hole
    radius = min(length, high) / 2
    off = np.hypot(np.maximum(x - length / 2 + radius, 0), np.maximum(y - high / 2 + radius, 0))

    def node(i, j):
        return i * (ny + 1) + j

    corners = np.stack([node(i, j), node(i + 1, j), node(i + 1, j + 1), node(i, j + 1)], -1)
    corners = corners[off >= radius]
    freedoms = (2 * corners[:, :, None] + [0, 1]).reshape(len(corners), 8)
    size = 2 * (nx + 1) * (ny + 1)
    rows, columns = np.repeat(freedoms, 8, 1).ravel(), np.tile(freedoms, (1, 8)).ravel()
    values = np.tile(_rectangle(a, b).ravel(), len(corners))
    K = coo_array((values, (rows, columns)), (size, size)).tocsr()
    u = np.full((nx + 1, ny + 1, 2), np.nan)
    if shear:
        u[:, [0, -1], 0] = 0
        u[0, :, 1], u[-1, :, 1] = 0, pitch / 2
    else:
        u[0, :, 0], u[-1, :, 0] = 0, pitch / 2
        u[:, 0, 1] = 0
    u = u.ravel()
    free = np.isnan(u) & np.isin(np.arange(size), freedoms)
    u[np.isnan(u)] = 0
    u[free] = spsolve(K[free][:, free].tocsc(), -(K @ u)[free])
    modulus = 1 / (2 * (1 + NU)) if shear else 1.0
    return u @ (K @ u) / (modulus * pitch * height / 4)
