"""Runs many variants of a frame in a fixed order; where they run does not change a bit.

Rows come back in the order asked for, each with the values that a study reads off it or
with the complaints of what refused it.  Equal variants are computed once.

The bits of a float depend on the machine's kind, since numpy's linear algebra chooses its
kernels by the processor: workers of one kind agree with each other.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from fea.errors import Complaint
from fea.study.attempt import Measure, Outcome, Values, attempt, pack
from fea.study.ledger import Ledger, input_fingerprint, variant_fingerprint
from fea.study.pools import Done, Task, Work, cluster, processes, serial
from fea.study.variant import Setting, Variant

FEW = 80
"""Variants with joints by beam rules, some 45 ms each, that take no longer in this process than
other processes take to start (measured: 3.5 s for two)."""


@dataclass(frozen=True)
class Runner:
    """How variants are run.

    Attributes
    ----------
    workers : processes on this machine, 1 for this process; None for as many as it has cores,
        but for this process alone where few variants are quick
    scheduler : address of a dask scheduler whose workers compute instead
    resume : file that finished rows are added to, and read from
    told : called with how many variants are done and how many there are
    """

    workers: int | None = None
    scheduler: str | None = None
    resume: Path | None = None
    told: Callable[[int, int], None] | None = None


@dataclass(frozen=True)
class Row:
    """A variant with its values, None if it was refused, and then why."""

    variant: Variant
    values: Values | None
    complaints: tuple[Complaint, ...] = ()


def run(
    setting: Setting, variants: Sequence[Variant], measure: Measure, runner: Runner | None = None
) -> list[Row]:
    """Return one row per variant, in order.

    Parameters
    ----------
    measure : a function of a module; what it returns must be what JSON can hold

    Raises
    ------
    DocumentError
        If the file to resume from holds something else.
    MissingExtraError, SolveError
        If a cluster is asked for that is not there.
    """
    runner = runner or Runner()
    keys = [variant_fingerprint(v) for v in variants]
    job = pack(setting, measure)
    ledger = Ledger(runner.resume, input_fingerprint(setting, measure))
    with ledger.opened() as kept:
        todo = {k: v for k, v in zip(keys, variants, strict=True) if k not in kept}
        tasks = [(k, job, v) for k, v in todo.items()]
        found = {k: kept[k] for k in keys if k in kept}
        whole = len(set(keys))
        _tell(runner, len(found), whole)
        done = outcomes(attempt, tasks, runner, len(tasks), quick=not setting.sheet_joints)
        for key, outcome in done:
            found[key] = outcome
            ledger.add(key, outcome)
            _tell(runner, len(found), whole)
    return [_row(v, found[k]) for v, k in zip(variants, keys, strict=True)]


def outcomes(
    work: Work, tasks: Iterable[Task], runner: Runner, count: int, *, quick: bool
) -> Iterator[Done]:
    """Yield what comes of tasks as they are finished, wherever the runner has them computed.

    Parameters
    ----------
    count : how many tasks there are
    quick : bool
        Whether a task takes less time than a process takes to start.
    """
    if not count:
        return iter(())
    if runner.scheduler is not None:
        return cluster(work, tasks, runner.scheduler)
    workers = min(runner.workers or (1 if quick and count < FEW else cores()), count)
    return serial(work, tasks) if workers == 1 else processes(work, tasks, workers)


def cores() -> int:
    """Return how many cores this process may use."""
    from joblib import cpu_count

    return max(1, int(cpu_count()))


def _tell(runner: Runner, done: int, whole: int) -> None:
    if runner.told is not None:
        runner.told(done, whole)


def _row(variant: Variant, outcome: Outcome) -> Row:
    complaints = tuple(Complaint(*words) for words in outcome.get("complaints", ()))
    return Row(variant, outcome.get("values"), complaints)
