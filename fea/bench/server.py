"""The bench's server: a page and its requests, for one browser on this computer.

Whatever else runs in that browser must not reach it: the server listens on 127.0.0.1 alone,
answers only to that name (so that no foreign name can be made to point here), takes requests
that do something only from its own page (Origin), and both page and requests need the token in
the address that was printed.
"""

import hmac
import html
import itertools
import json
import re
import secrets
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from fea.bench.record import (
    Edges,
    offered_record,
    paint_record,
    scene_record,
    still_record,
    worst_check,
)
from fea.bench.saving import save, variant_text
from fea.bench.session import Bench, Solved, stiffnesses, told
from fea.bench.shelf import SupersededError
from fea.bench.wanted import Wanted, wanted
from fea.errors import Complaint, DocumentError, FeaError, MissingExtraError
from fea.out.page import embedded

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response

HOST = "127.0.0.1"

MOST_BYTES = 64_000
"""The largest request that is read; a choice is some kB."""

SCRIPTS = (
    ("fea.out", "page_scene.js"),
    ("fea.out", "page_view.js"),
    ("fea.out", "page_ink.js"),
    ("fea.out", "page_body.js"),
    ("fea.out", "page_panels.js"),
    ("fea.bench", "bench_live.js"),
    ("fea.out", "page_main.js"),
    ("fea.bench", "bench_controls.js"),
    ("fea.bench", "bench_figures.js"),
    ("fea.bench", "bench_main.js"),
)
STYLES = (("fea.out", "page.css"), ("fea.bench", "bench.css"))

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self';"
        " img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}


Joints = Literal["sheet", "beam"]

Packet = Callable[[str, Path, str | None, str], str]
"""Makes the packet's page of a document's text, its file's name, the body on it and the joints."""


class Turn:
    """Whose question about sheet metal is the latest: the one before is given up."""

    def __init__(self) -> None:
        self._number = itertools.count()
        self._latest = -1

    def take(self) -> Callable[[], bool]:
        """Return what tells whether the question asked now is still the latest."""
        mine = self._latest = next(self._number)
        return lambda: self._latest == mine


@dataclass(frozen=True, eq=False)
class Desk:
    """What the server serves: the bench, the choice it starts with, where files are saved.

    `port` is the one it listens on; requests that come by another name are refused.  `joints`
    says what the page starts with: sheet metal that follows by itself, or beam rules alone.
    `packet` makes the packet of a variant; without it the page has no button for one.
    """

    bench: Bench
    start: dict[str, Any]
    folder: Path
    port: int
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    edges: Edges = field(default_factory=Edges)
    joints: Joints = "sheet"
    packet: Packet | None = None
    turn: Turn = field(default_factory=Turn)

    @property
    def address(self) -> str:
        """The address of the page, with its token."""
        return f"http://{HOST}:{self.port}/?token={self.token}"

    @property
    def hosts(self) -> tuple[str, str]:
        """The names it answers to."""
        return f"{HOST}:{self.port}", f"localhost:{self.port}"


def page(desk: Desk) -> str:
    """Return the text of the page, the starting variant in it."""
    here = files("fea.bench")
    bench = desk.bench
    choice = wanted(desk.start, bench.controls)
    solved = _solved(desk, choice, desk.joints)
    data = still_record() | scene_record(solved, _case_number(desk, {}), desk.edges)
    cases = [(case.name, case.title) for case in bench.setting.cases]
    data["bench"] = offered_record(bench.controls, cases) | {
        "start": desk.start,
        "source": bench.setting.source,
        "folder": str(desk.folder),
        "body": bench.setting.body,
        "joints": desk.joints,
        "packets": desk.packet is not None,
    }
    parts = {"TITLE": html.escape(f"{data['title']}: bench"), "DATA": embedded(data)}
    template = (here / "bench.html").read_text(encoding="utf-8")
    return re.sub(r"@@([A-Z_]+)@@", lambda found: parts[found[1]], template)


def joined(names: tuple[tuple[str, str], ...], head: str = "") -> str:
    """Return the scripts or styles of the page as one text."""
    return head + "\n".join((files(p) / n).read_text(encoding="utf-8") for p, n in names)


def solve_request(desk: Desk, record: dict[str, Any]) -> dict[str, Any]:
    """Return what can be told of a variant at once, drawn and measured, with the time it took."""
    start = time.perf_counter()
    number = _case_number(desk, record)
    solved = _solved(desk, wanted(record, desk.bench.controls), record.get("joints", desk.joints))
    before = time.perf_counter()
    found = scene_record(solved, number, desk.edges, str(record.get("have", "")), whole=False)
    found["ms"] = {
        "build": 1e3 * solved.build,
        "solve": 1e3 * solved.solve,
        "draw": 1e3 * (time.perf_counter() - before),
        "all": 1e3 * (time.perf_counter() - start),
        "kept": solved.kept,
    }
    return found


def _solved(desk: Desk, choice: Wanted, joints: object) -> Solved:
    return desk.bench.quick(choice) if joints == "beam" else desk.bench.at_once(choice)


def paint_request(desk: Desk, record: dict[str, Any]) -> dict[str, Any]:
    """Return the stress of a variant by sheet metal, which the answer at once leaves out."""
    number = _case_number(desk, record)
    solved = desk.bench.at_once(wanted(record, desk.bench.controls))
    return paint_record(solved, number, desk.edges)


def sheet_request(desk: Desk, record: dict[str, Any]) -> dict[str, Any]:
    """Return a variant's stiffnesses with joints as sheet metal, and by quick joints beside.

    Only the latest question is answered; one before it comes back as given up.
    """
    start = time.perf_counter()
    choice = wanted(record, desk.bench.controls)
    still = desk.turn.take()
    try:
        quick, sure = desk.bench.quick(choice), desk.bench.sheet(choice, still)
    except SupersededError:
        return {"given_up": True}
    return {
        "quick": stiffnesses(quick),
        "sheet": stiffnesses(sure),
        "worst_check": worst_check(sure),
        "seconds": time.perf_counter() - start,
    }


def save_request(desk: Desk, record: dict[str, Any]) -> dict[str, Any]:
    """Save a variant as a new document; return its name and the command that runs it."""
    choice: Wanted = wanted(record.get("choice"), desk.bench.controls)
    path = save(desk.bench, choice, record.get("name"), desk.folder)
    body = f' --body "{desk.bench.setting.body}"' if desk.bench.setting.body else ""
    return {"file": path.name, "command": f"plumbrail run {path.name}{body}"}


def packet_request(desk: Desk, record: dict[str, Any]) -> dict[str, Any]:
    """Return the packet of a variant, a page by itself, and a name for its file."""
    if desk.packet is None:
        raise DocumentError(Complaint("this bench makes no packets"))
    bench = desk.bench
    text = variant_text(bench, wanted(record.get("choice"), bench.controls))
    joints = "beam" if record.get("joints") == "beam" else "sheet"
    source = Path(bench.setting.source)
    found = desk.packet(text, source, bench.setting.body, joints)
    return {"file": f"{source.stem}_packet.html", "page": found}


def _case_number(desk: Desk, record: dict[str, Any]) -> int:
    names = [case.name for case in desk.bench.setting.cases]
    asked = record.get("case") or names[0]
    if asked not in names:
        raise DocumentError(Complaint("there is no such load case", found=str(asked)[:60]))
    return names.index(asked)


Handle = Callable[[Desk, dict[str, Any]], dict[str, Any]]

REQUESTS: dict[str, Handle] = {
    "solve": solve_request,
    "paint": paint_request,
    "sheet": sheet_request,
    "save": save_request,
    "packet": packet_request,
}


def refusal(desk: Desk, method: str, path: str, headers: Any, token: str) -> str:  # noqa: ANN401
    """Return why a request is turned away, "" if it is let in.

    Parameters
    ----------
    headers : mapping of lower-case names to texts
    token : as the address carried it
    """
    if headers.get("host", "") not in desk.hosts:
        return "asked for by a name that is not this server's"
    if method not in ("GET", "HEAD", "POST"):
        return "a kind of request that is not served"
    if headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
        return "asked for by another page"
    acts = method == "POST"
    if acts and headers.get("origin", "") != f"http://{headers['host']}":
        return "asked for by another page"
    if (acts or path == "/") and not hmac.compare_digest(token.encode(), desk.token.encode()):
        return "the address lacks the token that was printed when the bench was started"
    if acts and headers.get("content-type", "").partition(";")[0] != "application/json":
        return "not JSON"
    return ""


def application(desk: Desk) -> "Starlette":
    """Return the server's application.

    Raises
    ------
    MissingExtraError
        If the library is not installed.
    """
    require()
    from starlette.applications import Starlette
    from starlette.concurrency import run_in_threadpool
    from starlette.middleware import Middleware
    from starlette.middleware.base import BaseHTTPMiddleware
    from starlette.responses import JSONResponse, PlainTextResponse, Response
    from starlette.routing import Route

    async def guard(
        request: "Request", go_on: "Callable[[Request], Awaitable[Response]]"
    ) -> "Response":
        token = request.query_params.get("token", "")
        why = refusal(desk, request.method, request.url.path, request.headers, token)
        answer = PlainTextResponse(f"{why}\n", 403) if why else await go_on(request)
        answer.headers.update(HEADERS)
        return answer

    def acting(handle: Handle) -> "Callable[[Request], Awaitable[Response]]":
        async def act(request: "Request") -> Response:
            try:
                record = _read(await _body(request))
                return JSONResponse(await run_in_threadpool(handle, desk, record))
            except FeaError as error:
                return JSONResponse({"problems": told(error)}, 422)

        return act

    async def front(_: "Request") -> Response:
        return Response(await run_in_threadpool(page, desk), media_type="text/html")

    async def script(_: "Request") -> Response:
        return Response(joined(SCRIPTS, '"use strict";\n'), media_type="text/javascript")

    async def style(_: "Request") -> Response:
        return Response(joined(STYLES), media_type="text/css")

    async def icon(_: "Request") -> Response:
        return Response(status_code=204)

    routes = [
        Route("/", front),
        Route("/bench.js", script),
        Route("/bench.css", style),
        Route("/favicon.ico", icon),
        *(Route(f"/{what}", acting(handle), methods=["POST"]) for what, handle in REQUESTS.items()),
    ]
    return Starlette(routes=routes, middleware=[Middleware(BaseHTTPMiddleware, dispatch=guard)])


def require() -> None:
    """Refuse to start without the libraries of the extra `bench`."""
    try:
        import starlette
        import uvicorn
    except ImportError as error:
        raise MissingExtraError(
            Complaint(
                "the bench needs a library that is not installed",
                found=str(error.name),
                do="pip install 'plumbrail[bench]'",
            )
        ) from None
    del starlette, uvicorn


async def _body(request: "Request") -> bytes:
    """Return a request's body, refused as soon as it grows too long."""
    whole = b""
    async for piece in request.stream():
        whole += piece
        if len(whole) > MOST_BYTES:
            raise DocumentError(Complaint("the request is too long"))
    return whole


def _read(body: bytes) -> dict[str, Any]:
    try:
        record = json.loads(body)
    except (ValueError, RecursionError):
        raise DocumentError(Complaint("the request is not JSON")) from None
    if not isinstance(record, dict):
        raise DocumentError(Complaint("the request must be a table"))
    return record
