"""Writing files so that a reader finds the old one or the new one, never half of one.

What is being written stands beside its place under a hidden name that ends in ".part", so that
nothing takes it for a result; a process that is killed leaves it, and it can be deleted.
"""

import errno
import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from fea.errors import Complaint, DocumentError


def write_whole(path: Path, write: Callable[[Path], object]) -> None:
    """Call `write` with a temporary name beside `path`, then move the file into place.

    A link is replaced by the file: what it points to stays as it is.

    Raises
    ------
    DocumentError
        If the place is no file, the folder cannot be written to, or the disk is full.
    """
    try:
        if path.exists() and not path.is_symlink() and not path.is_file():
            raise OSError(errno.EINVAL, "this is no file, but a folder or a device")
        path.parent.mkdir(parents=True, exist_ok=True)
        with _beside(path) as draft:
            write(draft)
            _as_usual(draft)
            draft.replace(path)
    except OSError as error:
        raise DocumentError(
            Complaint(
                "the output file could not be written",
                where=str(path),
                found=error.strerror or str(error),
                do="choose another place with --out, --png or --html",
            )
        ) from error


def write_text(path: Path, text: str) -> None:
    """Write text, UTF-8, whole or not at all."""
    write_whole(path, lambda name: name.write_text(text, encoding="utf-8", newline="\n"))


def write_new(path: Path, text: str) -> None:
    """Write text, UTF-8, whole, where nothing is: not even a link is written over.

    Raises
    ------
    FileExistsError
        If there is something of that name, also if it came while this was writing.
    OSError
        If it cannot be written; nothing is left then.
    """
    with _beside(path) as draft:
        draft.write_text(text, encoding="utf-8", newline="\n")
        _as_usual(draft)
        try:
            os.link(draft, path)
        except FileExistsError:
            raise
        except OSError:  # a disk without hard links: the name is taken first
            path.open("x").close()
            draft.replace(path)


@contextmanager
def _beside(path: Path) -> Iterator[Path]:
    """Make an empty file in the folder of `path`, and clear away what is left of it."""
    number, name = tempfile.mkstemp(prefix=".plumbrail-", suffix=".part", dir=path.parent)
    os.close(number)
    draft = Path(name)
    try:
        yield draft
    finally:
        draft.unlink(missing_ok=True)


def _as_usual(file: Path) -> None:
    """Let others read and write a temporary file as they may any new one."""
    umask = os.umask(0)
    os.umask(umask)
    file.chmod(0o666 & ~umask)
