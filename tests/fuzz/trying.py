"""Mutants through the command's own main, in a process with limits of time and memory.

As a script: takes numbers on standard input, a line each, and gives a line of JSON for each
on standard output.  Whoever starts it sees a process that hangs or dies.
"""

import contextlib
import io
import json
import math
import re
import resource
import signal
import sys
import tempfile
import traceback
import warnings
from pathlib import Path
from typing import Any

SECONDS = 10
"""Of the processor's time: other work on the machine does not count."""
MEMORY = 1_000_000_000

NEVER = re.compile(
    r"Traceback|pydantic|Input should|\[type=|validation error|Warning:|File \"|object at 0x"
    r"|(Type|Value|Key|Index|Attribute|Recursion|Overflow|ZeroDivision)Error"
)
LABELLED = re.compile(r"  (where: |found: |do:    )\S")
ODD = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
LONGEST = 4000


class TooLongError(BaseException):
    """Ten seconds are over."""


def tried(number: int, place: Path) -> str:
    """Run a mutant and return what is wrong with how it ended; nothing if it is well."""
    from mutants import mutant

    one, folder = mutant(number), place / str(number)
    folder.mkdir()
    path = folder / f"mutant{one.ending}"
    path.write_bytes(one.content)
    words = [word.format(path) if word == "{}" else word for word in one.words]
    out, err = io.StringIO(), io.StringIO()
    code: Any = None
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code = _run(words)
        except TooLongError:
            return "takes too long"
        except BaseException:  # noqa: BLE001 - this is what is looked for
            return traceback.format_exc()
    path.unlink()
    left = sorted(p.name for p in folder.iterdir())
    if left:
        return f"left {left}"
    return wrong(code, out.getvalue(), err.getvalue(), as_json="--json" in words)


def _run(words: list[str]) -> Any:
    from fea.cli.app import main

    sys.argv = ["plumbrail", *words]
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            main()
    except SystemExit as stop:
        return stop.code
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
    return 0


def wrong(code: Any, out: str, err: str, *, as_json: bool) -> str:
    """Return what is wrong with an exit code and what was printed; nothing if it is well.

    0 comes with finite figures, 2 (or 1, of a sound document that cannot be solved) with
    complaints alone.
    """
    if code in (0, None):
        if as_json and not finite(json.loads(out)):
            return "not finite: " + out[:200]
        if not as_json and re.search(r"\b(nan|inf)\b", out):
            return "not finite: " + re.findall(r".*\b(?:nan|inf)\b.*", out)[0]
        if ODD.search(out):
            return f"odd characters: {ODD.findall(out)[:3]} in output"
        return err and f"said in passing: {err[:300]}"
    if code not in (1, 2):
        return f"exit {code}: {err[:500]}"
    if out:
        return f"refused after printing {out[:200]!r}"
    return _told_badly(err)


def _told_badly(err: str) -> str:
    if not err.strip():
        return "refused without a word"
    if found := NEVER.search(err):
        return f"{found[0]!r} in {err[:800]}"
    if found := ODD.search(err):
        return f"odd character {found[0]!r} in {err[:800]!r}"
    for line in err.rstrip("\n").split("\n"):
        if line.startswith(" ") and not LABELLED.match(line):
            return f"a line that is no part of a complaint: {line[:200]!r} in {err[:800]}"
        if not line.strip() or len(line) > LONGEST:
            return f"a line of {len(line)}: {line[:200]!r}"
    return ""


def finite(value: Any) -> bool:
    """Say whether all figures in plain data are finite."""
    if isinstance(value, dict | list):
        return all(map(finite, value.values() if isinstance(value, dict) else value))
    return not isinstance(value, float) or math.isfinite(value)


def _alarm(number: int, frame: object) -> None:
    raise TooLongError


def main() -> None:
    signal.signal(signal.SIGPROF, _alarm)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    answer = sys.stdout
    with tempfile.TemporaryDirectory() as place:
        for line in sys.stdin:
            found = tried(int(line), Path(place))
            print(json.dumps([int(line), found]), file=answer, flush=True)


if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]
    sys.path.insert(0, str(Path(__file__).parents[2]))
    main()
