"""The reference of the site, written from the program itself when the site is built.

Commands come from the command line's own help, document keys from the schema that editors
use; nothing of it is kept in the repository, so none of it can be out of date.
"""

from collections.abc import Iterator
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add the generated pages; called by the site's builder."""
    for name, text in (("commands.md", commands()), ("documents.md", documents())):
        files.append(File.generated(config, name, content=text))
    return files


def commands() -> str:
    """Return the page of all commands with their options, as Markdown."""
    import typer
    from typer.cli import get_docs_for_click

    from fea.cli.app import app

    group = typer.main.get_command(app)
    page = get_docs_for_click(
        obj=group,
        ctx=typer.Context(group, info_name="plumbrail"),
        name="plumbrail",
        title="Commands",
    )
    # A list of one-line helps cut short with dots tells nothing that the contents do not.
    before, _, rest = page.partition("**Commands**:\n")
    _, _, each = rest.partition("\n## ")
    return f"{before.rstrip()}\n\n## {each}"


def documents() -> str:
    """Return the page of all keys of frame and case documents, as Markdown."""
    from fea.document.schema import FrameDocument
    from fea.document.schema_case import CaseDocument

    lines = [
        "# Documents",
        "",
        "Every key of a frame document and of a load case. Lengths, loads and masses are text "
        'with their unit, such as `"120 mm"` or `"4.75 in"`; `plumbrail schema` prints the same '
        "for editors.",
    ]
    for title, document in (("Frame document", FrameDocument), ("Load case", CaseDocument)):
        schema = document.model_json_schema()
        lines += ["", f"## {title}", "", *_table(schema)]
        for name, definition in sorted(schema.get("$defs", {}).items()):
            if "properties" in definition:
                lines += ["", f"### {_words(name)} {{: #{_anchor(title, name)} }}", ""]
                lines += [*_table(definition, title)]
    return "\n".join(lines) + "\n"


def _table(definition: dict[str, Any], title: str = "") -> Iterator[str]:
    about = definition.get("description", "")
    if about:
        yield from (about, "")
    needed = set(definition.get("required", ()))
    yield "| key | what it is | value |"
    yield "|---|---|---|"
    for key, value in definition.get("properties", {}).items():
        told = " ".join(value.get("description", "").split()).replace("|", "\\|")
        kind = _kind(value, title)
        rest = "needed" if key in needed else _default(value)
        yield f"| `{key}` | {told} | {'; '.join(x for x in (kind, rest) if x)} |"


def _kind(value: dict[str, Any], title: str) -> str:
    if "const" in value:
        return f"`{value['const']}`"
    if "enum" in value:
        return " or ".join(f"`{v}`" for v in value["enum"])
    if "examples" in value:
        return "such as " + ", ".join(f"`{v}`" for v in value["examples"])
    if "$ref" in value:
        return _words(value["$ref"].rsplit("/", 1)[1])
    for key in ("anyOf", "oneOf"):
        if key in value:
            found = [_kind(v, title) for v in value[key] if v.get("type") != "null"]
            return " or ".join(dict.fromkeys(x for x in found if x))
    if value.get("type") == "array":
        return f"list of {_kind(value.get('items', {}), title) or 'values'}"
    if value.get("type") == "object" and isinstance(value.get("additionalProperties"), dict):
        return f"table of {_kind(value['additionalProperties'], title)}"
    return {"string": "text", "integer": "whole number", "boolean": "`true` or `false`"}.get(
        value.get("type", ""), str(value.get("type", ""))
    )


def _default(value: dict[str, Any]) -> str:
    default = value.get("default")
    if default in (None, "", []) or isinstance(default, dict):
        return ""
    return f"`{str(default).lower() if isinstance(default, bool) else default}` if left out"


def _words(name: str) -> str:
    """Return a definition's name as words: `BoxingPlate` as `boxing plate`."""
    spaced = "".join(f" {c.lower()}" if c.isupper() else c for c in name)
    return spaced.replace("_", " ").strip()


def _anchor(title: str, name: str) -> str:
    return f"{title}-{name}".lower().replace(" ", "-")
