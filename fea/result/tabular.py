"""Tables as comma-separated values that are safe to open: no cell becomes a formula."""

import csv
import io
import re
from collections.abc import Iterable

_QUANTITY = re.compile(r"[+-]?[0-9.]+(?:[eE][+-]?[0-9]+)?(?: [A-Za-z/0-9]+)*")


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """Return rows as CSV text; None is left empty, text is made plain."""
    out = io.StringIO()
    lines = csv.writer(out, lineterminator="\n")
    lines.writerows([plain(c) if isinstance(c, str) else c for c in row] for row in rows)
    return out.getvalue()


def plain(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula, on one line.

    A name from a document may begin with a sign of a formula: an apostrophe goes in front,
    as a spreadsheet itself writes it.  A figure stays as it is, with its unit or without.

    Examples
    --------
    >>> plain("=1+1"), plain("-2+3"), plain("-2.5 mm")
    ("'=1+1", "'-2+3", '-2.5 mm')
    """
    text = " ".join(text.split())
    if text[:1] in ("=", "+", "-", "@") and _QUANTITY.fullmatch(text) is None and len(text) > 1:
        return f"'{text}"
    return text
