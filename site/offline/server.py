"""A static server for one built folder, with the types and headers that a real host should send too."""

from __future__ import annotations

import http.server
import io
from pathlib import Path
from typing import BinaryIO, ClassVar
from urllib.parse import unquote

from offline.policy import HEADERS

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".mjs": "text/javascript; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".svg": "image/svg+xml",
    ".wasm": "application/wasm",
    ".bin": "application/octet-stream",
    ".woff2": "font/woff2",
}


class Handler(http.server.SimpleHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    # Where the folder hangs: "/" or a sub-path such as "/workshop/".
    prefix = "/"
    headers_sent: ClassVar[dict[str, str]] = HEADERS

    def translate_path(self, path: str) -> str:
        return super().translate_path("/" + path.removeprefix(self.prefix))

    def send_head(self) -> io.BytesIO | BinaryIO | None:
        # Not this site's, so its 404 page doesn't answer either. A null byte, which no file's name may hold, would end in an
        # exception of the file system's.
        if not self.path.startswith(self.prefix) or "\0" in unquote(self.path):
            super().send_error(404)
            return None
        return super().send_head()

    def end_headers(self) -> None:
        for name, value in self.headers_sent.items():
            self.send_header(name, value)
        self.send_header("Cache-Control", "no-cache")
        super().end_headers()

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        page = Path(self.directory) / "404.html"
        if code != 404 or not page.exists():
            super().send_error(code, message, explain)
            return
        # The 404 page's links start at the site's root, so a wrong address deeper inside is redirected to it.
        if "text/html" in self.headers.get("Accept", "") and "/" in self.path.removeprefix(self.prefix):
            self.send_response(302)
            self.send_header("Location", f"{self.prefix}404.html")
            self.send_header("Content-Length", "0")
            self.end_headers()
            return
        body = page.read_bytes()
        self.send_response(404)
        self.send_header("Content-Type", TYPES[".html"])
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        """Silent: the address is all that `serve` has to say."""


def make_server(
    folder: Path, host: str, port: int, prefix: str = "/", *, plain: bool = False
) -> http.server.ThreadingHTTPServer:
    """Port 0 takes any free one; `plain` leaves our headers out. serve_forever(), and shutdown() from another thread."""

    class Bound(Handler):
        def __init__(self, *args: object, **more: object) -> None:
            self.extensions_map = {**http.server.SimpleHTTPRequestHandler.extensions_map, **TYPES}
            super().__init__(*args, directory=str(folder), **more)  # type: ignore[arg-type]

    Bound.prefix = prefix
    if plain:
        Bound.headers_sent = {}
    return http.server.ThreadingHTTPServer((host, port), Bound)
