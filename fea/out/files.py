"""Writing files so that a reader finds the old one or the new one, never half of one."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from fea.errors import Complaint, DocumentError


def write_whole(path: Path, write: Callable[[Path], object]) -> None:
    """Call `write` with a temporary name beside `path`, then move the file into place.

    Raises
    ------
    DocumentError
        If the folder cannot be written to, or the disk is full.
    """
    handle: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        number, name = tempfile.mkstemp(prefix=".part-", suffix=path.suffix, dir=path.parent)
        os.close(number)
        handle = Path(name)
        write(handle)
        umask = os.umask(0)
        os.umask(umask)
        handle.chmod(0o666 & ~umask)
        handle.replace(path)
        handle = None
    except OSError as error:
        raise DocumentError(
            Complaint(
                "the output file could not be written",
                where=str(path),
                found=error.strerror or str(error),
                do="choose another place with --out, --png or --html",
            )
        ) from error
    finally:
        if handle is not None:
            handle.unlink(missing_ok=True)


def write_text(path: Path, text: str) -> None:
    """Write text, UTF-8, whole or not at all."""
    write_whole(path, lambda name: name.write_text(text, encoding="utf-8", newline="\n"))
