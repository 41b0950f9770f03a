"""From a TOML file to a document, or to every complaint there is about the file."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from fea.document.complain import complain
from fea.document.lines import Loc
from fea.document.origin import Origin, Sourced
from fea.document.schema import FrameDocument
from fea.document.schema_case import CaseDocument
from fea.errors import Complaint, DocumentError

# The largest frame that anybody would type is some 100 kB.
MOST_BYTES = 5_000_000

# Control characters, line ends of all kinds, and what turns the direction of writing.
_ODD_IN_A_LINE = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
_ODD = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
_MOST_WHOLE = 10**18 - 1

Document = TypeVar("Document", bound=Sourced)


def read_frame(path: Path) -> FrameDocument:
    """Return the frame document in a file.

    Raises
    ------
    DocumentError
        If the file cannot be read, or with every key and value in it that is wrong.
    """
    return _read(path, FrameDocument)


def read_case(path: Path) -> CaseDocument:
    """Return the load case in a file; raises as `read_frame` does."""
    return _read(path, CaseDocument)


def frame_of_text(text: str, path: Path) -> FrameDocument:
    """Return the frame document in a text that was read from a file; raises as `read_frame`."""
    return _of_text(text, path, FrameDocument)


def _read(path: Path, model: type[Document]) -> Document:
    return _of_text(read_text(path), path, model)


def _of_text(text: str, path: Path, model: type[Document]) -> Document:
    data = _load(path, text)
    if not data:
        raise DocumentError(_empty(path))
    origin = Origin(str(path), text, data)
    _check_kind(data, model, origin)
    _check_plain(origin)
    try:
        document = model.model_validate(data)
    except ValidationError as error:
        found = complain(model, error.errors(include_url=False), origin)
        raise DocumentError(*found) from None
    document.set_origin(origin)
    return document


def read_text(path: Path) -> str:
    """Return the text of a file, or a DocumentError that says why it cannot be had."""
    where = str(path)
    if path.is_dir():
        do = "name one of the files in it"
        raise DocumentError(Complaint("this is a folder, not a file", where, do=do))
    try:
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise DocumentError(Complaint("there is no such file", where)) from None
    except OSError as error:
        reason = (error.strerror or "").lower()
        raise DocumentError(Complaint("this file cannot be opened", where, reason)) from None
    if len(raw) > MOST_BYTES:
        rule = f"a document must not be larger than {MOST_BYTES // 1_000_000} MB"
        do = "check that it is the right file"
        raise DocumentError(Complaint(rule, where, f"more than {MOST_BYTES} bytes", do))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        rule = "the text must be in UTF-8"
        do = 'save the file again as "UTF-8" in the text editor'
        byte = f"a byte 0x{raw[error.start]:02x} that is not UTF-8"
        raise DocumentError(Complaint(rule, f"{where}, line {line}", byte, do)) from None
    return text.replace("\r\n", "\n")


def _empty(path: Path) -> Complaint:
    do = "start from a copy of one of the files that are shipped"
    return Complaint("this file is empty", str(path), do=do)


def _load(path: Path, text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        reason, _, place = str(error).partition(" (at ")
        digits = [
            int(word) for word in place.rstrip(")").replace(",", "").split() if word.isdigit()
        ]
        lines = text.split("\n")
        number = digits[0] if digits else len(lines)
        found = lines[number - 1].strip() if number <= len(lines) else ""
        rule = "this file is not valid TOML"
        do = "mend the line" + (f": {reason[:1].lower()}{reason[1:]}" if reason else "")
        raise DocumentError(Complaint(rule, f"{path}, line {number}", found[:60], do)) from None
    except ValueError:  # a figure of more digits than Python reads
        rule = "this file is not valid TOML"
        do = "look for a number of thousands of digits"
        raise DocumentError(Complaint(rule, str(path), do=do)) from None
    except RecursionError:
        rule = "this file is not valid TOML"
        raise DocumentError(Complaint(rule, str(path), "brackets nested too deeply")) from None


def _check_plain(origin: Origin) -> None:
    """Refuse text that does something to a terminal, and numbers that no computer counts with."""
    found = []
    for loc, value in _values(origin.data, ()):
        rule = code = do = ""
        if isinstance(value, str):
            one_line = not loc or value == loc[-1] or loc[-1] in ("name", "title")
            odd = (_ODD_IN_A_LINE if one_line else _ODD).search(value)
            rule = "text must not hold control characters" if odd else ""
            code, do = f"the character U+{ord(odd[0]):04X}" if odd else "", "type the text anew"
        elif isinstance(value, int) and not -_MOST_WHOLE <= value <= _MOST_WHOLE:
            rule, do = "a whole number has 18 digits at most", "write what is meant"
        if rule:
            found.append(Complaint(rule, origin.where(loc), code, do))
    if found:
        raise DocumentError(*found)


def _values(value: Any, loc: Loc) -> Iterator[tuple[Loc, Any]]:  # noqa: ANN401 - as in the file
    """Yield every key and every value that holds no others, with its place."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield (*loc, key), key
            yield from _values(inner, (*loc, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _values(inner, (*loc, number))
    else:
        yield loc, value


def _check_kind(data: dict[str, Any], model: type[Sourced], origin: Origin) -> None:
    """Refuse a load case where a frame is due and the other way round."""
    is_case, is_frame = bool({"hold", "road", "combine"} & data.keys()), "rail" in data
    if model is FrameDocument and is_case and not is_frame:
        do = "name a frame file; a load case is given by --case"
        raise DocumentError(Complaint("this is a load case, not a frame", origin.where(), do=do))
    if model is CaseDocument and is_frame and not is_case:
        do = "name a load case file"
        raise DocumentError(Complaint("this is a frame, not a load case", origin.where(), do=do))
