"""A cluster on this machine, which takes seconds to start: one for all tests of a process."""

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """Start a cluster of two processes on this machine; skip where dask's library is missing."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster.scheduler_address
