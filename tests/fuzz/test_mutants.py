"""Spoilt documents end in figures or in complaints; `fuzzing.py` by itself runs thousands."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from fuzzing import fuzz
from mutants import mutant
from trying import wrong

COUNT = 200
PIECES = 4
"""Of the numbers, so that processes of a test run share them."""


@pytest.mark.parametrize("piece", range(PIECES))
def test_mutants_are_solved_or_told_of(piece: int) -> None:
    each = COUNT // PIECES
    ended = dict(fuzz(range(piece * each, (piece + 1) * each)))
    assert len(ended) == each
    assert not {number: told for number, told in ended.items() if told}


def test_mutants_are_the_same_for_ever() -> None:
    assert [mutant(n) for n in range(20)] == [mutant(n) for n in range(20)]
    assert len({mutant(n).content for n in range(100)}) > 90


@pytest.mark.parametrize(
    ("code", "out", "err"),
    [
        (0, '{"a": [1.0, NaN]}', ""),
        (0, '{"a": -Infinity}', ""),
        (0, '{"a": 1.0}', "RuntimeWarning: overflow\n"),
        (2, "", ""),
        (2, "twist 3\n", "a rule\n"),
        (2, "", "Traceback (most recent call last):\n"),
        (2, "", "a rule\n  and more of it\n"),
        (2, "", "a rule\n  found: \x1b[2J\n"),
        (2, "", "a rule\n\nanother\n"),
        (2, "", f"a rule\n  found: {'x' * 5000}\n"),
        (3, "", "a rule\n"),
        ("told", "", "a rule\n"),
    ],
)
def test_what_is_wrong_is_seen(code: object, out: str, err: str) -> None:
    assert wrong(code, out, err, as_json=True)


@pytest.mark.parametrize(
    ("code", "out", "err"),
    [
        (0, '{"a": 1e300}', ""),
        (2, "", "a rule\n  where: here\n  found: 3\n  do:    this\nanother\n"),
    ],
)
def test_what_is_well_passes(code: object, out: str, err: str) -> None:
    assert not wrong(code, out, err, as_json=True)
