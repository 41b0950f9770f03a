"""What a command writes is whole or was never written: killed, crowded, or on a full disk."""

import json
import os
import resource
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from handmade import demo
from running import Ran, Run

sys.path.insert(0, str(Path(__file__).parent))

from killing import JOBS, OLD

from fea.errors import DocumentError
from fea.out.files import write_new, write_text, write_whole

SCRIPT = Path(__file__).with_name("killing.py")
TEXT = "a line\n" * 20_000


def left(folder: Path) -> list[str]:
    return sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())


# ------------------------------------------------------------------------------ killed


def test_a_dozen_kills_leave_no_half_file() -> None:
    """`killing.py` by itself does hundreds."""
    done = subprocess.run(
        [sys.executable, str(SCRIPT), "--count", "12"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    told = json.loads(done.stdout)
    assert told["bad"] == []
    assert told["killed in time"] >= 6  # or it would prove nothing
    assert told["old file"]
    assert told["new file"]


# ---------------------------------------------------------------------------- together


@pytest.mark.parametrize("option", ["same", "other"])
def test_two_runs_at_once_do_not_mix(option: str, tmp_path: Path) -> None:
    """Of one output file the later run's is there, whole; different ones do not meet."""
    frames = ("ladder_tubes", "ladder_web_butt")
    code = "from fea.cli.app import main; main()"
    running = []
    for frame in frames:
        page = "page.html" if option == "same" else f"{frame}.html"
        words = ("view", frame, "--joints", "beam", "--html", page)
        running.append(
            subprocess.Popen(
                [sys.executable, "-c", code, *words], cwd=tmp_path, stdout=subprocess.DEVNULL
            )
        )
    assert [process.wait(timeout=300) for process in running] == [0, 0]
    pages = {name: (tmp_path / name).read_text(encoding="utf-8") for name in left(tmp_path)}
    assert len(pages) == (1 if option == "same" else 2)
    for text in pages.values():
        assert text.rstrip().endswith("</html>")
        assert sum(demo(frame).title in text for frame in frames) == 1


def test_of_two_new_files_of_a_name_one_is_written(tmp_path: Path) -> None:
    file = tmp_path / "frame.toml"
    write_new(file, "one\n")
    with pytest.raises(FileExistsError):
        write_new(file, "two\n")
    assert file.read_text(encoding="utf-8") == "one\n"
    assert left(tmp_path) == ["frame.toml"]


def test_a_new_file_without_hard_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "link", refuse)
    write_new(tmp_path / "frame.toml", TEXT)
    assert (tmp_path / "frame.toml").read_text(encoding="utf-8") == TEXT
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "frame.toml", "two\n")
    assert left(tmp_path) == ["frame.toml"]


# ------------------------------------------------------------------------------- a full disk


@contextmanager
def no_room(most: int) -> Iterator[None]:
    """Let no file of this process grow beyond `most` bytes."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


FULL = ("view", "run", "survey", "cutlist", "sweep", "new")


@pytest.mark.parametrize("name", FULL)
def test_a_disk_without_room_is_one_complaint(
    name: str, plumbrail: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By a limit on the size of files, which needs no rights."""
    job = JOBS[name]
    monkeypatch.chdir(tmp_path)
    for file in () if job.new else job.files:
        Path(file).parent.mkdir(exist_ok=True)
        Path(file).write_bytes(OLD)
    with no_room(100):
        ran = plumbrail(*job.words)
    assert_refused(ran, "large")
    kept = () if job.new else sorted(job.files)
    assert [f for f in left(tmp_path) if f != job.resume] == [*kept]
    assert all(Path(f).read_bytes() == OLD for f in kept)


def assert_refused(ran: Ran, word: str) -> None:
    assert ran.code == 2, ran
    assert "Traceback" not in ran.err
    lines = ran.err.strip().splitlines()
    assert [line for line in lines if not line.startswith("  ")] == lines[:1]
    assert word in ran.err


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Mount a disk of 16 kB; skip where that is not allowed."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", str(place)]
    try:
        done = subprocess.run(mount, capture_output=True, check=False)
    except OSError:
        pytest.skip("there is no mount here")
    if done.returncode:
        pytest.skip("this user may not mount a disk")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_full_disk_leaves_the_old_page(small_disk: Path, quick: Run) -> None:
    page = small_disk / "page.html"
    page.write_bytes(OLD)
    assert_refused(quick("view", "ladder_tubes", "--html", page), "No space left")
    assert left(small_disk) == ["page.html"]
    assert page.read_bytes() == OLD


@pytest.mark.parametrize("write", [write_text, write_new])
def test_text_for_a_full_disk(write: Callable[[Path, str], None], small_disk: Path) -> None:
    with pytest.raises((DocumentError, OSError), match="No space left"):
        write(small_disk / "x.txt", TEXT)
    assert left(small_disk) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device here")
@pytest.mark.parametrize("words", [("demos",), ("check", "ladder_tubes", "--json"), ("--help",)])
def test_standard_output_without_room(words: tuple[str, ...]) -> None:
    code = "from fea.cli.app import main; main()"
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-c", code, *words],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert_refused(Ran(done.returncode, "", done.stderr), "No space left")


# --------------------------------------------------------------------- links and devices


def test_a_link_is_replaced_and_what_it_points_to_left_alone(tmp_path: Path) -> None:
    other, link = tmp_path / "mine.txt", tmp_path / "out.txt"
    other.write_bytes(OLD)
    link.symlink_to(other)
    write_text(link, "new\n")
    assert other.read_bytes() == OLD
    assert not link.is_symlink()
    assert link.read_text(encoding="utf-8") == "new\n"


def test_a_new_file_does_not_go_through_a_link(plumbrail: Run, tmp_path: Path) -> None:
    link = tmp_path / "frame.toml"
    link.symlink_to(tmp_path / "elsewhere.toml")
    ran = plumbrail("new", link, "--defaults")
    assert_refused(ran, "never replaced")
    with pytest.raises(FileExistsError):
        write_new(link, "new\n")
    assert not (tmp_path / "elsewhere.toml").exists()


def test_a_device_is_never_replaced_by_a_file(tmp_path: Path) -> None:
    """A superuser's `--html /dev/null` would break the machine."""
    pipe = tmp_path / "device"
    os.mkfifo(pipe)
    for place in (pipe, tmp_path):
        with pytest.raises(DocumentError, match="a folder or a device"):
            write_whole(place, lambda name: name.write_text("new"))
    assert pipe.is_fifo()
    assert left(tmp_path) == []


def test_the_old_file_survives_an_error_while_writing(tmp_path: Path) -> None:
    file = tmp_path / "x.txt"
    file.write_bytes(OLD)

    def fail(name: Path) -> None:
        name.write_text("half", encoding="utf-8")
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_whole(file, fail)
    assert file.read_bytes() == OLD
    assert left(tmp_path) == ["x.txt"]
