"""`schema`, `demos`, and the command as a whole."""

import json
import tomllib
from pathlib import Path

import pytest
from handmade import CASES, FRAMES
from running import ROOT, Run

COMMANDS = ("check", "section", "run", "view", "verify", "schema", "demos")


def test_the_schema_in_a_process(process: Run) -> None:
    ran = process("schema")
    assert ran.code == 0
    assert ran.err == ""
    assert json.loads(ran.out)["properties"].keys() >= {"title", "rail", "crossmember", "part"}


@pytest.mark.parametrize(("kind", "folder"), [("frame", "models"), ("case", "cases")])
def test_the_schema_takes_every_shipped_document(kind: str, folder: str, plumbrail: Run) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    schema = json.loads(plumbrail("schema", kind).out)
    checker = jsonschema.validators.validator_for(schema)
    checker.check_schema(schema)
    paths = sorted((ROOT / folder).glob("*.toml"))
    assert paths
    for path in paths:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
        checker(schema).validate(document)
        with pytest.raises(jsonschema.ValidationError):
            checker(schema).validate(document | {"surprise": 1})


def test_every_key_of_the_schema_is_described(plumbrail: Run) -> None:
    for kind in ("frame", "case"):
        schema = json.loads(plumbrail("schema", kind).out)
        for table in (schema, *schema["$defs"].values()):
            for name, entry in table.get("properties", {}).items():
                assert entry.get("description"), f"{table.get('title')}: {name}"


def test_an_unknown_kind_of_document(plumbrail: Run) -> None:
    ran = plumbrail("schema", "vehicle")
    assert ran.code == 2
    assert ran.out == ""
    assert "vehicle" in ran.err
    assert "frame or case" in ran.err


def test_the_demos_in_a_process(process: Run, tmp_path: Path) -> None:
    ran = process("demos", cwd=tmp_path)
    assert ran.code == 0
    assert ran.err == ""
    for name in (*FRAMES, *CASES, "Frames", "Load cases"):
        assert name in ran.out
    assert "nan" not in ran.out


def test_every_shipped_document_is_listed_with_its_title(plumbrail: Run) -> None:
    shown = " ".join(plumbrail("demos").out.split())
    for folder in ("models", "cases"):
        for path in (ROOT / folder).glob("*.toml"):
            title = tomllib.loads(path.read_text(encoding="utf-8"))["title"]
            assert f"{path.stem} {title}" in shown


def test_help_lists_every_command(process: Run) -> None:
    ran = process("--help")
    assert ran.code == 0
    for name in COMMANDS:
        assert f"\n  {name} " in ran.out
    assert "planning aid, not a certification" in " ".join(ran.out.split())


@pytest.mark.parametrize("name", COMMANDS)
def test_help_of_every_command(name: str, plumbrail: Run) -> None:
    ran = plumbrail(name, "--help")
    assert ran.code == 0
    assert f"Usage: plumbrail {name}" in ran.out
    assert ran.err == ""


@pytest.mark.parametrize(
    "words",
    [
        ("polish",),
        ("run",),
        ("run", "orchard_pickup", "--fast"),
        ("check", "a", "b"),
        ("demos", "x"),
    ],
)
def test_words_that_are_no_command(words: tuple[str, ...], plumbrail: Run) -> None:
    ran = plumbrail(*words)
    assert ran.code == 2
    assert ran.out == ""
    assert "Usage: plumbrail" in ran.err
    assert "Traceback" not in ran.err


def test_no_words_at_all_give_help(plumbrail: Run) -> None:
    ran = plumbrail()
    assert ran.code == 2
    assert "Usage: plumbrail" in ran.out + ran.err


def test_a_reader_that_goes_away(tmp_path: Path) -> None:
    """`plumbrail run ... | head -1` ends in silence."""
    import subprocess
    import sys

    start = f"{sys.executable} -c 'from fea.cli.app import main; main()'"
    words = "run ladder_tubes --joints beam --json"
    done = subprocess.run(
        f"{start} {words} 2>{tmp_path / 'err'} | head -1",
        shell=True,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.stdout == "{\n"
    assert (tmp_path / "err").read_text(encoding="utf-8") == ""
