"""Where crossmembers can be bolted: in which of their positions, and which way round."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from fea.document.spelling import choices
from fea.errors import Complaint, ModelError

if TYPE_CHECKING:
    from fea.document.schema import CrossmemberEntry, FrameDocument


def crossmember_entries(document: "FrameDocument") -> "Mapping[str, CrossmemberEntry]":
    """Return the crossmembers of a document by name, stock ones and those of parts."""
    entries = [*document.crossmember, *(e for part in document.part for e in part.crossmember)]
    return {entry.name: entry for entry in entries}


def reversible(document: "FrameDocument") -> tuple[str, ...]:
    """Return the names of the crossmembers that can be bolted in turned round."""
    return tuple(n for n, entry in crossmember_entries(document).items() if entry.reversible)


def mount_station(entry: "CrossmemberEntry", station: float, *, turned: bool) -> float:
    """Return the station, mm, of what a crossmember carries; its reach turns with it."""
    return station - entry.reach if turned else station + entry.reach


def turned_names(document: "FrameDocument", source: str, turned: Iterable[str]) -> frozenset[str]:
    """Return the crossmembers to be turned round.

    Raises
    ------
    ModelError
        If one of them is not there, or can be bolted in one way only.
    """
    allowed = reversible(document)
    names = frozenset(turned)
    complaints = [
        Complaint(
            f'there is no crossmember "{name}" that can be turned round',
            source,
            do=choices(allowed, name) or "no crossmember of this frame is reversible",
        )
        for name in sorted(names - set(allowed))
    ]
    if complaints:
        raise ModelError(*complaints)
    return names
