"""The error classes, and the one form in which a complaint is told.

::

    FeaError
    |-- DocumentError       a file, or a key in it, is wrong
    |-- ModelError          the parts of a frame or a case do not fit together
    |-- SolveError          the numbers cannot be had: a mechanism, a lost residual
    `-- MissingExtraError   an optional library or a system library is not installed
"""

from collections.abc import Sequence
from dataclasses import dataclass

MOST_CHARACTERS = 1000
"""Shown of one field of a complaint: a document may hold a megabyte in one word."""


@dataclass(frozen=True)
class Complaint:
    """One thing that is wrong: the rule, where, what was found, what to do.

    Attributes
    ----------
    rule : str
        What must hold, in the user's words and units.
    where : str
        File, line, table and key, or the member, joint or case.
    found : str
        The value as the user wrote it.
    do : str
        What would be right; the choices, when there are few.
    """

    rule: str
    where: str = ""
    found: str = ""
    do: str = ""

    def __str__(self) -> str:
        """Return the complaint as it is printed, one labelled line per field."""
        lines = [_one_line(self.rule)]
        for label, text in (("where", self.where), ("found", self.found), ("do", self.do)):
            if text:
                lines.append(f"  {label + ':':<7}{_one_line(text)}")
        return "\n".join(lines)


def _one_line(text: str) -> str:
    """Return text that may quote a file as one line that does nothing to a terminal."""
    text = text if len(text) <= MOST_CHARACTERS else f"{text[:MOST_CHARACTERS]} ..."
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


class FeaError(Exception):
    """Anything that Plumbrail refuses, told as one or more complaints."""

    def __init__(self, *complaints: Complaint | str) -> None:
        """Keep the complaints; a plain string is a rule without a place."""
        self.complaints: Sequence[Complaint] = tuple(
            c if isinstance(c, Complaint) else Complaint(c) for c in complaints
        )
        super().__init__("\n".join(str(c) for c in self.complaints))


class DocumentError(FeaError):
    """A file cannot be read, or something in it is wrong."""


class ModelError(FeaError):
    """The parts of a frame or a case do not fit together."""


class SolveError(FeaError):
    """The system cannot be solved, or its answer cannot be trusted."""


class MissingExtraError(FeaError):
    """An optional library, or a system library a picture needs, is not there."""
