"""What a benchmark gives: times of ours and of a reference in one run, their ratio, one table."""

import gc
import json
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

REPEATS, AT_MOST = 7, 4.0
"""Best of so many, fewer once they have taken so long together, s."""


@dataclass(frozen=True)
class Figure:
    """One row: ours against a reference, in seconds unless `unit` says otherwise.

    `exponent`: the slope of log time against log size over all sizes so far, at the last one.
    """

    what: str
    size: str
    ours: float
    against: str
    reference: float
    unit: str = "s"
    exponent: float | None = None

    @property
    def ratio(self) -> float:
        """Ours over the reference."""
        return self.ours / self.reference


def versus(*todo: Callable[[], object], repeats: int = REPEATS) -> list[float]:
    """Return the best time of each, s; they take turns, so that a busy spell meets all alike."""
    best = [float("inf")] * len(todo)
    start = time.perf_counter()
    for _ in range(repeats):
        for k, one in enumerate(todo):
            gc.collect()
            began = time.perf_counter()
            kept = one()
            best[k] = min(best[k], time.perf_counter() - began)
            del kept
        if time.perf_counter() - start > AT_MOST:
            break
    return best


def slope(sizes: Sequence[float], times: Sequence[float]) -> float:
    """Return the exponent p of time = c size^p that fits best in logarithms."""
    return float(np.polyfit(np.log(sizes), np.log(times), 1)[0])


def series(figures: Sequence[Figure], sizes: Sequence[float]) -> list[Figure]:
    """Return the figures with the growth exponent of ours on the last."""
    if len(figures) < 2:
        return list(figures)
    fields = vars(figures[-1]) | {"exponent": slope(sizes, [f.ours for f in figures])}
    return [*figures[:-1], Figure(**fields)]


def table(figures: Sequence[Figure]) -> str:
    """Return all figures as one table, which reads as text and pastes as Markdown."""
    head = ("what", "size", "ours", "against", "takes", "ratio", "exponent")
    rows = [head] + [
        (
            f.what, f.size, _told(f.ours, f.unit), f.against, _told(f.reference, f.unit),
            f"{f.ratio:.3g}", "" if f.exponent is None else f"{f.exponent:.2f}",
        )
        for f in figures
    ]  # fmt: skip
    width = [max(len(row[k]) for row in rows) for k in range(len(head))]
    right = (False, True, True, False, True, True, True)
    lines = []
    for n, row in enumerate(rows):
        cells = [c.rjust(w) if r else c.ljust(w) for c, w, r in zip(row, width, right, strict=True)]
        lines.append("| " + " | ".join(cells) + " |")
        if n == 0:
            rule = [
                ("-" * (w - 1) + ":") if r else "-" * w for w, r in zip(width, right, strict=True)
            ]
            lines.append("| " + " | ".join(rule) + " |")
    return "\n".join(lines)


def _told(value: float, unit: str) -> str:
    if unit == "s":
        return f"{value:.3g} s" if value >= 1.0 else f"{1e3 * value:.3g} ms"
    return f"{value:.3g} {unit}"


def write(figures: Sequence[Figure], about: dict[str, str], path: Path) -> None:
    """Write all figures as JSON."""
    rows = [asdict(f) | {"ratio": f.ratio} for f in figures]
    path.write_text(
        json.dumps({"about": about, "figures": rows}, indent=2) + "\n", encoding="utf-8"
    )
