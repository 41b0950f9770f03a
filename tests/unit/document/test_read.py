"""Reading and finding documents, and the schema that says what they may hold."""

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from fea.document import find
from fea.document.find import find_case, find_frame, shipped_cases, shipped_frames
from fea.document.read import read_case, read_frame
from fea.document.schema import case_json_schema, frame_json_schema
from fea.errors import DocumentError

FRAMES = [
    "harbour_tourer",
    "ladder_flange_welded",
    "ladder_flange_welded_boxed",
    "ladder_tubes",
    "ladder_web_butt",
    "orchard_pickup",
]
CASES = ["bending", "ladder_bending", "own_weight", "payload", "twist", "twist_mirror"]


def test_what_is_shipped_is_listed() -> None:
    assert set(FRAMES) <= set(shipped_frames())
    assert set(CASES) <= set(shipped_cases())
    assert list(shipped_frames()) == sorted(shipped_frames())


@pytest.mark.parametrize("name", shipped_frames())
def test_every_shipped_frame_is_read(name: str) -> None:
    document = read_frame(find_frame(name))
    assert document.title
    assert document.about
    assert document.origin.file.endswith(f"{name}.toml")


@pytest.mark.parametrize("name", shipped_cases())
def test_every_shipped_case_is_read(name: str) -> None:
    assert read_case(find_case(name)).title


def test_a_file_of_ones_own_comes_before_a_shipped_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert find_frame("ladder_tubes") == shipped_frames()["ladder_tubes"]
    assert find_frame("ladder_tubes.toml") == shipped_frames()["ladder_tubes"]
    Path("ladder_tubes").mkdir()  # a folder of that name is not in the way
    assert find_frame("ladder_tubes") == shipped_frames()["ladder_tubes"]
    Path("ladder_tubes.toml").write_text("x")
    assert find_frame("ladder_tubes.toml") == Path("ladder_tubes.toml")
    assert find_frame(tmp_path / "ladder_tubes.toml") == tmp_path / "ladder_tubes.toml"
    assert find_frame(tmp_path) == tmp_path


def test_an_unknown_name_gets_the_nearest_and_the_list() -> None:
    with pytest.raises(DocumentError) as error:
        find_frame("orchard_pikup")
    (complaint,) = error.value.complaints
    assert complaint.found == "orchard_pikup"
    assert complaint.do.startswith('did you mean "orchard_pickup"? one of "harbour_tourer"')
    with pytest.raises(DocumentError, match="load case"):
        find_case("x" * 5000)


def test_in_a_wheel_the_folders_lie_in_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "fea" / "models").mkdir(parents=True)
    (tmp_path / "fea" / "models" / "mine.toml").write_text("")
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases" / "case.toml").write_text("")
    (tmp_path / "cases" / "validation").mkdir()
    (tmp_path / "cases" / "validation" / "inner.toml").write_text("")
    monkeypatch.setattr(find, "_PACKAGE", tmp_path / "fea")
    assert list(shipped_frames()) == ["mine"]
    assert list(shipped_cases()) == ["case"]


def tables(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    yield "file", schema
    yield from schema["$defs"].items()


@pytest.mark.parametrize("schema", [frame_json_schema(), case_json_schema()])
def test_the_schema_describes_every_key_and_is_closed(schema: dict[str, Any]) -> None:
    json.dumps(schema, allow_nan=False)
    for name, table in tables(schema):
        assert table["additionalProperties"] is False, name
        assert table["description"], name
        for key, entry in table["properties"].items():
            assert entry.get("description"), f"{name}.{key}"
            if entry.get("type") == "string":
                assert isinstance(entry.get("default", ""), str), f"{name}.{key}"


def test_the_schema_names_the_keys_as_they_are_typed() -> None:
    tables = frame_json_schema()["$defs"]
    assert "yield" in tables["MaterialEntry"]["properties"]
    assert {"from", "to"} <= set(tables["BoxingEntry"]["properties"])
    assert tables["MaterialEntry"]["properties"]["E"]["examples"] == ["206 GPa", "36 ksi"]


def test_pydantic_is_loaded_by_the_reader_alone() -> None:
    code = (
        "import sys, fea.frame.build, fea.frame.build_case, fea.document.find, fea.units;"
        "print('pydantic' in sys.modules, 'pint' in sys.modules, 'scipy' in sys.modules);"
        "import fea.document.read; print('pydantic' in sys.modules, 'pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False", "False", "True", "False"]
