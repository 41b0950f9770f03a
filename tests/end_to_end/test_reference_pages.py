"""The generated pages of the site tell every command, option and key there is."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest
import typer

from fea.cli.app import app
from fea.document.schema import FrameDocument
from fea.document.schema_case import CaseDocument


@pytest.fixture(scope="module")
def reference() -> ModuleType:
    path = Path(__file__).parents[2] / "docs" / "reference.py"
    spec = importlib.util.spec_from_file_location("reference", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_command_and_option(reference: ModuleType) -> None:
    page = reference.commands()
    group = typer.main.get_command(app)
    assert isinstance(group, typer.core.TyperGroup)
    for name, command in group.commands.items():
        head = f"## `plumbrail {name}`"
        assert page.count(head + "\n") == 1
        own = page.split(head + "\n")[1].split("\n## ")[0]
        options = [p for p in command.params if isinstance(p, typer.core.TyperOption)]
        for option in options:
            assert all(f"`{word}" in own or f", {word}" in own for word in option.opts)
    assert "..." not in page.split("## `plumbrail check`")[0].split("**Options**")[1]


def test_every_key_of_the_documents(reference: ModuleType) -> None:
    page = reference.documents()
    for document in (FrameDocument, CaseDocument):
        schema = document.model_json_schema()
        for one in (schema, *schema["$defs"].values()):
            for key, value in one.get("properties", {}).items():
                row = next(r for r in page.splitlines() if r.startswith(f"| `{key}` |"))
                assert row.count(" | ") == 2 + value.get("description", "").count(" | ")
