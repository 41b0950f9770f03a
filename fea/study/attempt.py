"""One variant measured, whatever may be wrong with it: as plain data that travels and is kept.

What goes to another process or machine is made here and read here: the job that all
variants share, packed, and for every variant an outcome that JSON can hold.  Floats pass
through JSON unchanged, so an outcome read back from a file is the one that was written.
"""

import json
import os
import pickle
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import Any

from fea.errors import Complaint, FeaError
from fea.solve.condense import Store
from fea.study.variant import Setting, Variant

Values = dict[str, Any]
"""What a study reads off a variant: names and what JSON can hold."""

Measure = Callable[[Setting, Variant, Store | None], Values]
"""A function of a module, so that other processes find it by its name."""

Outcome = dict[str, Any]
"""``{"values": ...}``, or ``{"complaints": ...}``; with "lost" if its process died of it."""

_LEVEL = 6


def pack(setting: Setting, measure: Measure) -> bytes:
    """Return what all variants share, packed for other processes."""
    return zlib.compress(pickle.dumps((setting, measure)), _LEVEL)


def attempt(job: bytes, variant: Variant) -> Outcome:
    """Return the outcome of one variant; what is refused becomes a complaint."""
    setting, measure = _unpacked(job)
    try:
        values = measure(setting, variant, shared_store() if setting.sheet_joints else None)
    except FeaError as error:
        return complained(*error.complaints)
    except (ArithmeticError, ValueError) as error:  # a matrix or a figure that no rule foresaw
        return complained(Complaint("this variant could not be computed", found=str(error)))
    found: Outcome = json.loads(json.dumps({"values": values}))
    return found


@contextmanager
def one_thread() -> Iterator[None]:
    """Keep the linear algebra below numpy to one thread while the block runs.

    How many threads share a sum decides its last bits.  Sections that this process has measured
    with more of them are measured again.
    """
    from threadpoolctl import threadpool_info, threadpool_limits

    from fea.mesh import distortion
    from fea.section import properties

    _for_what_is_loaded_later()
    if any(pool["num_threads"] > 1 for pool in threadpool_info()):
        properties._properties.cache_clear()
        distortion._fade_length.cache_clear()
    with threadpool_limits(limits=1, user_api="blas"):
        yield


@lru_cache(maxsize=1)
def one_thread_for_good() -> None:
    """Keep the linear algebra below numpy to one thread as long as this process lasts."""
    from threadpoolctl import threadpool_limits

    _for_what_is_loaded_later()
    threadpool_limits(limits=1, user_api="blas")


def _for_what_is_loaded_later() -> None:
    for name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")


def complained(*complaints: Complaint, lost: bool = False) -> Outcome:
    """Return the outcome of a variant that has no figures."""
    told: Outcome = {"complaints": [[c.rule, c.where, c.found, c.do] for c in complaints]}
    return told | {"lost": True} if lost else told


def died() -> Outcome:
    """Return the outcome of a variant whose process died each time it was tried."""
    return complained(
        Complaint(
            "the process that computed this variant died, also when it was tried again",
            do="leave memory free: fewer --workers, or --joints beam",
        ),
        lost=True,
    )


@lru_cache(maxsize=4)
def _unpacked(job: bytes) -> tuple[Setting, Measure]:
    setting, measure = pickle.loads(zlib.decompress(job))
    return setting, measure


def shared_store() -> Store:
    """Return the store on disk that all processes share.

    A new one for every variant: it would keep all it has read in memory as well.  Only
    where nothing is kept on disk does one in memory live on.
    """
    from fea import store

    return store.store() if store.folder() is not None else _in_memory()


@lru_cache(maxsize=1)
def _in_memory() -> Store:
    from fea.solve.condense import Memory

    return Memory()
