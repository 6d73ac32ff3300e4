"""A headless Chromium driven over a pipe by the Chrome DevTools Protocol, for tests alone."""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

# The protocol's pipe is file descriptors 3 and 4; this becomes the browser with them in place.
WIRE = """
import fcntl, os, sys
ends = [fcntl.fcntl(int(end), fcntl.F_DUPFD, 10) for end in sys.argv[1:3]]
os.dup2(ends[0], 3)
os.dup2(ends[1], 4)
os.execv(sys.argv[3], sys.argv[3:])
"""
PATIENCE = 60.0  # seconds for one command


class Browser:
    """One browser with one tab; `events` are what the browser told since `open`."""

    def __init__(self) -> None:
        self._folder = tempfile.mkdtemp(prefix="qbank-browser-")
        to_browser, self._out = os.pipe()
        self._in, from_browser = os.pipe()

        self._process = subprocess.Popen(
            [
                *(sys.executable, "-c", WIRE, str(to_browser), str(from_browser)),
                str(shutil.which("chromium")),
                *("--headless", "--no-sandbox", "--disable-gpu", "--remote-debugging-pipe"),
                *("--disable-background-networking", "--no-first-run", "--hide-scrollbars"),
                f"--user-data-dir={self._folder}",
                "about:blank",
            ],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            pass_fds=(to_browser, from_browser),
        )
        os.close(to_browser)
        os.close(from_browser)
        self._buffer = b""
        self._last = 0
        self._session: str | None = None
        self.events: list[dict[str, Any]] = []
        try:
            self._attach()
        except BaseException:
            self.close()
            raise

    def _attach(self) -> None:
        targets = self.call("Target.getTargets")["targetInfos"]
        page = next(t["targetId"] for t in targets if t["type"] == "page")
        attached = self.call("Target.attachToTarget", targetId=page, flatten=True)
        self._session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def close(self) -> None:
        """End the browser and remove its folder."""
        try:
            self._session = None
            self.call("Browser.close")
            self._process.wait(20)
        except (OSError, TimeoutError, subprocess.TimeoutExpired):
            self._process.kill()
            self._process.wait()
        os.close(self._out)
        os.close(self._in)
        shutil.rmtree(self._folder, ignore_errors=True)

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """One command and its result. Raises RuntimeError for an error the browser reports."""
        self._last += 1
        message: dict[str, Any] = {"id": self._last, "method": method, "params": params}
        if self._session is not None:
            message["sessionId"] = self._session
        os.write(self._out, json.dumps(message).encode() + b"\0")
        deadline = time.monotonic() + PATIENCE
        while True:
            told = self._next(deadline)
            if told.get("id") == self._last:
                if "error" in told:
                    raise RuntimeError(f"{method}: {told['error']}")
                return told["result"]
            self.events.append(told)

    def _next(self, deadline: float) -> dict[str, Any]:
        while b"\0" not in self._buffer:
            ready, _, _ = select.select([self._in], [], [], max(0.0, deadline - time.monotonic()))
            if not ready:
                raise TimeoutError("the browser says nothing")
            piece = os.read(self._in, 1 << 16)
            if not piece:
                raise TimeoutError("the browser has gone")
            self._buffer += piece
        head, _, self._buffer = self._buffer.partition(b"\0")
        return json.loads(head)

    def resize(self, width: int, height: int, dark: bool = False) -> None:
        """The window in CSS pixels, and which colours its user prefers."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=height, deviceScaleFactor=1, mobile=width < 600,
        )  # fmt: skip
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.call("Emulation.setEmulatedMedia", features=[scheme])

    def open(self, page: Path, after: str = "") -> float:
        """Load a page; the seconds until it is loaded and has been laid out and painted once."""
        self.call("Page.navigate", url="about:blank")
        self.events.clear()
        start = time.monotonic()
        self.call("Page.navigate", url=page.resolve().as_uri() + after)
        self.run(
            "new Promise(done => { const painted = () => requestAnimationFrame(() =>"
            " requestAnimationFrame(() => done(true)));"
            " if (document.readyState === 'complete') painted();"
            " else window.addEventListener('load', painted); })"
        )
        return time.monotonic() - start

    def run(self, script: str) -> Any:
        """The value of a JavaScript expression, awaited."""
        done = self.call(
            "Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True
        )
        if "exceptionDetails" in done:
            raise RuntimeError(json.dumps(done["exceptionDetails"])[:2000])
        return done["result"].get("value")

    def press(self, key: str, code: int, text: str = "") -> None:
        """A key pressed and let go."""
        for kind in ("keyDown", "keyUp"):
            self.call(
                "Input.dispatchKeyEvent",
                type=kind, key=key, code=key, windowsVirtualKeyCode=code,
                **({"text": text} if text and kind == "keyDown" else {}),
            )  # fmt: skip

    def complaints(self) -> list[str]:
        """Errors and warnings the page caused."""
        found = []
        for event in self.events:
            params = event.get("params", {})
            if event["method"] == "Runtime.exceptionThrown":
                found.append(json.dumps(params["exceptionDetails"])[:500])
            if event["method"] == "Runtime.consoleAPICalled" and params["type"] != "log":
                found.append(json.dumps(params["args"])[:500])
            if event["method"] == "Log.entryAdded" and params["entry"]["level"] != "info":
                found.append(params["entry"]["text"])
        return found

    def requests(self) -> list[str]:
        """The addresses the page asked for, itself first."""
        return [
            event["params"]["request"]["url"]
            for event in self.events
            if event["method"] == "Network.requestWillBeSent"
        ]

    def picture(self, path: Path) -> None:
        """What the window shows, as a PNG file."""
        shot = self.call("Page.captureScreenshot", format="png")
        path.write_bytes(base64.b64decode(shot["data"]))

    def pdf(self, path: Path) -> None:
        """The page as it would be printed."""
        printed = self.call("Page.printToPDF", preferCSSPageSize=True, generateTaggedPDF=True)
        path.write_bytes(base64.b64decode(printed["data"]))
