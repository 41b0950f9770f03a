"""A variant as a new frame document, read and solved again before it counts as saved."""

import re
from pathlib import Path
from typing import Any

from fea.bench.session import Bench, Solved
from fea.bench.wanted import Wanted
from fea.document.read import frame_of_text
from fea.document.wear_added import fitted_text, wear_text
from fea.errors import Complaint, DocumentError
from fea.frame.build import build_frame
from fea.out.files import write_new
from fea.result.answer import answers

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,59}")

DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)
"""Names that some systems keep for devices."""

SAME = 1e-9
"""Relative difference below which the saved document gives the figures on the page: the text is
the same but for round-off of the order in which it is put together."""


def file_name(name: object) -> str:
    """Return the file name for a name; it names a file in this folder and nothing else.

    Raises
    ------
    DocumentError
        If it has anything but letters, digits, hyphens and underscores.
    """
    stem = name.removesuffix(".toml") if isinstance(name, str) else ""
    if not NAME.fullmatch(stem) or DEVICES.fullmatch(stem):
        raise DocumentError(
            Complaint(
                "a name has letters, digits, hyphens and underscores, 60 at most",
                "save as",
                str(name)[:60],
                "such as cab_bay_boxed",
            )
        )
    return f"{stem}.toml"


def variant_text(bench: Bench, wanted: Wanted) -> str:
    """Return the document of a variant: the text as it was, but for what was changed."""
    document, variant = bench.setting.document, wanted.variant
    rails = [rail.name for rail in document.rail]
    added = wear_text(rails, wanted.loss, "all along, set on the bench") if wanted.loss else ""
    changed = [f"{path} = {value}" for path, value in variant.edits]
    if wanted.mounts:
        changed.append(f"all mounts {wanted.mounts}")
    if wanted.loss:
        changed.append(f"{wanted.loss} lost all along the rails")
    told = "; ".join(re.sub(r"\s+", " ", line) for line in changed) or "the choice of parts"
    source = Path(bench.setting.source).name
    comments = [f"Made on the bench from {source}: {told}."]
    text = fitted_text(document.origin.text, dict(variant.edits), added, comments)
    fitted = variant.parts if variant.parts is not None else frozenset()
    return _with_choice(text, fitted, wanted.mounts)


def save(bench: Bench, wanted: Wanted, name: object, folder: Path) -> Path:
    """Write a variant as a new document into a folder, and return the file.

    The text is read back and solved first: it must give the figures that the page shows.

    Raises
    ------
    DocumentError
        If the name will not do, is taken, or the document does not say the same.
    """
    path = folder / file_name(name)
    shown = bench.quick(wanted)
    text = variant_text(bench, wanted)
    _prove(bench, shown, text, path)
    try:
        write_new(path, text)
    except FileExistsError:
        raise DocumentError(
            Complaint("there is a file of that name already", "save as", path.name, "another name")
        ) from None
    except OSError as error:
        reason = error.strerror or str(error)
        raise DocumentError(
            Complaint("the file could not be written", str(path), reason)
        ) from error
    return path


def _prove(bench: Bench, shown: Solved, text: str, path: Path) -> None:
    """Refuse a text that does not give the figures shown."""
    from fea.analyse import analyse

    document = frame_of_text(text, path)
    setting = bench.setting
    frame = build_frame(document, source=setting.source, body=setting.body)
    found = answers(analyse(frame, setting.cases))
    for one, other in zip(found, shown.answers, strict=True):
        for key, value in other.measures.items():
            if abs(one.measures[key] - value) > SAME * max(abs(value), 1e-12):
                raise DocumentError(
                    Complaint(
                        "the new document would not give the figures on the page: nothing is saved",
                        key,
                        f"{one.measures[key]:.9g} instead of {value:.9g}",
                    )
                )


def _with_choice(text: str, fitted: frozenset[str], grade: str | None) -> str:
    """Return a document's text with its parts fitted or not, and all mounts of a grade."""
    import tomlkit

    tree: Any = tomlkit.parse(text)
    parts = tree.get("part", [])
    for part in parts:
        if bool(part.get("fitted", True)) != (part["name"] in fitted):
            part["fitted"] = part["name"] in fitted
    if grade is not None:
        for mount in (m for table in (tree, *parts) for m in table.get("mount", [])):
            _regrade(mount, grade)
    return tomlkit.dumps(tree)


def _regrade(mount: Any, grade: str) -> None:  # noqa: ANN401 - a table of tomlkit
    """Put new pads into a mount: its own figures go, and it is good again if it was there."""
    mount["grade"] = grade
    for key in ("vertical", "lateral", "longitudinal"):
        mount.pop(key, None)
    if mount.get("state") in ("worn", "torn"):
        mount["state"] = "good"
