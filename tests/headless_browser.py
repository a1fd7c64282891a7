"""A headless Chromium for the page's tests, driven over its debugging pipe: no driver program, no network port."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

__all__ = ["CHROMIUM", "Browser"]

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--mute-audio",
    "--remote-debugging-pipe",
    "--autoplay-policy=no-user-gesture-required",
)


class Browser:
    """One Chromium with one page; commands go in by fd 3, answers and events come back by fd 4."""

    def __init__(self) -> None:
        self._profile = tempfile.mkdtemp(prefix="coach-page-")
        to_read, self._write = os.pipe()
        self._read, to_write = os.pipe()
        os.set_inheritable(to_read, True)
        os.set_inheritable(to_write, True)
        # The shell puts the pipe's ends where Chromium looks for them.
        command = f'exec "$0" "$@" 3<&{to_read} 4>&{to_write}'
        self._process = subprocess.Popen(
            ["bash", "-c", command, str(CHROMIUM), *_FLAGS, f"--user-data-dir={self._profile}", "about:blank"],
            pass_fds=(to_read, to_write),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(to_write)
        self._rest = b""
        self._number = 0
        self.messages: list[str] = []
        targets = self._send("Target.getTargets", session=None)["targetInfos"]
        page = next(t for t in targets if t["type"] == "page")["targetId"]
        self._session: str | None = None
        attached = self._send("Target.attachToTarget", {"targetId": page, "flatten": True}, session=None)
        self._session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.send(f"{domain}.enable")

    def close(self) -> None:
        """End this Chromium and throw its profile away."""
        self._process.terminate()
        self._process.wait(timeout=20)
        os.close(self._read)
        os.close(self._write)
        shutil.rmtree(self._profile, ignore_errors=True)

    def send(self, method: str, **params: object) -> dict[str, Any]:
        """One command to the page, and its answer."""
        return self._send(method, params, session=self._session)

    def open(self, path: Path, *, width: int, height: int = 800, scheme: str = "light") -> None:
        """Show a file at a width, and wait until it is loaded."""
        self.send("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        self.send("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
        self.send("Page.navigate", url=path.as_uri())
        self.value("new Promise(done => document.readyState === 'complete' ? done() : addEventListener('load', done))")

    def value(self, expression: str) -> Any:
        """What an expression in the page comes to, promises awaited."""
        answer = self.send("Runtime.evaluate", expression=expression, awaitPromise=True, returnByValue=True)
        if "exceptionDetails" in answer:
            raise AssertionError(answer["exceptionDetails"])
        return answer["result"].get("value")

    def press(self, key: str) -> None:
        """Press and release a key."""
        code = {"Tab": 9, "Enter": 13, "ArrowRight": 39, "Home": 36}[key]
        more = {"text": "\r"} if key == "Enter" else {}
        for kind in ("keyDown", "keyUp"):
            self.send("Input.dispatchKeyEvent", type=kind, key=key, code=key, windowsVirtualKeyCode=code, **more)

    def picture(self, path: Path) -> None:
        """The whole page, from top to bottom."""
        shot = self.send("Page.captureScreenshot", format="png", captureBeyondViewport=True)
        path.write_bytes(base64.b64decode(shot["data"]))

    def _send(self, method: str, params: dict[str, object] | None = None, *, session: str | None) -> dict[str, Any]:
        self._number += 1
        command: dict[str, object] = {"id": self._number, "method": method, "params": params or {}}
        if session:
            command["sessionId"] = session
        os.write(self._write, json.dumps(command).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._number:
                if "error" in answer:
                    raise AssertionError(answer["error"])
                return dict(answer["result"])
            self._note(answer)

    def _note(self, event: dict[str, Any]) -> None:
        """Keep what the page complains of and what it asks the network for."""
        if event.get("method") == "Log.entryAdded":
            self.messages.append(str(event["params"]["entry"]["text"]))
        if event.get("method") == "Runtime.exceptionThrown":
            self.messages.append(str(event["params"]["exceptionDetails"]))
        if event.get("method") == "Network.requestWillBeSent":
            url = str(event["params"]["request"]["url"])
            if not url.startswith(("file:", "data:")):
                self.messages.append(f"asked for {url}")

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._rest:
            piece = os.read(self._read, 1 << 20)
            if not piece:
                raise AssertionError("Chromium ended")
            self._rest += piece
        one, self._rest = self._rest.split(b"\0", 1)
        return dict(json.loads(one))
