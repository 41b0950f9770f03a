"""Loads of a case of any kind: on a stand, on the road, or the sum of others."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.frame.road import WHEELS, OnTheRoad
from fea.load import GRAVITY, Gather, Loads, loads
from fea.mesh.mesh import Mesh
from fea.road.loads import road_loads

Array = NDArray[np.float64]


def case_loads(frame: Frame, mesh: Mesh, case: Case) -> Loads:
    """Return the support rows and forces of a case of any kind.

    Raises
    ------
    ModelError
        If the frame lacks what the case needs, or no wheel loads balance the vehicle.
    SolveError
        If the forces are not in equilibrium after all.
    """
    if case.combine:
        return _combined(frame, mesh, case)
    if case.road is None:
        return loads(frame, mesh, case)
    return road_loads(frame, mesh, case, case.road)


def _combined(frame: Frame, mesh: Mesh, case: Case) -> Loads:
    """Return the weighted sum of other cases' loads; their supports must be the same."""
    parts = [case_loads(frame, mesh, term.case) for term in case.combine]
    factors = [term.factor for term in case.combine]
    first = parts[0]
    for other, term in zip(parts[1:], case.combine[1:], strict=True):
        alike = other.labels == first.labels and all(
            np.array_equal(getattr(other.rows, k), getattr(first.rows, k))
            for k in ("row", "freedom", "coefficient")
        )
        if not alike:
            raise ModelError(
                Complaint(
                    "cases are added up only on the same supports",
                    where=f"case {case.name}",
                    found=f"{case.combine[0].case.name} and {term.case.name} are held differently",
                    do="combine cases with equal [[hold]] tables, or road cases without any",
                )
            )
    gather = Gather(frame, mesh, case)
    gather.items()

    def added(name: str) -> Array:
        each = [f * getattr(p, name) for f, p in zip(factors, parts, strict=True)]
        return np.asarray(np.sum(each, axis=0))

    own = gather.finish()
    return replace(
        first,
        name=f"case {case.name}",
        values=added("values"),
        force=added("force"),
        element_load=added("element_load"),
        total=added("total"),
        reads=own.reads,
        read_as=own.read_as,
        road=_both([p.road for p in parts], factors, case),
    )


def _both(parts: Sequence[OnTheRoad | None], factors: list[float], case: Case) -> OnTheRoad | None:
    """Return how the vehicle stands under a sum of road cases; None if not all are."""
    roads = [p for p in parts if p is not None]
    if len(roads) < len(parts):
        return None
    pairs = list(zip(roads, factors, strict=True))
    wheels = {
        w: np.sum([f * r.wheels[w] for r, f in pairs], axis=0)
        for w in WHEELS
        if all(w in r.wheels for r in roads)
    }
    names = dict.fromkeys(key for r in roads for key in r.on_mounts)
    weights = sum(f * r.weights for r, f in pairs)
    words = " + ".join(f"{t.factor:g} x {t.case.name}" for t in case.combine)
    notes = [f"{words}; the weight counts {weights:.2f} times"]
    if any(f[2] < -1e-6 * roads[0].mass * GRAVITY for f in wheels.values()):
        notes.append("a wheel would have to pull on the road: such a sum does not happen so")
    notes += [f"{t.case.name}: {n}" for t, r in zip(case.combine, roads, strict=True)
              for n in r.notes]  # fmt: skip
    return OnTheRoad(
        wheels=wheels,
        mass=roads[0].mass,
        centre=roads[0].centre,
        on_mounts={
            k: np.sum([f * r.on_mounts.get(k, np.zeros(3)) for r, f in pairs], axis=0)
            for k in names
        },
        weights=weights,
        imbalance=max(r.imbalance * abs(f) for r, f in pairs),
        notes=tuple(dict.fromkeys(notes)),
    )
