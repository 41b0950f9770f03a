"""Twist, bending, mass and peak stress while one or two keys of a document are varied."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from fea.errors import Complaint, DocumentError
from fea.solve.condense import Store
from fea.study.attempt import Values
from fea.study.engine import Row, Runner, run
from fea.study.variant import Figures, Setting, Variant, measure
from fea.study.vary import Vary, variants


@dataclass(frozen=True, eq=False)
class Point:
    """One combination of values: as they are told, and what it measures, None if refused."""

    texts: tuple[str, ...]
    figures: Figures | None
    complaints: tuple[Complaint, ...] = ()


@dataclass(frozen=True, eq=False)
class Sweep:
    """What was varied and what came of it; the last key changes fastest."""

    varied: tuple[Vary, ...]
    points: tuple[Point, ...]
    stress: bool


def sweep(
    setting: Setting,
    base: Variant,
    fitted: Sequence[str],
    varied: Sequence[Vary],
    *,
    stress: bool = False,
    runner: Runner | None = None,
) -> Sweep:
    """Return the figures of every combination of the varied values.

    Parameters
    ----------
    base : what all variants have in common
    fitted : names of the parts that are fitted, unless they are varied
    stress : bool
        Look for the highest stress as well, which costs more.

    Raises
    ------
    DocumentError
        If a key is varied twice.
    """
    keys = [v.key for v in varied]
    if len(set(keys)) < len(keys):
        raise DocumentError(Complaint("each key can be varied once", "--vary", ", ".join(keys)))
    chosen = variants(base, fitted, varied)
    rows = run(setting, chosen, stressed if stress else plain, runner)
    texts: list[tuple[str, ...]] = [()]
    for vary in varied:
        texts = [(*t, text) for t in texts for text in vary.texts]
    points = tuple(_point(t, row) for t, row in zip(texts, rows, strict=True))
    return Sweep(tuple(varied), points, stress)


def plain(setting: Setting, variant: Variant, store: Store | None) -> Values:
    """Return a variant's figures without stress."""
    return asdict(measure(setting, variant, store))


def stressed(setting: Setting, variant: Variant, store: Store | None) -> Values:
    """Return a variant's figures with the highest stress."""
    return asdict(measure(setting, variant, store, stress=True))


def _point(texts: tuple[str, ...], row: Row) -> Point:
    figures = None if row.values is None else Figures(**row.values)
    return Point(texts, figures, row.complaints)
