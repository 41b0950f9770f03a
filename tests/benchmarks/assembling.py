"""Assembly of beam elements, against copying the bytes of the matrix it makes once."""

import gc
import tracemalloc
from collections.abc import Iterator

import numpy as np
from figures import Figure, series, versus
from problems import ladder

from fea.solve.assemble import stiffness


def figures(full: bool) -> Iterator[Figure]:
    """Yield the time of assembly from 1e3 elements up, and the memory of the largest."""
    sizes = (1_000, 10_000, 100_000, *((1_000_000,) if full else ()))
    found = []
    for size in sizes:
        mesh = ladder(size)
        K = stiffness(mesh)
        data, indices = np.empty_like(K.data), np.empty_like(K.indices)

        def copy(K=K, data=data, indices=indices) -> None:
            np.copyto(data, K.data)
            np.copyto(indices, K.indices)

        ours, reference = versus(lambda mesh=mesh: stiffness(mesh), copy)
        found.append(Figure("assembly", f"{size:,} el.", ours, "copy of its bytes", reference))
        held = (K.data.nbytes + K.indices.nbytes + K.indptr.nbytes) / 1e6
        del K, data, indices, copy
    yield from series(found, sizes)
    gc.collect()
    tracemalloc.start()
    kept = stiffness(mesh)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert kept.nnz
    yield Figure("assembly, peak memory", f"{size:,} el.", peak / 1e6, "bytes kept", held, "MB")
