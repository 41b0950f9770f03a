"""A thousand variants of three gauges, against as many fresh runs of changed documents."""

import itertools
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from figures import Figure, versus

from fea.analyse import analyse
from fea.document.edit import edited_text
from fea.document.find import find_case, find_frame
from fea.document.read import read_case, read_frame
from fea.frame.build import build_frame
from fea.frame.build_case import build_case
from fea.result.answer import answers
from fea.study.engine import Runner, run
from fea.study.sweep import plain
from fea.study.variant import Setting, Variant

KEYS = ("rail.wall", "X4.wall", "part.boxing_cab.boxing.1.plate")
VARIANTS, FRESH = 1000, 20


def figures(full: bool) -> Iterator[Figure]:
    """Yield the sweep in this process, beam rules; the smaller one is scaled up, and says so."""
    path = find_frame("orchard_pickup")
    text = path.read_text(encoding="utf-8")
    document = read_frame(path)
    cases = tuple(build_case(read_case(find_case(name))) for name in ("twist", "bending"))
    setting = Setting(document, str(path), cases)
    each = 10 if full else 5
    walls = [f"{t:.4g} mm" for t in np.linspace(2.0, 5.0, each)]
    edits = [dict(zip(KEYS, c, strict=True)) for c in itertools.product(walls, repeat=3)]
    chosen = [Variant.of(edits=e) for e in edits]
    some = edits[:: max(1, len(edits) // FRESH)][:FRESH]

    def fresh() -> None:
        for one in files:
            frame = build_frame(read_frame(one), source=str(one))
            answers(analyse(frame, cases))

    def swept() -> None:
        rows = run(setting, chosen, plain, Runner(workers=1))
        assert all(r.values is not None for r in rows)

    with tempfile.TemporaryDirectory() as place:
        files = [Path(place) / f"variant_{k}.toml" for k in range(len(some))]
        for file, one in zip(files, some, strict=True):
            file.write_text(edited_text(text, one), encoding="utf-8")
        ours, reference = versus(swept, fresh, repeats=2)
    size = f"{VARIANTS} variants"
    if not full:
        size += f" (from {len(chosen)})"
    against = f"{VARIANTS} fresh runs (from {len(files)})"
    yield Figure(
        "gauges", size, ours * VARIANTS / len(chosen), against, reference * VARIANTS / len(files)
    )
