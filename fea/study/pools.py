"""Where variants are computed: in this process, in several, or on a cluster of machines.

Each of the three takes tasks from an iterator, only as many ahead as keep it busy, and
yields outcomes as they are finished, in any order; what an outcome is does not depend on
where or beside what it was computed.  Every process keeps the linear algebra below numpy to
one thread: frames are small, and sums keep their order.
"""

import threading
from collections.abc import Callable, Hashable, Iterable, Iterator
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from typing import TYPE_CHECKING, Any

from fea.errors import Complaint, MissingExtraError, SolveError
from fea.study.attempt import Outcome, died, one_thread, one_thread_for_good

if TYPE_CHECKING:
    import distributed

Work = Callable[[bytes, Any], Outcome]
"""A function of a module that makes an outcome of a job and one item."""

Task = tuple[Hashable, bytes, Any]
"""A name for its outcome, unlike any other's, the job that many share, and the item."""

Done = tuple[Any, Outcome]
"""The name of a task and what came of it."""

TRIES = 3
"""How often a variant whose process died is tried in all, before it counts as lost."""

CONNECT = 20.0
"""Seconds within which a scheduler must answer, and have a worker."""

AHEAD = 512
"""Tasks that a scheduler holds at most: enough for hundreds of cores, some 10 MB of jobs."""


def serial(work: Work, tasks: Iterable[Task]) -> Iterator[Done]:
    """Compute one variant after another in this process."""
    with one_thread():
        for key, job, item in tasks:
            yield key, work(job, item)


def processes(work: Work, tasks: Iterable[Task], workers: int) -> Iterator[Done]:
    """Compute in several processes of this machine; a process that dies costs no row.

    Which variant it died of cannot be told, so those that were in hand are tried again one
    at a time: then the guilty one is known.
    """
    source = iter(tasks)
    broken = True
    while broken:
        broken, lot = False, _Lot(source)
        try:
            for key, outcome in _pool(work, lot, workers):
                lot.handed.pop(key, None)
                yield key, outcome
        except BrokenProcessPool:
            in_hand = lot.close()
            # If none was in hand, none shows which to put aside: then all that are left are.
            broken = bool(in_hand)
            for task in in_hand or source:
                yield _alone(work, task)


class _Lot:
    """Tasks of an iterator up to the death of a process; a pool's threads may read it."""

    def __init__(self, source: Iterator[Task]) -> None:
        self.handed: dict[Hashable, Task] = {}
        self._source, self._lock, self._open = source, threading.Lock(), True

    def __iter__(self) -> Iterator[Task]:
        return self

    def __next__(self) -> Task:
        with self._lock:
            if not self._open:
                raise StopIteration
            task = next(self._source)
            self.handed[task[0]] = task
            return task

    def close(self) -> list[Task]:
        """Hand out no more; return what was handed out and not taken off `handed` since."""
        with self._lock:
            self._open = False
            return list(self.handed.values())


def _alone(work: Work, task: Task) -> Done:
    """Compute one variant in a process of its own, again if that dies."""
    for _ in range(TRIES - 1):
        try:
            for done in _pool(work, [task], 2):
                return done
        except BrokenProcessPool:
            continue
    return task[0], died()


def _pool(work: Work, tasks: Iterable[Task], workers: int) -> Iterator[Done]:
    """Yield outcomes from a pool.

    Raises
    ------
    BrokenProcessPool
        If a process died.
    """
    from joblib import Parallel, delayed, parallel_config

    with parallel_config(backend="loky", n_jobs=workers, inner_max_num_threads=1):
        # One at a time to each process: a death then costs few, and rows come as they are done.
        pool = Parallel(
            return_as="generator_unordered", batch_size=1, pre_dispatch="n_jobs", max_nbytes=None
        )
        yield from pool(delayed(_keyed)(work, *task) for task in tasks)


def _keyed(work: Work, key: Hashable, job: bytes, item: Any) -> Done:  # noqa: ANN401 - a task's
    return key, _apart(work, job, item)


def _apart(work: Work, job: bytes, item: Any) -> Outcome:  # noqa: ANN401 - a task's
    """Return the outcome of one variant in a process that is there for nothing else."""
    one_thread_for_good()
    return work(job, item)


def cluster(work: Work, tasks: Iterable[Task], address: str) -> Iterator[Done]:
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
    keys: dict[str, Hashable] = {}

    def submitted(number: int, task: Task) -> "distributed.Future":
        key, job, item = task
        name = f"plumbrail-{client.id}-{number}"
        keys[name] = key
        return client.submit(_apart, work, job, item, key=name, retries=TRIES - 1, pure=False)

    with client:
        waiting = (submitted(number, task) for number, task in enumerate(tasks))
        running = distributed.as_completed(list(islice(waiting, AHEAD)), loop=client.loop)
        for future in running:
            running.update(list(islice(waiting, 1)))
            yield keys.pop(future.key), _outcome(future, address)


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
