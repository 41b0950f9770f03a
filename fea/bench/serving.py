"""Starting the bench: a free port on this computer, and the server on it until it is stopped."""

import contextlib
import gc
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fea.bench.server import HOST, Desk, Joints, Packet, application, require
from fea.bench.session import Bench
from fea.errors import Complaint, DocumentError


def listen(port: int) -> socket.socket:
    """Return a socket that listens on this computer only; port 0 takes a free one.

    Raises
    ------
    DocumentError
        If the port is taken or not allowed.
    """
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((HOST, port))
        made.listen()  # at once: who is told the address may ask before the server is ready
    except OSError as error:
        made.close()
        raise DocumentError(
            Complaint(
                "the port cannot be had",
                "--port",
                f"{port}: {error.strerror}",
                "another one, or leave --port out for a free one",
            )
        ) from None
    return made


def serve(
    bench: Bench,
    start: dict[str, Any],
    folder: Path,
    port: int,
    ready: Callable[[str], None],
    *,
    joints: Joints = "sheet",
    packet: Packet | None = None,
) -> None:
    """Serve the bench until it is interrupted.

    Parameters
    ----------
    ready : is told the address of the page
    joints, packet : see :class:`fea.bench.server.Desk`
    """
    require()
    import uvicorn

    with listen(port) as made:
        port = int(made.getsockname()[1])
        desk = Desk(bench, start, folder, port, joints=joints, packet=packet)
        config = uvicorn.Config(
            application(desk),
            log_level="error",
            access_log=False,
            lifespan="off",
            server_header=False,
            timeout_graceful_shutdown=2,
        )
        # What the document and the libraries are made of stays: not to be gone through again
        # each time that memory is tidied, which a slider would feel.
        gc.collect()
        gc.freeze()
        ready(desk.address)
        with contextlib.suppress(KeyboardInterrupt):  # Ctrl+C is how one stops it
            uvicorn.Server(config).run(sockets=[made])
