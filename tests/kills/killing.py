"""Commands that write, killed in the middle: files are the old ones or the new, never half.

As a script: ``python tests/kills/killing.py --count 200`` tells what became of the files, and
exits with 1 if one is half written.  A command runs in a fork of this process, which has read
all of Plumbrail already, and is killed either at a random moment or at a random one of the
steps it takes with files in its folder.
"""

import argparse
import json
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
OLD = b"what was there before\n"
READINGS = ROOT / "models" / "readings_orchard_pickup.csv"
SURVEY = ROOT / "models" / "survey_orchard_pickup_good.csv"
BEAM = ("--joints", "beam")

STEPS = frozenset(
    {"open", "os.rename", "os.link", "os.chmod", "os.remove", "os.mkdir", "os.truncate"}
)
"""What Python tells an audit hook before it does it."""


@dataclass(frozen=True)
class Job:
    """A command and the files it writes; `new` is written only where nothing is.

    `resume` names the file of finished rows, if there is one.
    """

    words: tuple[str, ...]
    files: tuple[str, ...]
    new: bool = False
    resume: str = ""


_CASES = ("twist", "bending")
JOBS = {
    "view": Job(("view", "ladder_tubes", *BEAM, "--html", "page.html"), ("page.html",)),
    "run": Job(
        ("run", "ladder_tubes", *BEAM, "--out", "made"),
        (
            "made/ladder_tubes.json",
            *(f"made/ladder_tubes_{c}.vtu" for c in _CASES),
            *(f"made/ladder_tubes_{c}_{k}.csv" for c in _CASES for k in ("profile", "members")),
        ),
    ),
    "new": Job(("new", "frame.toml", "--defaults"), ("frame.toml",), new=True),
    "survey": Job(
        ("survey", "orchard_pickup", str(SURVEY), "--fitted", "points.csv"), ("points.csv",)
    ),
    "cutlist": Job(("cutlist", "orchard_pickup", "--csv", "cut.csv"), ("cut.csv",)),
    "sweep": Job(
        ("sweep", "ladder_tubes", *BEAM, "--workers", "1", "--vary", "rail.wall=2mm..4mm/6",
         "--csv", "rows.csv", "--resume", "done.jsonl"),
        ("rows.csv",),
        resume="done.jsonl",
    ),
    "fit": Job(
        ("fit", "orchard_pickup", str(READINGS), "--stock", "--unknown", "wear",
         "--out", "fitted.toml", "--overwrite"),
        ("fitted.toml",),
    ),
    "packet": Job(
        ("packet", "ladder_tubes", *BEAM, "--out", "packet.html"),
        ("packet.html",),
    ),
}  # fmt: skip
QUICK = ("view", "run", "new", "survey", "cutlist", "sweep")


@dataclass(frozen=True)
class Usual:
    """A job undisturbed: seconds, steps with files, and what it writes."""

    seconds: float
    steps: int
    files: dict[str, bytes]


def main() -> None:
    ask = argparse.ArgumentParser(description="Kill commands while they write.")
    ask.add_argument("--count", type=int, default=200)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--only", choices=sorted(JOBS), nargs="*", default=list(QUICK))
    given = ask.parse_args()
    chance = random.Random(given.seed)
    usual = {name: undisturbed(JOBS[name]) for name in given.only}
    told: Counter[str] = Counter()
    bad = []
    for number in range(given.count):
        name = given.only[number % len(given.only)]
        try:
            told.update(kill(JOBS[name], usual[name], chance))
        except AssertionError as error:
            bad.append(f"{number} {name}: {error}")
    print(json.dumps({"kills": given.count, **told, "bad": bad}, indent=1))
    sys.exit(bool(bad))


def undisturbed(job: Job) -> Usual:
    """Run a job twice: what it writes must not depend on when."""
    found = []
    for _ in range(2):
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place)
            count = folder.parent / f"{folder.name}.steps"
            start = time.monotonic()
            status = _wait(_fork(job, folder, lambda f=folder, c=count: _count(f, c)))
            seconds = time.monotonic() - start
            assert status == 0, f"{job.words} ends with {status}"
            steps = count.stat().st_size
            count.unlink()
            found.append(Usual(seconds, steps, {f: (folder / f).read_bytes() for f in job.files}))
    assert found[0].files == found[1].files, f"{job.words} writes what it likes"
    return Usual(found[1].seconds, found[1].steps, found[1].files)


def kill(job: Job, usual: Usual, chance: random.Random) -> list[str]:
    """Kill a job once and return what became of it; AssertionError if a file is half."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        if not job.new:
            for file in job.files:
                (folder / file).parent.mkdir(exist_ok=True)
                (folder / file).write_bytes(OLD)
        if chance.random() < 0.5:
            step = chance.randint(1, usual.steps)
            child = _fork(job, folder, lambda: _die_at(step, folder))
        else:
            child = _fork(job, folder, lambda: None)
            time.sleep(chance.uniform(0.0, usual.seconds))
            os.kill(child, signal.SIGKILL)
        status = _wait(child)
        assert status in (0, -signal.SIGKILL), f"ended with {status}"
        told = ["killed in time" if status else "done before"]
        told += _became(job, usual, folder)
        if job.resume:
            assert _wait(_fork(job, folder, lambda: None)) == 0, "does not go on"
            after = {f: (folder / f).read_bytes() for f in job.files}
            assert after == usual.files, "goes on to something else"
            told.append("went on")
        return told


def _became(job: Job, usual: Usual, folder: Path) -> list[str]:
    """Return whether files are old or new; AssertionError if one is anything else."""
    told = []
    for file in job.files:
        path = folder / file
        if not path.exists():
            assert job.new, f"{file} is gone"
            told.append("not there yet")
            continue
        content = path.read_bytes()
        assert content == usual.files[file] or (content == OLD and not job.new), f"{file} is half"
        told.append("old file" if content == OLD else "new file")
    for path in folder.rglob("*"):
        name = path.relative_to(folder).as_posix()
        if path.is_file() and name not in (*job.files, job.resume):
            assert path.name.startswith(".") and path.suffix == ".part", f"{name} is left"  # noqa: PT018
            told.append("left a hidden part")
    return told


def _fork(job: Job, folder: Path, prepare: Callable[[], None]) -> int:
    """Start a job in a fork of this process, its output thrown away; return its number."""
    child = os.fork()
    if child:
        return child
    try:
        os.chdir(folder)
        nowhere = os.open(os.devnull, os.O_RDWR)
        for number in (0, 1):
            os.dup2(nowhere, number)
        from fea.cli.app import main as command

        prepare()
        sys.argv = ["plumbrail", *job.words]
        command()
    except SystemExit as stop:
        sys.stdout.flush()
        os._exit(int(stop.code or 0))
    except BaseException as error:  # noqa: BLE001 - the fork must end here
        os.write(2, f"{error!r}\n".encode())
    os._exit(70)


def _wait(child: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _in(folder: Path, event: str, args: tuple[object, ...]) -> bool:
    """Say whether a step has to do with a file in the folder, the one this process is in."""
    if event not in STEPS or not args or not isinstance(args[0], str | bytes | os.PathLike):
        return False
    path = Path(os.fsdecode(args[0]))
    return not path.is_absolute() or path.is_relative_to(folder)


def _count(folder: Path, into: Path) -> None:
    """Write a byte for each step."""
    file = os.open(into, os.O_CREAT | os.O_WRONLY | os.O_APPEND)
    sys.addaudithook(lambda e, a: _in(folder, e, a) and os.write(file, b"."))  # type: ignore[arg-type, return-value]


def _die_at(step: int, folder: Path) -> None:
    left = step

    def hook(event: str, args: tuple[object, ...]) -> None:
        nonlocal left
        if _in(folder, event, args):
            left -= 1
            if left == 0:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(hook)


def warm() -> None:
    """Read what the commands read late, so that their forks need not."""
    import meshio  # noqa: F401

    import fea.cli.app
    import fea.cli.showing
    import fea.cli.solving
    import fea.cli.surveying
    import fea.cli.sweeping
    import fea.document.read
    import fea.frame.build
    import fea.out.record
    import fea.result.answer
    import fea.shop.cut_record
    import fea.study.sweep  # noqa: F401


if __name__ == "__main__":
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[name] = "1"
    os.environ["PLUMBRAIL_CACHE"] = ""
    sys.path.insert(0, str(ROOT))
    warm()
    main()
