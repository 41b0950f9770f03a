"""The bench's server: who is let in, what it answers, and that names stay names."""

import asyncio
import json
import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from running import ROOT, Run
from study_frames import setting

from fea import units
from fea.bench.server import HOST, MOST_BYTES, Desk, packet_request, page, refusal, require
from fea.bench.serving import listen
from fea.bench.session import Bench
from fea.bench.wanted import wanted
from fea.cli.packet_command import page_of
from fea.document.edit import edited
from fea.errors import DocumentError, MissingExtraError

PORT = 4711
GOOD = {
    "host": f"{HOST}:{PORT}",
    "origin": f"http://{HOST}:{PORT}",
    "content-type": "application/json",
    "sec-fetch-site": "same-origin",
}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    folder = tmp_path_factory.mktemp("bench")
    return Desk(Bench(setting("ladder_tubes")), {}, folder, PORT, "word")


def ask(
    desk: Desk, method: str, target: str, body: bytes = b"", headers: dict[str, str] | None = None
) -> tuple[int, dict[str, str], bytes]:
    """Send one request to the application, without a network."""
    pytest.importorskip("starlette")
    pytest.importorskip("uvicorn")
    from fea.bench.server import application

    path, _, query = target.partition("?")
    sent: list[dict[str, Any]] = []
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
        "path": path, "raw_path": path.encode(), "root_path": "", "scheme": "http",
        "query_string": query.encode(), "server": (HOST, PORT), "client": (HOST, 5),
        "headers": [(k.encode(), v.encode()) for k, v in (headers or GOOD).items()],
    }  # fmt: skip

    async def run() -> None:
        pieces = [{"type": "http.request", "body": body, "more_body": False}]

        async def receive() -> dict[str, Any]:
            return pieces.pop() if pieces else await asyncio.Event().wait()  # type: ignore[return-value]

        async def send(message: Any) -> None:
            sent.append(dict(message))

        await application(desk)(scope, receive, send)

    asyncio.run(run())
    found = {k.decode(): v.decode() for k, v in sent[0]["headers"]}
    return sent[0]["status"], found, b"".join(m.get("body", b"") for m in sent[1:])


@pytest.mark.parametrize(
    "bad",
    [
        {"host": "evil.example:4711"},  # a foreign name made to point here
        {"host": f"{HOST}:80"},
        {"host": ""},
        {"origin": "http://evil.example"},
        {"origin": ""},
        {"origin": "null"},
        {"origin": f"https://{HOST}:{PORT}"},
        {"sec-fetch-site": "cross-site"},
        {"content-type": "text/plain"},
        {"content-type": ""},
    ],
)
def test_a_request_from_elsewhere_is_turned_away(bad: dict[str, str], desk: Desk) -> None:
    assert refusal(desk, "POST", "/save", GOOD, "word") == ""
    assert refusal(desk, "POST", "/save", GOOD | bad, "word")
    status, _, body = ask(desk, "POST", "/save?token=word", b"{}", GOOD | bad)
    assert status == 403
    assert b"problems" not in body


@pytest.mark.parametrize("token", ["", "wor", "words", "wörd"])
def test_the_token_is_needed(token: str, desk: Desk) -> None:
    for method, path in (("POST", "/solve"), ("POST", "/save"), ("GET", "/"), ("HEAD", "/")):
        assert "token" in refusal(desk, method, path, GOOD, token)


def test_other_kinds_of_request_are_turned_away(desk: Desk) -> None:
    for method in ("PUT", "DELETE", "OPTIONS", "PATCH"):
        assert refusal(desk, method, "/save", GOOD, "word")


def test_page_script_and_style_come_with_their_policy(desk: Desk) -> None:
    for target, start in (
        ("/?token=word", b"<!DOCTYPE html>"),
        ("/bench.js", b'"use strict"'),
        ("/bench.css", b":root"),
    ):
        status, headers, body = ask(desk, "GET", target)
        assert (status, body[: len(start)]) == (200, start)
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["cache-control"] == "no-store"
        assert b"http://" not in body.replace(b"http://www.w3.org/2000/svg", b"")
        assert b"https://" not in body
    assert ask(desk, "GET", "/other")[0] == 404
    assert ask(desk, "GET", "/../../etc/passwd")[0] == 404


def test_a_solved_variant(desk: Desk) -> None:
    status, _, body = ask(desk, "POST", "/solve?token=word", b'{"case": "bending"}')
    found = json.loads(body)
    assert status == 200
    assert found["case"] == "bending"
    twist = (
        desk.bench.quick(wanted({}, desk.bench.controls))
        .answers[0]
        .measures["twist_stiffness_nm_per_deg"]
    )
    assert found["figures"][0]["value"] == twist
    assert found["ms"]["all"] >= found["ms"]["draw"] > 0.0


@pytest.mark.parametrize(
    "body",
    [b"", b"[]", b"nonsense", b"[" * 20_000, b'{"case": "none"}', b'{"values": {"title": "x"}}',
     b'{"have": 3, "case": 7}', b'{"x": "' + b"y" * MOST_BYTES + b'"}'],
)  # fmt: skip
def test_a_bad_request_is_told(body: bytes, desk: Desk) -> None:
    status, _, answer = ask(desk, "POST", "/solve?token=word", body)
    assert status == 422
    assert json.loads(answer)["problems"]


def test_saving_by_request(desk: Desk) -> None:
    record = {"name": "one", "choice": {}}
    status, _, body = ask(desk, "POST", "/save?token=word", json.dumps(record).encode())
    assert status == 200
    assert json.loads(body)["command"] == "plumbrail run one.toml"
    assert [p.name for p in desk.folder.iterdir()] == ["one.toml"]
    status, _, body = ask(desk, "POST", "/save?token=word", json.dumps(record).encode())
    assert status == 422
    record["name"] = "../two"
    assert ask(desk, "POST", "/save?token=word", json.dumps(record).encode())[0] == 422
    assert not (desk.folder.parent / "two.toml").exists()


def test_a_packet_of_what_is_shown(desk: Desk) -> None:
    asked = json.dumps({"choice": {}, "joints": "beam"}).encode()
    status, _, _ = ask(desk, "POST", "/packet?token=word", asked)
    assert status == 422  # nobody lent this bench what makes one
    found = packet_request(replace(desk, packet=page_of), {"choice": {}, "joints": "beam"})
    assert found["file"] == "ladder_tubes_packet.html"
    assert found["page"].startswith("<!DOCTYPE html>")
    answer = desk.bench.quick(wanted({}, desk.bench.controls)).answers[0]
    assert answer.twist_stiffness is not None
    twist = units.show(answer.twist_stiffness, "rotational_stiffness", "si")
    assert twist in found["page"].replace("\u00a0", " ")
    assert 'id="cuts"' in found["page"]


def test_evil_names_end_no_element(desk: Desk) -> None:
    from dataclasses import replace

    evil = "</script><script>alert(1)</script>"
    own = desk.bench.setting
    bench = Bench(replace(own, document=edited(own.document, {"title": evil})))
    text = page(Desk(bench, {}, Path(), PORT))
    assert evil not in text
    assert text.count("<script") == 2


def test_only_this_computer_is_listened_to() -> None:
    with listen(0) as made:
        host, port = made.getsockname()
        assert host == "127.0.0.1"
        made.listen()
        with pytest.raises(DocumentError, match="port"):
            listen(port)


def test_a_token_of_its_own_each_time(desk: Desk) -> None:
    one, other = (Desk(desk.bench, {}, Path(), PORT) for _ in range(2))
    assert one.token != other.token
    assert len(one.token) >= 32
    assert one.address == f"http://127.0.0.1:{PORT}/?token={one.token}"


@pytest.mark.parametrize("name", ["starlette", "uvicorn"])
def test_without_the_extra_it_says_what_to_install(
    name: str, monkeypatch: pytest.MonkeyPatch, plumbrail: Run
) -> None:
    monkeypatch.setitem(sys.modules, name, None)
    with pytest.raises(MissingExtraError, match=r"plumbrail\[bench\]"):
        require()
    ran = plumbrail("bench", "ladder_tubes")
    assert ran.code == 1
    assert "pip install 'plumbrail[bench]'" in ran.err
    assert "Traceback" not in ran.err


def test_bad_options_are_told(plumbrail: Run) -> None:
    pytest.importorskip("starlette")
    for words, told in (
        (("no_such_frame",), "no such frame"),
        (("ladder_tubes", "--with", "wings"), "wings"),
        (("orchard_pickup", "--body", "boat"), "boat"),
        (("ladder_tubes", "--case", "flying"), "flying"),
    ):
        ran = plumbrail("bench", *words)
        assert ran.code == 2
        assert told in ran.err


def test_it_prints_its_address_and_ends_quietly(tmp_path: Path) -> None:
    pytest.importorskip("starlette")
    pytest.importorskip("uvicorn")
    code = "from fea.cli.app import main; main()"
    with subprocess.Popen(
        [sys.executable, "-c", code, "bench", "ladder_tubes"], cwd=tmp_path,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8",
        env=os.environ | {"PYTHONUNBUFFERED": "1", "PYTHONPATH": str(ROOT)},
    ) as running:  # fmt: skip
        try:
            assert running.stdout is not None
            lines = [next(running.stdout).strip() for _ in range(5)]
            with urllib.request.urlopen(lines[1], timeout=20) as answer:
                assert b"bench.js" in answer.read()
            with pytest.raises(urllib.error.HTTPError, match="403") as error:
                urllib.request.urlopen(lines[1].split("?")[0], timeout=20)
            error.value.close()
            running.send_signal(signal.SIGINT)
            _, told = running.communicate(timeout=20)
        finally:
            running.kill()
    assert lines[1].startswith("http://127.0.0.1:")
    assert "certification" in lines[4]
    assert (running.returncode, told) == (0, "")
    assert not list(tmp_path.iterdir())
