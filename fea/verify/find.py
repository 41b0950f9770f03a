"""Where the shipped validation cases are."""

from pathlib import Path

from fea.errors import Complaint, DocumentError

_PACKAGE = Path(__file__).parents[1]


def validation_folder() -> Path:
    """Return the folder of the shipped cases: in the package, else beside it in the source.

    Raises
    ------
    DocumentError
        If neither is there.
    """
    for place in (_PACKAGE / "cases", _PACKAGE.parent / "cases"):
        folder = place / "validation"
        if folder.is_dir():
            return folder
    raise DocumentError(
        Complaint(
            "the validation cases are not there",
            where=str(_PACKAGE / "cases" / "validation"),
            do="install the package anew",
        )
    )
