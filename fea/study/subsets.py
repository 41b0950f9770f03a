"""One document with many sets of its parts: each set solved once, in several processes.

Sheet metal that several sets share is condensed once: first every set whose metal is kept
already is solved, then what is missing is condensed, each piece by one process, then the rest
is solved.  The answers do not depend on how many processes there are.
"""

import tempfile
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from fea.frame.spots import all_places, stiff_ends
from fea.mesh.discretise import discretise
from fea.mesh.patches import Patch
from fea.solve.condense import Store, metals
from fea.solve.stores import Lean
from fea.store import Disk, folder
from fea.study.variant import Figures, Setting, Variant, frame_of, measure

Told = Callable[[str, int, int], None]
"""Called as work goes on: with what is done, how much of it, and of how much."""

MOST_WORKERS = 8
"""Processes at most by themselves; condensing metal takes up to a GB in each."""


@dataclass(frozen=True, eq=False)
class Task:
    """What every process needs: the study's setting, its parts, where metal is kept."""

    setting: Setting
    base: Variant
    names: tuple[str, ...]
    stress: bool
    place: Path | None

    def variant(self, mask: int) -> Variant:
        """Return the variant with the parts whose bits are set."""
        parts = frozenset(name for k, name in enumerate(self.names) if mask >> k & 1)
        return replace(self.base, parts=parts)


def solve_sets(
    setting: Setting,
    names: Sequence[str],
    masks: Iterable[int],
    *,
    base: Variant | None = None,
    stress: bool = False,
    workers: int | None = None,
    told: Told | None = None,
) -> dict[int, Figures]:
    """Return the figures of every set of parts, in the order asked for.

    Parameters
    ----------
    names : the parts, bit k of a set standing for the k-th
    masks : the sets; one that comes twice is solved once
    base : positions and edits that all sets share
    workers : processes; as many as there are processors, up to `MOST_WORKERS`, if None
    """
    wanted = list(dict.fromkeys(masks))
    say: Told = told or (lambda words, done, total: None)
    with _place(setting) as place:
        task = Task(setting, base or Variant(), tuple(names), stress, place)
        found: dict[int, Figures] = {}
        lacking: dict[str, int] = {}
        for mask, (figures, missing) in _each(_try, task, wanted, workers, say, "solving sets"):
            if figures is not None:
                found[mask] = figures
            for key in missing:
                lacking.setdefault(key, mask)
        pieces: dict[int, list[str]] = {}
        for key, mask in lacking.items():
            pieces.setdefault(mask, []).append(key)
        lots = list(pieces.items())
        for _ in _each(_condense, task, lots, workers, say, "condensing sheet metal", at_once=1):
            pass
        rest = [m for m in wanted if m not in found]
        for mask, (figures, _) in _each(_solve, task, rest, workers, say, "solving sets"):
            assert figures is not None
            found[mask] = figures
    return {mask: found[mask] for mask in wanted}


@contextmanager
def _place(setting: Setting) -> Iterator[Path | None]:
    """Yield the folder that the processes share for condensed metal; None without metal."""
    kept = folder()
    if not setting.sheet_joints or kept is not None:
        yield kept if setting.sheet_joints else None
        return
    with tempfile.TemporaryDirectory(prefix="plumbrail-") as passing:
        yield Path(passing)


def n_workers(asked: int | None) -> int:
    """Return how many processes to use."""
    from joblib import cpu_count

    return asked or min(int(cpu_count()), MOST_WORKERS)


def _each(
    do: Callable[[Task, list[Any]], list[Any]],
    task: Task,
    items: Sequence[Any],
    workers: int | None,
    told: Told,
    words: str,
    at_once: int = 8,
) -> Iterator[tuple[Any, Any]]:
    """Yield every item with what a function makes of it, in the items' order."""
    if not items:
        return
    from joblib import Parallel, delayed, parallel_config

    count = n_workers(workers)
    step = max(1, min(at_once, -(-len(items) // count)))
    lots = [list(items[k : k + step]) for k in range(0, len(items), step)]
    count, done = min(count, len(lots)), 0
    told(words, 0, len(items))
    # One thread in each: matrices are small, and sums come in one order everywhere.
    one = {} if count == 1 else {"inner_max_num_threads": 1}
    with parallel_config(backend="loky", n_jobs=count, **one), warnings.catch_warnings():
        # A process that has condensed large metal is ended and another started: all is well.
        warnings.filterwarnings("ignore", "A worker stopped while some jobs", UserWarning)
        for lot, results in zip(
            lots, Parallel(return_as="generator")(delayed(do)(task, lot) for lot in lots),
            strict=True,
        ):  # fmt: skip
            done += len(lot)
            told(words, done, len(items))
            yield from zip(lot, results, strict=True)


def _try(task: Task, masks: list[int]) -> list[tuple[Figures | None, list[str]]]:
    """Return the figures of sets whose metal is kept, and the keys of what is not."""
    if task.place is None:
        return _solve(task, masks)
    disk = Disk(task.place)
    out: list[tuple[Figures | None, list[str]]] = []
    for mask in masks:
        missing = [k for k in _patches(task, mask) if not disk.has(k, whole=task.stress)]
        figures = None if missing else _figures(task, mask, disk)
        out.append((figures, missing))
    return out


def _solve(task: Task, masks: list[int]) -> list[tuple[Figures | None, list[str]]]:
    disk = None if task.place is None else Disk(task.place)
    return [(_figures(task, mask, disk), []) for mask in masks]


def _figures(task: Task, mask: int, store: Store | None) -> Figures:
    return measure(task.setting, task.variant(mask), store, stress=task.stress)


def _condense(task: Task, pieces: list[tuple[int, list[str]]]) -> list[None]:
    """Condense pieces of metal, told by a set that has them and their keys."""
    assert task.place is not None
    disk = Disk(task.place)
    for mask, keys in pieces:
        patches = _patches(task, mask)
        metals([patches[k] for k in keys], disk if task.stress else Lean(disk))
    return [None] * len(pieces)


def _patches(task: Task, mask: int) -> dict[str, Patch]:
    """Return the sheet metal of a set of parts by its key, for all cases.

    Cases that hold the same ends share a mesh, as in :func:`fea.analyse.analyse`.
    """
    setting = task.setting
    frame = frame_of(setting, task.variant(mask))
    wanted = all_places(frame, setting.cases)
    found: dict[str, Patch] = {}
    for ends in dict.fromkeys(frozenset(stiff_ends(frame, case)) for case in setting.cases):
        mesh = discretise(frame, wanted, sheet_joints=True, stiff_ends=ends, coarse=setting.coarse)
        found |= {patch.canon.key: patch for patch in mesh.patches}
    return found
