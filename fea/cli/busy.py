"""A sign of life on the terminal where work lasts over a second."""

import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

DELAY = 1.0
"""Seconds before the sign appears."""


@contextmanager
def busy(words: str) -> Iterator[None]:
    """Show a moving bar on standard error while the block runs, if it lasts."""
    if not sys.stderr.isatty():
        yield
        return
    done = threading.Event()

    def turn() -> None:
        if done.wait(DELAY):
            return
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
        with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
            progress.add_task(words, total=None)
            done.wait()

    worker = threading.Thread(target=turn, daemon=True)
    worker.start()
    try:
        yield
    finally:
        done.set()
        worker.join()
