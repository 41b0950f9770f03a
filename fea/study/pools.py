"""Where variants are computed: in this process, in several, or on a cluster of machines.

Each of the three yields outcomes as they are finished, in any order; what an outcome is
does not depend on where or beside what it was computed.  Every process keeps the linear
algebra below numpy to one thread: frames are small, and sums keep their order.
"""

from collections.abc import Callable, Iterator, Mapping
from concurrent.futures.process import BrokenProcessPool
from typing import TYPE_CHECKING, Any

from fea.errors import Complaint, MissingExtraError, SolveError
from fea.study.attempt import Outcome, apart, attempt, died, one_thread
from fea.study.variant import Variant

if TYPE_CHECKING:
    import distributed

Todo = Mapping[str, Variant]
"""Variants by their fingerprints."""

Done = tuple[str, Outcome]

TRIES = 3
"""How often a variant whose process died is tried in all, before it counts as lost."""

CONNECT = 20.0
"""Seconds within which a scheduler must answer, and have a worker."""


def serial(job: bytes, todo: Todo) -> Iterator[Done]:
    """Compute one variant after another in this process."""
    with one_thread():
        for key, variant in todo.items():
            yield key, attempt(job, variant)


def processes(job: bytes, todo: Todo, workers: int) -> Iterator[Done]:
    """Compute in several processes of this machine; a process that dies costs no row.

    Which variant it died of cannot be told, so those that were in hand are put aside and
    tried again one at a time: then the guilty one is known.
    """
    waiting, aside = dict(todo), dict[str, Variant]()
    while waiting:
        handed: set[str] = set()
        try:
            for key, outcome in _pool(job, waiting, workers, handed):
                del waiting[key]
                yield key, outcome
        except BrokenProcessPool:
            # If none was in hand, none shows which to put aside: then all of them are.
            doubtful = handed & waiting.keys() or set(waiting)
            aside |= {key: waiting.pop(key) for key in doubtful}
    # By one at a time: in the order asked for, whatever order they came aside in.
    for key in [k for k in todo if k in aside]:
        yield key, _alone(job, key, aside[key])


def _alone(job: bytes, key: str, variant: Variant) -> Outcome:
    """Compute one variant in a process of its own, again if that dies."""
    for _ in range(TRIES - 1):
        try:
            for _, outcome in _pool(job, {key: variant}, 2, set()):
                return outcome
        except BrokenProcessPool:
            continue
    return died()


def _pool(job: bytes, todo: Todo, workers: int, handed: set[str]) -> Iterator[Done]:
    """Yield outcomes from a pool; adds to `handed` what processes have been given.

    Raises
    ------
    BrokenProcessPool
        If a process died.
    """
    from joblib import Parallel, delayed, parallel_config

    def tasks() -> Iterator[Any]:
        for key, variant in list(todo.items()):
            handed.add(key)
            yield delayed(_keyed)(job, key, variant)

    with parallel_config(backend="loky", n_jobs=workers, inner_max_num_threads=1):
        # One at a time to each process: a death then costs few, and rows come as they are done.
        pool = Parallel(
            return_as="generator_unordered", batch_size=1, pre_dispatch="n_jobs", max_nbytes=None
        )
        yield from pool(tasks())


def _keyed(job: bytes, key: str, variant: Variant) -> Done:
    return key, apart(job, variant)


def cluster(job: bytes, todo: Todo, address: str) -> Iterator[Done]:
    """Compute on the workers of a dask scheduler; it hands on what a dead worker had.

    Raises
    ------
    MissingExtraError
        If distributed is not installed.
    SolveError
        If no scheduler answers, it has no worker, or it goes away.
    """
    try:
        import distributed
    except ImportError:
        raise MissingExtraError(
            Complaint(
                "--scheduler needs dask's distributed",
                found="not installed",
                do='pip install "plumbrail[cluster]"',
            )
        ) from None
    client = _client(distributed.Client, address)
    with client:
        futures = {
            client.submit(
                apart, job, variant, key=f"{client.id}-{key}", retries=TRIES - 1, pure=False
            ): key
            for key, variant in todo.items()
        }
        for future in distributed.as_completed(futures, loop=client.loop):
            yield futures[future], _outcome(future, address)


def _client(make: "Callable[..., distributed.Client]", address: str) -> "distributed.Client":
    try:
        client = make(address, timeout=CONNECT, set_as_default=False)
    except (OSError, ValueError) as error:  # a timeout is an OSError
        raise SolveError(
            Complaint(
                "no scheduler answers there",
                "--scheduler",
                address,
                "start one with dask scheduler, and workers with dask worker",
            )
        ) from error
    try:
        client.wait_for_workers(1, timeout=CONNECT)
    except TimeoutError:
        client.close()
        raise SolveError(
            Complaint(
                "the scheduler has no worker", "--scheduler", address, "start dask worker there"
            )
        ) from None
    return client


def _outcome(future: "distributed.Future", address: str) -> Outcome:
    from distributed.scheduler import KilledWorker

    if future.status == "finished":
        outcome: Outcome = future.result()
        future.release()
        return outcome
    error = future.exception() if future.status == "error" else None
    if isinstance(error, KilledWorker):
        return died()
    raise SolveError(
        Complaint(
            "the cluster could not compute a variant",
            f"--scheduler {address}",
            "the scheduler went away" if error is None else f"{type(error).__name__}: {error}",
            "the workers need this same version of Plumbrail; --resume keeps what is done",
        )
    )
