"""Many mutants through a process with limits, started anew when it hangs or dies.

As a script: ``python tests/fuzz/fuzzing.py --count 2000`` tells of every mutant that ends badly
and exits with 1 if one does; ``--first`` says from which number on.
"""

import argparse
import json
import os
import selectors
import subprocess
import sys
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from trying import SECONDS

HERE = Path(__file__).parent
PATIENCE = 30.0 * SECONDS
"""Seconds until a process that does not even heed its alarm is ended."""


def fuzz(numbers: Iterable[int]) -> Iterator[tuple[int, str]]:
    """Yield every number with what is wrong with how its mutant ended; nothing if it is well."""
    process = None
    try:
        for number in numbers:
            process = process or _start()
            found = _asked(process, number)
            if found is None:
                _stop(process)
                found = f"hung or died, exit {process.returncode}"
                process = None
            yield number, found
    finally:
        if process is not None:
            _stop(process)


def _start() -> subprocess.Popen[str]:
    # Idle threads would count as memory.
    threads = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    return subprocess.Popen(
        [sys.executable, str(HERE / "trying.py")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | threads | {"PLUMBRAIL_CACHE": "", "COLUMNS": "110"},
    )


def _stop(process: subprocess.Popen[str]) -> None:
    """End a process and close its pipes."""
    process.kill()
    with process, suppress(BrokenPipeError):
        process.communicate()


def _asked(process: subprocess.Popen[str], number: int) -> str | None:
    """Return what the process says of a mutant; None if it does not."""
    assert process.stdin is not None
    assert process.stdout is not None
    with selectors.DefaultSelector() as ready:
        ready.register(process.stdout, selectors.EVENT_READ)
        try:
            process.stdin.write(f"{number}\n")
            process.stdin.flush()
        except BrokenPipeError:
            return None
        line = process.stdout.readline() if ready.select(PATIENCE) else ""
    if not line:
        return None
    asked, found = json.loads(line)
    assert asked == number
    return str(found)


def main() -> None:
    ask = argparse.ArgumentParser(description="Run spoilt documents through the command.")
    ask.add_argument("--count", type=int, default=2000)
    ask.add_argument("--first", type=int, default=0)
    given = ask.parse_args()
    bad = 0
    for number, found in fuzz(range(given.first, given.first + given.count)):
        if found:
            bad += 1
            one = mutant(number)
            print(f"{number}: {one.about[:200]}; {' '.join(one.words)}\n{found[-1500:]}\n")
    print(f"{given.count} mutants, {bad} ended badly")
    sys.exit(bool(bad))


if __name__ == "__main__":
    sys.path.insert(0, str(HERE.parent))
    from mutants import mutant

    main()
