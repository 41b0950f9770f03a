"""A headless chromium, driven over its own pipe: pages with a server need a live browser."""

import json
import os
import subprocess
import time
from base64 import b64decode
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FLAGS = (
    "--headless", "--no-sandbox", "--enable-unsafe-swiftshader", "--use-gl=angle",
    "--use-angle=swiftshader", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--remote-debugging-pipe",
    "--disable-gpu-watchdog",  # it takes a busy machine for a hung one
)  # fmt: skip


class Page:
    """One tab; `said` are the errors that it wrote to its console or threw."""

    def __init__(self, to: int, came: int) -> None:
        self._to, self._came, self._left, self._number = to, came, b"", 0
        self.said: list[str] = []
        self._session: str | None = None
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        found = self.call("Target.attachToTarget", targetId=target, flatten=True)
        self._session = found["sessionId"]
        for name in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{name}.enable")

    def call(self, method: str, **given: Any) -> dict[str, Any]:
        """Call a method of the browser and return its result."""
        self._number += 1
        record = {"id": self._number, "method": method, "params": given}
        if self._session:
            record["sessionId"] = self._session
        os.write(self._to, json.dumps(record).encode() + b"\0")
        while True:
            found = self._next()
            if found.get("id") == self._number:
                assert "error" not in found, found["error"]
                return dict(found["result"])

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._left:
            piece = os.read(self._came, 1 << 20)
            assert piece, "the browser has gone"
            self._left += piece
        raw, self._left = self._left.split(b"\0", 1)
        found: dict[str, Any] = json.loads(raw)
        told = found.get("params", {})
        kind = found.get("method")
        if kind == "Runtime.exceptionThrown":
            self.said.append(str(told["exceptionDetails"]))
        elif kind == "Runtime.consoleAPICalled" and told["type"] in ("error", "warning"):
            self.said.append(str(told["args"]))
        elif kind == "Log.entryAdded" and told["entry"]["level"] == "error":
            self.said.append(f"{told['entry']['text']} {told['entry'].get('url', '')}")
        return found

    def size(self, wide: int, high: int) -> None:
        """Set the size of the window, CSS pixels."""
        self.call("Emulation.setDeviceMetricsOverride", width=wide, height=high,
                  deviceScaleFactor=1, mobile=False)  # fmt: skip

    def open(self, address: str) -> None:
        """Go to an address and wait until the page is whole."""
        self.call("Page.navigate", url=address)
        self.wait("location.href !== 'about:blank' && document.readyState === 'complete'")

    def ask(self, expression: str) -> Any:
        """Return the value of an expression in the page; a promise is waited for."""
        found = self.call("Runtime.evaluate", expression=expression, returnByValue=True,
                          awaitPromise=True, userGesture=True)  # fmt: skip
        assert "exceptionDetails" not in found, found["exceptionDetails"]
        return found["result"].get("value")

    def wait(self, expression: str, seconds: float = 30.0) -> None:
        """Wait until an expression holds."""
        end = time.monotonic() + seconds
        while not self.ask(expression):
            assert time.monotonic() < end, f"in vain: {expression}\n{self.said}"
            time.sleep(0.02)

    def key(self, name: str, text: str = "", code: int = 0) -> None:
        """Press and let go a key, as a hand does."""
        more: dict[str, Any] = {"key": name, "windowsVirtualKeyCode": code}
        down = "keyDown" if text else "rawKeyDown"
        self.call("Input.dispatchKeyEvent", type=down, **more, **({"text": text} if text else {}))
        self.call("Input.dispatchKeyEvent", type="keyUp", **more)

    def write(self, text: str) -> None:
        """Write a text where the cursor stands."""
        self.call("Input.insertText", text=text)

    def move(self, x: float, y: float) -> None:
        """Move the mouse."""
        self.call("Input.dispatchMouseEvent", type="mouseMoved", x=x, y=y)

    def picture(self, path: Path, *, whole: bool = False) -> None:
        """Write what is seen as PNG, or the page in full length."""
        found = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        path.write_bytes(b64decode(found["data"]))


@contextmanager
def browser(binary: str, folder: Path) -> Iterator[Page]:
    """Run a browser with a profile in a folder, and end it."""
    there, to = os.pipe()
    came, back = os.pipe()

    def take() -> None:  # the browser reads from 3 and writes to 4; both kept clear of those first
        high_in, high_out = os.dup(there), os.dup(back)
        while high_in < 5 or high_out < 5:
            high_in, high_out = os.dup(high_in), os.dup(high_out)
        os.dup2(high_in, 3)
        os.dup2(high_out, 4)

    running = subprocess.Popen(
        [binary, *FLAGS, f"--user-data-dir={folder}"],
        preexec_fn=take, close_fds=False,
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(there)
    os.close(back)
    try:
        yield Page(to, came)
    finally:
        os.close(to)  # the browser ends with its pipe
        try:
            running.wait(10)
        except subprocess.TimeoutExpired:
            running.kill()
            running.wait()
        os.close(came)
