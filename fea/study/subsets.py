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

import numpy as np

from fea.frame.spots import all_places, stiff_ends
from fea.mesh.discretise import discretise
from fea.mesh.patches import Patch
from fea.solve.condense import Kept, metals
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


class Light:
    """Kept metal read from disk; what only stresses need is dropped unless they are wanted."""

    def __init__(self, place: Path, *, whole: bool) -> None:
        self._place, self._whole = place, whole
        self._kept: dict[str, Kept] = {}

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None."""
        if key not in self._kept:
            found = Disk(self._place).get(key)
            if found is None:
                return None
            self._keep(key, found)
        return self._kept[key]

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece, on disk too."""
        Disk(self._place).put(key, kept)
        self._keep(key, kept)

    def _keep(self, key: str, kept: Kept) -> None:
        if not self._whole:
            kept = replace(kept, recover=np.zeros((0, 0), dtype=np.float32))
        self._kept[key] = kept


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
        pieces = [(mask, key) for key, mask in lacking.items()]
        for _ in _each(_condense, task, pieces, workers, say, "condensing sheet metal", at_once=1):
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
    light = Light(task.place, whole=task.stress)
    out: list[tuple[Figures | None, list[str]]] = []
    for mask in masks:
        missing = [k for k in _patches(task, mask) if not (task.place / f"{k}.npz").is_file()]
        figures = None if missing else _figures(task, mask, light)
        out.append((figures, missing))
    return out


def _solve(task: Task, masks: list[int]) -> list[tuple[Figures | None, list[str]]]:
    light = None if task.place is None else Light(task.place, whole=task.stress)
    return [(_figures(task, mask, light), []) for mask in masks]


def _figures(task: Task, mask: int, light: Light | None) -> Figures:
    return measure(task.setting, task.variant(mask), light, stress=task.stress)


def _condense(task: Task, pieces: list[tuple[int, str]]) -> list[None]:
    """Condense single pieces of metal, each told by a set that has it and its key."""
    assert task.place is not None
    for mask, key in pieces:
        metals([_patches(task, mask)[key]], Disk(task.place))
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
