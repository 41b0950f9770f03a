"""The tolerances that a document gives with its measured figures, by path."""

from collections.abc import Mapping
from dataclasses import dataclass

from fea import units
from fea.document.edit import value_at
from fea.document.schema import FrameDocument
from fea.errors import Complaint, DocumentError
from fea.study.keys import NumericKey, leaves

_WORDS = frozenset({"title", "about", "notes", "name", "carries"})
"""Keys of text that means no figure, whatever it looks like."""

_KINDS = (
    "thickness", "stiffness", "rotational_stiffness", "stress", "density", "mass", "angle",
)  # fmt: skip


@dataclass(frozen=True)
class Tolerance:
    """One figure and how far it may be off, in base units of its kind.

    `part`: the part it belongs to; empty where it belongs to the frame as a whole.
    """

    path: str
    kind: str
    mean: float
    half: float
    part: str = ""

    @property
    def key(self) -> NumericKey:
        """The same as a figure to be varied."""
        return NumericKey(self.path, "size", self.kind, self.mean)


def tolerances(document: FrameDocument, given: Mapping[str, str] | None = None) -> list[Tolerance]:
    """Return every figure of a document that carries a tolerance.

    Parameters
    ----------
    given : path -> tolerance as text ("0.2 mm", or "5 %" of the figure), in the place of what
        the document says

    Raises
    ------
    DocumentError
        If a path names nothing, or a tolerance is not one of its figure.
    """
    found = {}
    for words, value in leaves(document.origin.data):
        if isinstance(value, str) and words[-1] not in _WORDS and not _WORDS & {*words[-2:]}:
            for kind in _KINDS:
                read = _read(value, kind)
                if read is not None and read[1] > 0.0:
                    path = ".".join(words)
                    found[path] = Tolerance(path, kind, *read, part=_part(words))
                    break
    for path, text in (given or {}).items():
        found[path] = _given(document, path, text)
    return list(found.values())


def _part(words: tuple[str, ...]) -> str:
    return words[1] if words[0] == "part" and len(words) > 1 else ""


def _read(text: str, kind: str) -> tuple[float, float] | None:
    try:
        return units.parse_spread(text, kind)
    except DocumentError:
        return None


def _given(document: FrameDocument, path: str, text: str) -> Tolerance:
    written = value_at(document, path)
    for kind in _KINDS if isinstance(written, str) else ():
        read = _read(str(written), kind)
        if read is None:
            continue
        share = text.strip().removesuffix("%")
        try:
            percent = share != text.strip()
            half = abs(read[0]) * float(share) / 100.0 if percent else units.parse(text, kind)
        except (ValueError, DocumentError):
            half = -1.0
        if half > 0.0:
            return Tolerance(path, kind, read[0], half, _part(tuple(path.split("."))))
    raise DocumentError(
        Complaint(
            "a tolerance is a positive amount of what it belongs to",
            f'--tolerance "{path}={text}"',
            f"the figure is {written}",
            'such as --tolerance "rail.wall=0.2 mm" or "mount.M2.vertical=10 %"',
        )
    )
