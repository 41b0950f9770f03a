"""The first ten modes, against scipy's eigsh alone on the same matrices."""

from collections.abc import Iterator

import numpy as np
import scipy.sparse as sp
from figures import Figure, versus
from scipy.sparse.linalg import eigsh

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.frame.build import build_frame
from fea.frame.case import Case, Weight
from fea.frame.spots import all_places
from fea.mesh.discretise import discretise
from fea.solve.carried import lumps
from fea.solve.inertia import inertia
from fea.solve.modes import modes
from fea.solve.system import system

COUNT, RIGID = 10, 6


def figures(full: bool) -> Iterator[Figure]:
    """Yield meshes of the pickup hung free, by beam rules, coarse and fine."""
    path = find_frame("orchard_pickup")
    frame = build_frame(read_frame(path), source=str(path))
    wanted = all_places(frame, [Case("modes", "", "", "none", (), weight=Weight(1.0, True, False))])
    for refine in (1, 4, *((16,) if full else ())):
        mesh = discretise(frame, wanted, refine)
        whole = system(mesh)
        mass = inertia(whole, frame, lumps(frame, mesh, laden=False))
        T = whole.links.matrix
        K, M = sp.csr_array(T.T @ whole.K @ T), sp.csr_array(T.T @ mass.M @ T)
        shift = (2.0 * np.pi * 5.0) ** 2  # rad2/s2: of the order of the lowest mode's

        def alone(K=K, M=M, shift=shift) -> np.ndarray:
            start = np.cos(np.arange(K.shape[0]) + 0.5)
            return eigsh(
                sp.csc_array(K), COUNT + RIGID, sp.csc_array(M), sigma=-shift, which="LM", v0=start
            )[0]

        ours = modes(whole, mass, COUNT).frequency
        theirs = np.sqrt(np.sort(alone())[RIGID:]) / (2.0 * np.pi)
        assert np.allclose(ours, theirs, rtol=1e-4)
        times = versus(lambda whole=whole, mass=mass: modes(whole, mass, COUNT), alone)
        yield Figure("modes: first 10", f"{K.shape[0]:,} dof", times[0], "eigsh alone", times[1])
