"""Adjustment of measured networks: least squares with a free datum, and slips found by testing.

Readings are functions of unknowns in mm; each has a standard deviation.  What they do not tell
is found by singular values and kept apart, never guessed.  A single gross slip shows in the
largest standardised residual [1]_; it is taken out and the network adjusted anew [2]_.

References
----------
.. [1] W. Baarda, "A testing procedure for use in geodetic networks", Netherlands Geodetic
   Commission, New Series 2 (5), 1968.
.. [2] K.-R. Koch, "Parameter Estimation and Hypothesis Testing in Linear Models", 2nd ed.,
   Springer, 1999, chapter 3 (least squares not of full rank) and section 4.3 (outliers).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import SolveError

Array = NDArray[np.float64]
Model = Callable[[Array], tuple[Array, Array]]
"""Unknowns (n,) to computed readings (m,) and their derivatives (m, n)."""

FREE = 100.0
"""Standard deviation, mm, beyond which the readings do not tell a combination of unknowns."""

CRITICAL = 3.29
"""Of a standardised residual: two-sided 0.1 %, Baarda's usual choice."""

APART = 1.64
"""Standard deviations by which two suspects must differ to be told apart (one-sided 5 %)."""

_CHECKED = 1e-3
"""A reading whose residual has a smaller share of its variance is checked by no other."""
_MANY, _PLAIN = 10, 1.5
"""Readings to spare from which their roughness can be judged, and the factor that is plain."""
_STEP = 1e-8  # mm
_SMALL, _ROUND = 3e-6, 1e-3
"""Standard deviations that a search may still be off; the second where round-off stops it."""
_TURNS = 8
"""Steps after which the directions that are told are held."""
_TRIALS = 200


@dataclass(frozen=True, eq=False)
class Adjusted:
    """An adjusted network of m readings and n unknowns.

    Attributes
    ----------
    x : (n,) unknowns
    left : (m,) read minus computed, also of readings that were left out
    sigma : (m,) standard deviations of the readings
    used : (m,) bool
    root : (n, k), a square root of the covariance of what is told: ``root @ root.T``
    free : (n, f), orthonormal directions that the readings do not tell
    rows : (m, n) derivatives of the readings
    projection : (m, m), covariance of the residuals over sigma; zero where not used
    """

    x: Array
    left: Array
    sigma: Array
    used: NDArray[np.bool_]
    root: Array
    free: Array
    rows: Array
    projection: Array

    @property
    def redundancy(self) -> Array:
        """Share of a slip that shows in the reading's own residual, 0 to 1, shape (m,)."""
        return np.diagonal(self.projection)

    @property
    def freedom(self) -> int:
        """Readings used less unknowns told."""
        return int(self.used.sum()) - int(self.root.shape[1])

    @property
    def square(self) -> float:
        """Sum of the squares of the residuals used, each over its sigma."""
        return float(((self.left / self.sigma)[self.used] ** 2).sum())

    @property
    def tested(self) -> Array:
        """Residuals over their own standard deviations, shape (m,); 0 where nothing checks."""
        share = self.redundancy
        good = self.used & (share > _CHECKED)
        root = np.sqrt(np.where(good, share, 1.0))
        return np.where(good, self.left / self.sigma / root, 0.0)


@dataclass(frozen=True)
class Slip:
    """Readings of which one is wrong, and by how much each would have to be."""

    readings: tuple[int, ...]
    sizes: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Snooped:
    """A network without the slips found in it; `lost` if there were more than can be sorted."""

    adjusted: Adjusted
    slips: tuple[Slip, ...]
    lost: bool


def adjust(
    model: Model,
    observed: Array,
    sigma: Array,
    start: Array,
    used: NDArray[np.bool_] | None = None,
) -> Adjusted:
    """Return the least-squares unknowns nearest to `start`: Levenberg and Marquardt.

    Parameters
    ----------
    observed, sigma : (m,)
    start : (n,)
    used : (m,) bool, which readings count; all when left out

    Raises
    ------
    SolveError
        If the search does not settle.
    """
    on = np.ones(len(observed), dtype=bool) if used is None else used

    def square(computed: Array) -> float:
        return float((((observed - computed) / sigma)[on] ** 2).sum())

    x, damping = start.copy(), 0.0
    basis: Array | None = None
    computed, rows = model(x)
    for count in range(_TRIALS):
        weighed = ((observed - computed) / sigma)[on]
        u, s, told, free = _split(rows[on] / sigma[on, None], basis)
        if count == _TURNS:
            basis = told
        along = u.T @ weighed  # in standard deviations of each combination told
        step = told @ (along * s / (s**2 + damping))
        small = float(np.abs(along).max(initial=0.0))
        tiny = float(np.abs(step).max(initial=0.0)) < _STEP
        if small < _SMALL or (tiny and small < _ROUND):
            break
        trial, trial_rows = model(x + step)
        hoped = float((weighed**2).sum() - ((weighed - rows[on] @ step / sigma[on]) ** 2).sum())
        won = square(computed) - square(trial)
        if won >= 0.25 * hoped:
            damping *= 0.3 if won > 0.75 * hoped else 1.0
        else:
            damping = max(4.0 * damping, float(s.min()) ** 2)
        if won > 0.0 or tiny:
            x, computed, rows = x + step, trial, trial_rows
    else:
        msg = "the measured points do not settle: look for a reading that is far off"
        raise SolveError(msg)
    projection = np.zeros((len(observed), len(observed)))
    projection[np.ix_(on, on)] = np.eye(int(on.sum())) - u @ u.T
    return Adjusted(x, observed - computed, sigma, on, told / s, free, rows, projection)


def _split(rows: Array, basis: Array | None) -> tuple[Array, Array, Array, Array]:
    """Return what of the unknowns the rows tell: left vectors, values, directions; and the rest.

    Directions are columns.  With a `basis`, the directions told are those of its span: what is
    told turns with the points where it is little, and a search would run after it for ever.
    """
    if basis is None:
        u, s, vt = np.linalg.svd(rows, full_matrices=True)
        rank = int((s > 1.0 / FREE).sum())
        return u[:, :rank], s[:rank], vt[:rank].T, vt[rank:].T
    u, s, vt = np.linalg.svd(rows @ basis, full_matrices=False)
    s = np.maximum(s, 0.1 / FREE)
    return u, s, basis @ vt.T, _complement(basis)


def _complement(basis: Array) -> Array:
    """Return orthonormal columns across those of an orthonormal basis."""
    whole, _ = np.linalg.qr(basis, mode="complete")
    return np.asarray(whole[:, basis.shape[1] :])


def snoop(model: Model, observed: Array, sigma: Array, start: Array) -> Snooped:
    """Return the network adjusted without gross slips, and the slips.

    The reading with the largest standardised residual goes first, and comes back if it fits
    the others in the end.  Those that cannot be told apart stay, each with the slip it might
    have for a standard deviation: so the unknowns stay told, as well as can be.
    """
    used, sigma = np.ones(len(observed), dtype=bool), sigma.copy()
    slips: list[Slip] = []
    most = max(1, len(observed) // 6)
    found = adjust(model, observed, sigma, start, used)
    while len(slips) < most:
        suspects = _suspects(found)
        if not suspects:
            break
        if len(suspects) == 1:
            slips.append(Slip(suspects, (0.0,)))
            used = used.copy()
            used[suspects[0]] = False
        else:
            slips.append(_sized(suspects, model, observed, found))
            sigma = sigma.copy()
            for reading, size in zip(slips[-1].readings, slips[-1].sizes, strict=True):
                sigma[reading] = max(sigma[reading], abs(size))
        found = adjust(model, observed, sigma, start, used)
    lost = bool(_suspects(found))
    for slip in [s for s in slips if len(s.readings) == 1 and len(slips) > 1]:
        if not _fits(found, slip.readings[0]):
            continue
        used = found.used.copy()
        used[slip.readings[0]] = True
        again = adjust(model, observed, sigma, start, used)
        if not _suspects(again):
            slips.remove(slip)
            found = again
    sized = (
        s if len(s.readings) > 1 else Slip(s.readings, (float(found.left[s.readings[0]]),))
        for s in slips
    )
    return Snooped(found, tuple(sized), lost)


def _suspects(found: Adjusted) -> tuple[int, ...]:
    """Return the worst reading and those that cannot be told from it; none if all is well."""
    tested = np.abs(found.tested) / _rough(found)
    worst = int(np.argmax(tested))
    if tested[worst] <= CRITICAL:
        return ()
    share = np.maximum(found.redundancy, _CHECKED)
    alike = np.abs(found.projection[worst]) / np.sqrt(share * share[worst])
    # The difference of two standardised residuals of correlation r has variance 2 (1 - r).
    gap = APART * np.sqrt(2.0 * np.maximum(1.0 - alike, 0.0)) + 1e-3
    same = (tested > CRITICAL) & (alike > 0.7) & (tested[worst] - tested < gap)
    same[worst] = True
    return tuple(sorted(np.flatnonzero(same).tolist(), key=lambda k: -tested[k]))


def _rough(found: Adjusted) -> float:
    """Return by how much most readings are rougher than told, 1 unless it is plain.

    From the median of the residuals, which a few slips hardly move: readings that were all
    told too fine are not slips.
    """
    tested = np.abs(found.tested)
    checked = tested[found.used & (found.redundancy > _CHECKED)]
    if found.freedom < _MANY or not len(checked):
        return 1.0
    factor = float(np.median(checked)) / 0.6745  # of a standard normal, which it is under sigma
    return factor if factor > _PLAIN else 1.0


def _fits(found: Adjusted, reading: int) -> bool:
    """Say whether a reading left out agrees with what the others make it."""
    row = found.rows[reading]
    if np.abs(row @ found.free).max(initial=0.0) * FREE > found.sigma[reading]:
        return False  # the others do not tell it: it cannot be cleared
    spread = np.hypot(found.sigma[reading], np.linalg.norm(row @ found.root))
    return bool(abs(found.left[reading]) < CRITICAL * _rough(found) * spread)


def _sized(suspects: tuple[int, ...], model: Model, observed: Array, found: Adjusted) -> Slip:
    """Tell how far each of several suspects would be off if the others are right."""
    sizes = []
    for reading in suspects:
        used = found.used.copy()
        used[reading] = False
        alone = adjust(model, observed, found.sigma, found.x, used)
        sizes.append(float(alone.left[reading]))
    order = sorted(range(len(sizes)), key=lambda k: abs(sizes[k]))  # a small slip is likelier
    return Slip(tuple(suspects[k] for k in order), tuple(sizes[k] for k in order))
