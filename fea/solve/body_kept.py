"""Bodies condensed once: an equal one, on whatever frame it stands, is found again.

A body is often the same in one variant of a frame after another: what a variant changes is
the frame, its mounts, or how stiff a tie is.  Kept by content are the stiffness between the
points that hold a body and the matrix that tells how all of it moves with them.
"""

import hashlib
import pickle
import threading
from collections import OrderedDict
from collections.abc import Sequence
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from fea.frame.body import Body, Tie
from fea.mesh.body import Label
from fea.solve.body import between, body_stiffness
from fea.solve.body_motion import BodyRecovery, body_recovery

Array = NDArray[np.float64]

V = TypeVar("V")

KEPT = 16
"""Bodies kept, the latest asked for."""


class Bodies:
    """Condensed bodies by content; any thread may ask."""

    def __init__(self) -> None:
        self._stiffness: OrderedDict[bytes, Array] = OrderedDict()
        self._recovery: OrderedDict[bytes, BodyRecovery] = OrderedDict()
        self._lock = threading.Lock()

    def between(self, body: Body, ties: Sequence[Tie], labels: Sequence[Label]) -> Array:
        """Return a body's stiffness between some labels, (6k, 6k), not to be written to."""
        key = fingerprint(body, ties, labels)
        with self._lock:
            found = _latest(self._stiffness, key)
            if found is None:
                found = between(body_stiffness(body, ties), labels)
                found.flags.writeable = False
                _keep(self._stiffness, key, found)
            return found

    def recovery(self, body: Body, ties: Sequence[Tie], labels: Sequence[Label]) -> BodyRecovery:
        """Return how all of a body moves with some labels."""
        key = fingerprint(body, ties, labels)
        with self._lock:
            found = _latest(self._recovery, key)
            if found is None:
                found = body_recovery(body, ties, labels)
                found.matrix.flags.writeable = False
                _keep(self._recovery, key, found)
            return found


KNOWN = Bodies()
"""The bodies of this process."""


def fingerprint(body: Body, ties: Sequence[Tie], labels: Sequence[Label]) -> bytes:
    """Return what two bodies that are condensed alike have in common.

    Of a tie it is only where it takes hold: the stiffness of a tie is no part of the body.
    """
    at = [(t.pair, t.side, t.body_point) for t in ties if t.body == body.name]
    # Written only to be hashed: bodies that differ in anything differ in this.
    return hashlib.blake2b(pickle.dumps((body, at, tuple(labels)), protocol=5)).digest()


def _latest(known: "OrderedDict[bytes, V]", key: bytes) -> V | None:
    if key not in known:
        return None
    known.move_to_end(key)
    return known[key]


def _keep(known: "OrderedDict[bytes, V]", key: bytes, value: V) -> None:
    known[key] = value
    while len(known) > KEPT:
        known.popitem(last=False)
