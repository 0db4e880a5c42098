"""The built site in a server process of its own, which a test can kill as a dead network would.

Also the program that runs there: `python site_server.py FOLDER PREFIX [plain]` prints its port and serves until killed.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from types import TracebackType
from typing import Self

ROOT = Path(__file__).resolve().parents[2]


class SiteServer:
    """One folder under one path of one free port. `plain` leaves our headers out, as many a static host does."""

    def __init__(self, folder: Path, prefix: str = "/", *, plain: bool = False, port: int = 0) -> None:
        search = os.pathsep.join([str(ROOT), str(ROOT / "site")])
        self._process = subprocess.Popen(
            [sys.executable, __file__, str(folder), prefix, str(port), *(["plain"] if plain else [])],
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": search},
            text=True,
        )
        assert self._process.stdout
        self.port = int(self._process.stdout.readline())
        self.origin = f"http://127.0.0.1:{self.port}"
        self.url = self.origin + prefix

    def kill(self) -> None:
        """Ends it at once, with every open connection. Does nothing where it has ended already."""
        self._process.kill()
        self._process.wait()
        assert self._process.stdout
        self._process.stdout.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.kill()


def _serve(folder: str, prefix: str, port: str, *plain: str) -> None:
    from offline.server import make_server

    server = make_server(Path(folder), "127.0.0.1", int(port), prefix, plain=bool(plain))
    print(server.server_address[1], flush=True)
    # A browser that leaves a page drops its connections: nothing to report.
    server.handle_error = lambda *_: None
    server.serve_forever()


if __name__ == "__main__":
    _serve(*sys.argv[1:])
