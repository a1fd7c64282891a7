"""A publisher on this machine: serves files with byte ranges, and can be told to misbehave as servers and lines do."""

from __future__ import annotations

import hashlib
import io
import re
import threading
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from coach.listen.catalogue import Model, RemoteFile

__all__ = ["Publisher", "model", "publisher", "vosk_zip"]


@dataclass
class Publisher:
    """What is served, how badly, and what was asked for."""

    address: str = ""
    files: dict[str, bytes] = field(default_factory=dict)
    ranges: bool = True  # answers Range with 206
    etag: str | None = '"1"'
    stops_after: list[int] = field(default_factory=list)  # bytes of the body, one entry an answer; then the line breaks
    stands_still_at: int = 0  # bytes of the body after which it waits until go is set
    go: threading.Event = field(default_factory=threading.Event)
    says_length: bool = True
    status: list[int] = field(default_factory=list)  # one entry an answer, in place of the file
    sends_on_to: str = ""
    asked: list[tuple[str, str | None, str | None]] = field(default_factory=list)  # path, Range, If-Range

    def put(self, name: str, content: bytes, size: int | None = None) -> RemoteFile:
        """Serve a file; return it as the catalogue would have it."""
        self.files[f"/{name}"] = content
        return RemoteFile(f"{self.address}/{name}", hashlib.sha256(content).hexdigest(), size or len(content))


@contextmanager
def publisher() -> Iterator[Publisher]:
    """A publisher on a free port until the block ends."""
    served = Publisher()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            _answer(self, served)

        def log_message(self, format: str, *args: Any) -> None:
            """Say nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        served.address = f"http://127.0.0.1:{server.server_address[1]}"
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        try:
            yield served
        finally:
            server.shutdown()
            thread.join()


def _answer(handler: BaseHTTPRequestHandler, served: Publisher) -> None:
    wanted, version = handler.headers["Range"], handler.headers["If-Range"]
    served.asked.append((handler.path, wanted, version))
    if served.sends_on_to:
        handler.send_response(302)
        handler.send_header("Location", served.sends_on_to)
        handler.end_headers()
        return
    if served.status:
        handler.send_error(served.status.pop(0))
        return
    content, start = served.files[handler.path], 0
    if served.ranges and wanted and version in (None, served.etag):
        start = int(re.fullmatch(r"bytes=(\d+)-", wanted)[1])  # type: ignore[index]
        if start >= len(content):
            handler.send_error(416)
            return
        handler.send_response(206)
        handler.send_header("Content-Range", f"bytes {start}-{len(content) - 1}/{len(content)}")
    else:
        handler.send_response(200)
    if served.says_length:
        handler.send_header("Content-Length", str(len(content) - start))
    if served.etag:
        handler.send_header("ETag", served.etag)
    handler.end_headers()
    body = content[start:]
    body = body[: served.stops_after.pop(0)] if served.stops_after else body
    if served.stands_still_at:
        handler.wfile.write(body[: served.stands_still_at])
        served.go.wait()
        body = body[served.stands_still_at :]
    with suppress(OSError):  # nobody may be there any more
        handler.wfile.write(body)


def vosk_zip(extra: dict[str, bytes] | None = None, top: str = "vosk-model-x/") -> bytes:
    """A small archive laid out as the Vosk project's are."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(f"{top}README", "a model")
        archive.writestr(f"{top}am/final.mdl", bytes(range(256)) * 400)
        archive.writestr(f"{top}conf/model.conf", "--min-active=200\n")
        for name, content in (extra or {}).items():
            archive.writestr(name, content)
    return buffer.getvalue()


def model(*files: RemoteFile, name: str = "vosk-model-x", unpacked_mb: float | None = 1.0) -> Model:
    """A model of the catalogue with these files."""
    return Model(name, "vosk", "A model", "tests", 1.0, "MIT", "these tests", (), files=files, unpacked_mb=unpacked_mb)
