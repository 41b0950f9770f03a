"""Benchmarks of Plumbrail: ``python tests/benchmarks``, one table; see docs/benchmarks.md."""

import argparse
import os
import platform
import sys
import time
from importlib import import_module
from importlib.metadata import version
from pathlib import Path

# One thread each, told before numpy is loaded: so both sides of a ratio have the same.
for _name in ("OPENBLAS", "OMP", "MKL", "RAYON"):
    os.environ[f"{_name}_NUM_THREADS"] = "1"

GROUPS = ("starting", "assembling", "solving", "tying", "varying", "swinging")


def main() -> None:
    """Run the groups asked for, and print one table."""
    parser = argparse.ArgumentParser("python tests/benchmarks", description=__doc__)
    parser.add_argument("--full", action="store_true", help="the largest sizes as well; minutes")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures as JSON too")
    parser.add_argument("--only", choices=GROUPS, action="append", help="may be repeated")
    asked = parser.parse_args()
    os.chdir(Path(__file__).parents[2])
    from figures import table, write

    start, found = time.perf_counter(), []
    for group in asked.only or GROUPS:
        print(f"{group} ...", file=sys.stderr, flush=True)
        found += import_module(group).figures(asked.full)
    about = {
        "python": platform.python_version(),
        "machine": f"{platform.machine()}, {os.cpu_count()} cores, one thread used",
        **{name: version(name) for name in ("numpy", "scipy", "plumbrail")},
        "seconds": f"{time.perf_counter() - start:.0f}",
    }
    print(table(found))
    print()
    print("; ".join(f"{key} {value}" for key, value in about.items()))
    if asked.json:
        write(found, about, asked.json)


if __name__ == "__main__":
    main()
