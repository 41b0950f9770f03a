"""Bad input through the real command: exit 2, the rule and the place on standard error alone."""

from pathlib import Path

import pytest
from handmade import demo
from running import ROOT, Ran, Run

BAD = ROOT / "tests" / "bad"
FILES = sorted(path.stem for path in BAD.glob("*.toml"))
CASES = [name for name in FILES if name.startswith("case_") and name != "case_instead_of_frame"]
FRAMES = [name for name in FILES if name not in CASES]
NEVER = ("Traceback", "pydantic", "Input should", "[type=", 'File "', "Error:")


def assert_refused(ran: Ran, out: Path) -> None:
    assert ran.code == 2, ran
    assert ran.out == ""
    assert ran.err.strip()
    for word in NEVER:
        assert word not in ran.err
    assert not out.exists()


def words(name: str, out: Path) -> tuple[object, ...]:
    """Return the words that run a bad frame, or a bad case on a good frame."""
    path = Path(f"{name}.toml")
    if name in CASES:
        return ("run", "ladder_tubes", "--case", path, "--out", out)
    return ("run", path, "--case", "twist", "--out", out)


def test_there_are_bad_files_of_both_kinds() -> None:
    assert len(FRAMES) > 40
    assert len(CASES) > 5


@pytest.mark.parametrize("name", FILES)
def test_a_bad_file_is_told_as_expected(
    name: str, plumbrail: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(BAD)
    ran = plumbrail(*words(name, tmp_path / "out"))
    assert_refused(ran, tmp_path / "out")
    assert ran.err == (BAD / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("command", "name"),
    [
        (command, name)
        for command in ("check", "section", "view")
        for name in FRAMES
        # `section` looks at one part at a time: two that clash are no matter to it.
        if (command, name) != ("section", "plates_overlap")
    ],
)
def test_every_command_tells_the_same(
    command: str, name: str, plumbrail: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(BAD)
    page = ("--html", tmp_path / "out") if command == "view" else ()
    ran = plumbrail(command, f"{name}.toml", *page)
    assert_refused(ran, tmp_path / "out")
    assert ran.err == (BAD / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("name", "texts"),
    [
        ("missing_unit", ("unit", "missing_unit.toml, line")),
        ("unknown_section", ("section", "unknown_section.toml, line")),
        ("rail_one_point", ("rail_one_point.toml, line",)),
        ("plate_outside_rail", ("plate", "plate_outside_rail.toml, line")),
        ("mount_on_nothing", ("mount", "mount_on_nothing.toml, line")),
        ("rails_miss_by_3_mm", ("3 mm", "rails_miss_by_3_mm.toml, line")),
        ("brace_misses_by_3_mm", ("3 mm", "brace_misses_by_3_mm.toml, line")),
        ("zero_wall", ("0 mm", "zero_wall.toml, line")),
        ("negative_modulus", ("E", "negative_modulus.toml, line")),
        ("not_a_number", ("nan", "not_a_number.toml, line")),
        ("not_toml", ("TOML", "not_toml.toml")),
        ("latin_1", ("UTF-8", "latin_1.toml")),
        ("empty", ("empty.toml",)),
        ("unknown_key", ("unknown_key.toml, line",)),
        ("case_no_load", ("load", "case_no_load.toml")),
    ],
)
def test_in_a_process_of_its_own(
    name: str, texts: tuple[str, ...], process: Run, tmp_path: Path
) -> None:
    ran = process(*words(name, tmp_path / "out"), cwd=BAD)
    assert_refused(ran, tmp_path / "out")
    for text in texts:
        assert text in ran.err
    for label in ("where:", "do:"):
        assert label in ran.err


# ------------------------------------------------------ files that are hardly files at all


def test_a_folder(process: Run, tmp_path: Path) -> None:
    ran = process("run", tmp_path, "--out", tmp_path / "out")
    assert_refused(ran, tmp_path / "out")
    assert "folder" in ran.err
    assert str(tmp_path) in ran.err


def test_a_file_of_50_mb(process: Run, tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    with path.open("wb") as stream:
        stream.write(b'title = "Big"\n')
        stream.truncate(50_000_000)
    ran = process("check", path, timeout=20)
    assert_refused(ran, tmp_path / "out")
    assert "5 MB" in ran.err
    assert "big.toml" in ran.err


@pytest.mark.parametrize("name", ["nowhere", "nowhere.toml", "no/where.toml", "x" * 5000, "\0"])
def test_a_missing_file(name: str, plumbrail: Run, tmp_path: Path) -> None:
    ran = plumbrail("run", name, "--out", tmp_path / "out")
    assert_refused(ran, tmp_path / "out")
    assert "orchard_pickup" in ran.err


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n\n# nothing\n",
        b"\xff\xfe\x00\x01",
        b"\x00" * 400,
        b"\x89PNG\r\n\x1a\n",
        b"[[[[",
        b"=1",
    ],
)
def test_content_that_is_no_document(content: bytes, plumbrail: Run, tmp_path: Path) -> None:
    path = tmp_path / "odd.toml"
    path.write_bytes(content)
    for command in (("check", path), ("run", "ladder_tubes", "--case", path)):
        ran = plumbrail(*command)
        assert_refused(ran, tmp_path / "out")
        assert "odd.toml" in ran.err


def test_a_file_that_may_not_be_read(plumbrail: Run, tmp_path: Path) -> None:
    path = tmp_path / "secret.toml"
    path.write_text("title = 1", encoding="utf-8")
    path.chmod(0)
    try:
        path.read_bytes()
    except PermissionError:
        ran = plumbrail("check", path)
        assert_refused(ran, tmp_path / "out")
        assert "secret.toml" in ran.err
    else:
        pytest.skip("this user may read everything")
    finally:
        path.chmod(0o600)


# ---------------------------------------------------------------- slips in a good document


@pytest.fixture
def pickup() -> str:
    return Path(demo("orchard_pickup").source).read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "texts"),
    [
        ('depth = "150 mm"', "depth = 150", ("unit", "150", '"C150x60"')),
        ('depth = "150 mm"', 'depth = "150"', ("unit", "150")),
        ('depth = "150 mm"', 'depth = "150 kg"', ("length", "150 kg")),
        ('wall = "4 mm"', 'wall = "0 mm"', ("0 mm",)),
        ('wall = "4 mm"', 'wall = "-4 mm"', ("-4 mm",)),
        ('E = "206 GPa"', 'E = "-206 GPa"', ("-206 GPa", "old_rail")),
        ('E = "206 GPa"', 'E = "nan GPa"', ("nan GPa",)),
        ("nu = 0.3", "nu = nan", ("nan", "nu")),
        ("nu = 0.3", "nu = 0.5", ("nu",)),
        ("nu = 0.3", "nu = inf", ("inf",)),
        ('section = "C150x60"', 'section = "C150x61"', ("C150x61", "C150x60")),
        ('material = "plate"', 'material = "plait"', ("plait", "plate")),
        ('mounts = ["M1", "M2"]', 'mounts = ["M1", "M9"]', ("M9",)),
        ('to = "950 mm"', 'to = "9500 mm"', ("9500 mm", "boxing_front")),
        ('opens = "inboard"', 'opens = "sideways"', ("sideways", "inboard")),
        ('joint = "web"', 'joint = "glue"', ("glue", "web_and_flanges")),
        ('name = "X2"', 'name = "X1"', ("X1",)),
        ('title = "Orchard pickup"', 'titel = "Orchard pickup"', ("titel", "title")),
        ('station = "-560 mm"', 'station = "-5600 mm"', ("-5600 mm", "X1")),
        ('fitted = true', 'fitted = "yes"', ("fitted",)),
    ],
)  # fmt: skip
def test_a_slip_in_a_good_document(
    old: str, new: str, texts: tuple[str, ...], pickup: str, plumbrail: Run, tmp_path: Path
) -> None:
    assert old in pickup
    path = tmp_path / "slip.toml"
    path.write_text(pickup.replace(old, new, 1), encoding="utf-8")
    ran = plumbrail("run", path, "--out", tmp_path / "out")
    assert_refused(ran, tmp_path / "out")
    for text in (*texts, "slip.toml"):
        assert text in ran.err


def test_all_slips_are_told_at_once(pickup: str, plumbrail: Run, tmp_path: Path) -> None:
    slips = {
        'depth = "150 mm"': 'depth = "150 kg"',
        "nu = 0.3": "nu = 0.9",
        'wall = "3.2 mm"': 'wall = "0 mm"',
    }
    for old, new in slips.items():
        pickup = pickup.replace(old, new, 1)
    path = tmp_path / "slips.toml"
    path.write_text(pickup, encoding="utf-8")
    ran = plumbrail("check", path)
    assert_refused(ran, tmp_path / "out")
    assert ran.err.count("where:") == len(slips)


def test_an_unknown_part_of_a_frame_without_parts(plumbrail: Run) -> None:
    ran = plumbrail("run", "ladder_tubes", "--with", "anything")
    assert ran.code == 2
    assert "anything" in ran.err
    assert "no parts" in ran.err
