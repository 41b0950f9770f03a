"""A frame document with wear added at its end: text in, text or document out."""

import tomllib
from collections.abc import Mapping, Sequence

from pydantic import ValidationError

from fea.document.complain import complain
from fea.document.edit import Value, edited_text
from fea.document.origin import Origin
from fea.document.schema import FrameDocument
from fea.errors import DocumentError


def wear_text(rails: Sequence[str], loss: str, about: str) -> str:
    """Return tables of wear all along some rails, one each, as they stand at a file's end."""
    return "".join(
        f"\n[[wear]]\nabout = {_quoted(about)}\nrail = {_quoted(rail)}\nloss = {_quoted(loss)}\n"
        for rail in rails
    )


def with_wear(document: FrameDocument, rails: Sequence[str], loss: str) -> FrameDocument:
    """Return a document with wear added along some rails; ``wear.N.loss`` changes it.

    Raises
    ------
    DocumentError
        If the whole is refused.
    """
    origin = document.origin
    text = origin.text.rstrip("\n") + "\n" + wear_text(rails, loss, "")
    data = tomllib.loads(text)
    new = Origin(origin.file, text, data)
    try:
        out = FrameDocument.model_validate(data)
    except ValidationError as error:
        found = complain(FrameDocument, error.errors(include_url=False), new)
        raise DocumentError(*found) from None
    out.set_origin(new)
    return out


def fitted_text(
    text: str, edits: Mapping[str, Value], added: str = "", comments: Sequence[str] = ()
) -> str:
    """Return a document's text with comments on top, figures edited and tables at its end."""
    head = "".join(f"# {line}".rstrip() + "\n" for line in comments)
    body = edited_text(text, edits) if edits else text
    return f"{head}{body}".rstrip("\n") + "\n" + added


def _quoted(text: str) -> str:
    """Return a basic TOML string."""
    safe = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c >= " " and c != "\x7f" else " " for c in safe) + '"'
