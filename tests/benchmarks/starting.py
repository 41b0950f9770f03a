"""Cold start: one run of the command in a process of its own, against importing what it needs."""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from figures import Figure, versus

FLOOR = "import numpy, scipy.sparse.linalg"
RUN = "from fea.cli.app import main; main()"


def figures(full: bool) -> Iterator[Figure]:
    """Yield help, a run by beam rules, and a run with sheet metal from a warm store."""
    with tempfile.TemporaryDirectory() as place:
        environment = os.environ | {"PLUMBRAIL_CACHE": place}
        frame = ("run", str(Path("models/orchard_pickup.toml")), "--case", "twist")

        def process(code: str, *words: str) -> None:
            subprocess.run(
                [sys.executable, "-c", code, *words],
                env=environment,
                stdout=subprocess.DEVNULL,
                check=True,
            )

        process(RUN, *frame, "--joints", "sheet")  # the store is warm from here on
        best = versus(
            lambda: process(FLOOR),
            lambda: process(RUN, "--help"),
            lambda: process(RUN, *frame, "--joints", "beam"),
            lambda: process(RUN, *frame, "--joints", "sheet"),
            repeats=9 if full else 5,
        )
    names = ("start: --help", "start: run, --joints beam", "start: run, --joints sheet, kept")
    for name, ours in zip(names, best[1:], strict=True):
        yield Figure(name, "pickup", ours, f'python -c "{FLOOR}"', best[0])
