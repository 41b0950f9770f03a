"""What a run of the command leaves, for tests that call it."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
"""The folder of the sources."""


@dataclass(frozen=True)
class Ran:
    """What one run of the command left: exit code, standard output, standard error."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]
