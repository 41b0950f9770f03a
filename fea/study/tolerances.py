"""The tolerances that a document gives with its measured figures, by path."""

from collections.abc import Mapping
from dataclasses import dataclass

from fea import units
from fea.document.edit import edited, value_at
from fea.document.schema import FrameDocument
from fea.errors import Complaint, DocumentError
from fea.study.keys import NumericKey, as_text, leaves

_WORDS = frozenset({"title", "about", "notes", "name", "carries"})
"""Keys of text that means no figure, whatever it looks like."""

_KINDS = (
    "thickness", "stiffness", "rotational_stiffness", "stress", "density", "mass", "angle", "share",
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

    Wear that is kept for later (``applied = false``) does not count.

    Parameters
    ----------
    given : path -> tolerance as text ("0.2 mm", or "5 %" of the figure), in the place of what
        the document says; of a loss in per cent, more per cent: 4 of "12 % +- 4 %"

    Raises
    ------
    DocumentError
        If a path names nothing, or a tolerance is not one of its figure.
    """
    found = {}
    for words, value in leaves(document.origin.data):
        if words[0] == "wear" and not document.wear[int(words[1]) - 1].applied:
            continue
        if isinstance(value, str) and words[-1] not in _WORDS and not _WORDS & {*words[-2:]}:
            read = spread_in(value)
            if read is not None and read[2] > 0.0:
                path = ".".join(words)
                found[path] = Tolerance(path, *read, part=_part(words))
    for path, text in (given or {}).items():
        found[path] = _given(document, path, text)
    return list(found.values())


def spread_in(text: str) -> tuple[str, float, float] | None:
    """Return kind, mean and half width of a figure in a text, base units; None if it is none."""
    for kind in _KINDS:
        read = _read(text, kind)
        if read is not None:
            return kind, *read
    return None


def _part(words: tuple[str, ...]) -> str:
    return words[1] if words[0] == "part" and len(words) > 1 else ""


def _read(text: str, kind: str) -> tuple[float, float] | None:
    try:
        return units.parse_spread(text, kind)
    except DocumentError:
        return None


def _given(document: FrameDocument, path: str, text: str) -> Tolerance:
    written = value_at(document, path)
    read = spread_in(written) if isinstance(written, str) else None
    if read is not None:
        kind, mean, _ = read
        share = text.strip().removesuffix("%")
        try:
            of_figure = share != text.strip() and kind != "share"
            half = abs(mean) * float(share) / 100.0 if of_figure else units.parse(text, kind)
        except (ValueError, DocumentError):
            half = -1.0
        if half > 0.0:
            # All within it must be possible: as if the document gave it.
            edited(document, {path: f"{as_text(mean, kind)} +- {as_text(half, kind)}"})
            return Tolerance(path, kind, mean, half, _part(tuple(path.split("."))))
    raise DocumentError(
        Complaint(
            "a tolerance is a positive amount of what it belongs to",
            f'--tolerance "{path}={text}"',
            f"the figure is {written}",
            'such as --tolerance "rail.wall=0.2 mm" or "mount.M2.vertical=10 %"',
        )
    )
