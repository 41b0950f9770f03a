"""Finding a document: a file of the user's own, or one that is shipped, by its bare name."""

from pathlib import Path

from fea.document.spelling import choices
from fea.errors import Complaint, DocumentError

_PACKAGE = Path(__file__).parents[1]


def shipped_frames() -> dict[str, Path]:
    """Return the shipped frames: name to file, in order of name."""
    return _shipped("models")


def shipped_cases() -> dict[str, Path]:
    """Return the shipped load cases: name to file, in order of name."""
    return _shipped("cases")


def find_frame(name: str | Path) -> Path:
    """Return the file of a frame: one of the user's by path, else a shipped one by name.

    Raises
    ------
    DocumentError
        If there is neither; lists what is shipped and offers the nearest name.
    """
    return _find(name, shipped_frames(), "frame")


def find_case(name: str | Path) -> Path:
    """Return the file of a load case; as `find_frame`."""
    return _find(name, shipped_cases(), "load case")


def _shipped(folder: str) -> dict[str, Path]:
    """Look in the package, where a wheel puts the folder, then beside it in the source."""
    for place in (_PACKAGE / folder, _PACKAGE.parent / folder):
        if place.is_dir():
            return {path.stem: path for path in sorted(place.glob("*.toml"))}
    return {}


def _find(name: str | Path, shipped: dict[str, Path], what: str) -> Path:
    path = Path(name)
    try:
        is_file, exists = path.is_file(), path.exists()
    except OSError:  # a name too long for any file
        is_file = exists = False
    if is_file:
        return path
    if path.name == str(name):
        bare = path.stem if path.suffix == ".toml" else path.name
        if bare in shipped:
            return shipped[bare]
    if exists:  # a folder: the reader says so
        return path
    bare = path.name.removesuffix(".toml")
    rule = f"there is no such {what}: neither a file nor one that is shipped"
    raise DocumentError(Complaint(rule, found=str(name), do=choices(shipped, bare)))
