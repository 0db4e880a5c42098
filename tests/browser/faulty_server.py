"""A server in a process of its own, so that it can be killed, told by a file what to serve and where to answer wrongly."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any, Self

from offline.server import make_server

HTML = b"<!doctype html><title>Log in</title><p>Welcome to the guest network."


class FaultySite:
    """One built folder under one address. `tell` changes the folder and the faults; `kill` and `start` keep the port."""

    def __init__(self, folder: Path, place: Path, prefix: str = "/") -> None:
        place.mkdir(parents=True, exist_ok=True)
        self.prefix = prefix
        self.orders = place / "orders.json"
        self.port = 0
        self.process: subprocess.Popen[str] | None = None
        self.folder = folder
        self.tell()
        self.start()

    def start(self) -> None:
        command = [sys.executable, __file__, str(self.orders), self.prefix, str(self.port)]
        here = Path(__file__).resolve().parents[2]
        environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(here), str(here / "site")])}
        self.process = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout
        self.port = int(self.process.stdout.readline())

    def kill(self) -> None:
        """Ends the process, and with it every open connection."""
        if self.process is None:
            return
        self.process.kill()
        self.process.wait()
        assert self.process.stdout
        self.process.stdout.close()
        self.process = None

    def tell(self, faults: dict[str, str] | None = None, folder: Path | None = None) -> None:
        """`faults`: path inside the folder -> cut, 500, html, truncated, short, flipped, hang, or type:<MIME type>."""
        self.folder = folder or self.folder
        written = self.orders.with_suffix(".new")
        written.write_text(json.dumps({"folder": str(self.folder), "faults": faults or {}}))
        written.replace(self.orders)

    @property
    def url(self) -> str:
        return self.origin + self.prefix

    @property
    def origin(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.kill()


def serve(orders: Path, prefix: str, port: int) -> None:
    server = make_server(Path(), "127.0.0.1", port, prefix)
    kind_of_handler: Any = server.RequestHandlerClass

    class Faulty(kind_of_handler):  # type: ignore[misc]
        def do_GET(self) -> None:
            told = json.loads(orders.read_text())
            self.directory = told["folder"]
            fault = told["faults"].get(self.path.split("?")[0].removeprefix(prefix))
            path = Path(self.translate_path(self.path))
            path = path / "index.html" if path.is_dir() else path
            if fault is None:
                super().do_GET()
            elif fault == "hang":
                threading.Event().wait()
            elif fault == "cut":
                self.close_connection = True
            elif fault == "500":
                self.answer(500, "text/plain", b"out of order")
            elif fault == "html":
                self.answer(200, "text/html", HTML)
            else:
                self.spoil(fault, path.read_bytes(), self.guess_type(str(path)))

        def spoil(self, fault: str, body: bytes, kind: str) -> None:
            if fault == "truncated":
                self.answer(200, kind, body[: len(body) // 2], claimed=len(body))
                self.close_connection = True
            elif fault == "short":
                self.answer(200, kind, body[: len(body) // 2])
            elif fault == "flipped":
                self.answer(200, kind, body[:-1] + bytes([body[-1] ^ 1]))
            else:
                self.answer(200, fault.removeprefix("type:"), body)

        def answer(self, code: int, kind: str, body: bytes, claimed: int | None = None) -> None:
            self.send_response(code)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body) if claimed is None else claimed))
            self.end_headers()
            self.wfile.write(body)

    server.RequestHandlerClass = Faulty
    print(server.server_address[1], flush=True)
    server.serve_forever()


if __name__ == "__main__":
    serve(Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]))
