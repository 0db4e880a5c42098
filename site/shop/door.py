"""The door's configuration: HTTPS at the shop's one name, the app's files, and the way to the engine. Caddy reads it.

Of what listens on this computer, only the door is reached from outside.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path

from offline.policy import HEADERS
from offline.server import TYPES
from shop.authority import INTERMEDIATE, KEY, ROOT
from shop.engine import HOST
from shop.files import replace_file
from shop.folder import Folder, Shop

CONFIG = "Caddyfile"
# The page's own policy can't be kept here: it has no script at all, and it is read before anything is trusted.
TRUST_POLICY = "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


def write(folder: Folder, shop: Shop, site: Path, websocket_port: int, trust_port: int) -> Path:
    """Writes what it is told, and what it serves besides the app; gives the file to start it with."""
    folder.door.mkdir(exist_ok=True)
    told = {"shop": shop.id, "name": shop.name}
    served = folder.door / "served"
    served.mkdir(exist_ok=True)
    replace_file(served / "shop.json", json.dumps(told).encode(), 0o644)
    file = folder.door / CONFIG
    replace_file(file, caddyfile(folder, shop, site, websocket_port, trust_port).encode())
    return file


def caddyfile(folder: Folder, shop: Shop, site: Path, websocket_port: int, trust_port: int) -> str:
    ca = folder.authority
    lines = [
        "{",
        " admin off",
        " persist_config off",
        " skip_install_trust",
        # Port 80 is nobody's business here.
        " auto_https disable_redirects",
        f" storage file_system {_quoted(folder.door / 'storage')}",
        " log {",
        f"  output file {_quoted(folder.door / 'door.log')} {{",
        "   roll_size 4MiB",
        "   roll_keep 1",
        "  }",
        "  level WARN",
        " }",
        " servers {",
        # No QUIC: one port, one protocol less to be reached by.
        "  protocols h1 h2",
        "  max_header_size 16KB",
        "  timeouts {",
        "   read_header 10s",
        "   read_body 30s",
        "   idle 2m",
        "  }",
        " }",
        " pki {",
        "  ca local {",
        # The root's certificate alone: its key is gone.
        "   root {",
        f"    cert {_quoted(ca / ROOT)}",
        "   }",
        "   intermediate {",
        f"    cert {_quoted(ca / INTERMEDIATE)}",
        f"    key {_quoted(ca / KEY)}",
        "   }",
        "  }",
        " }",
        "}",
        f"https://{shop.name}:{shop.port} {{",
        " tls {",
        "  issuer internal {",
        "   lifetime 2160h",
        "  }",
        " }",
        *_headers(HEADERS.items()),
        # Exactly this one: below it the engine has doors for other servers and other protocols.
        " handle /sync {",
        "  rewrite * /",
        f"  reverse_proxy {HOST}:{websocket_port}",
        " }",
        " handle /shop.json {",
        '  header Cache-Control "no-store"',
        "  header Content-Type application/json",
        f"  root * {_quoted(folder.door / 'served')}",
        "  file_server",
        " }",
        " handle {",
        '  header Cache-Control "no-cache"',
        "  encode gzip",
        *_types(),
        f"  root * {_quoted(site)}",
        "  file_server {",
        "   hide _headers",
        "  }",
        " }",
        " handle_errors 404 {",
        '  header Cache-Control "no-cache"',
        "  @deep {",
        "   header Accept *text/html*",
        "   path_regexp ^/.+/",
        "  }",
        # The page's links start at the site's root.
        "  redir @deep /404.html 302",
        "  rewrite * /404.html",
        f"  root * {_quoted(site)}",
        "  file_server",
        " }",
        "}",
        f"http://:{trust_port} {{",
        *_headers([("Content-Security-Policy", TRUST_POLICY), ("X-Content-Type-Options", "nosniff")]),
        ' header Cache-Control "no-store"',
        f" root * {_quoted(folder.trust)}",
        " @certificate path *.crt",
        # By this type a phone offers to install it.
        " header @certificate Content-Type application/x-x509-ca-cert",
        " file_server",
        "}",
    ]
    return "\n".join(lines) + "\n"


def _headers(headers: Iterable[tuple[str, str]]) -> Iterator[str]:
    yield from (f" header {name} {_quoted(value)}" for name, value in headers)


def _types() -> Iterator[str]:
    """By their endings, as `serve` has them: what a machine's own tables say differs."""
    for ending, kind in TYPES.items():
        name = f"@type{ending.replace('.', '_')}"
        paths = f"*{ending} / */" if ending == ".html" else f"*{ending}"
        yield f"  {name} path {paths}"
        yield f"  header {name} Content-Type {_quoted(kind)}"


def _quoted(value: str | Path) -> str:
    """A word of its own, whatever is in it. Backquotes take everything as it stands, and no path or policy holds one."""
    text = value.as_posix() if isinstance(value, Path) else value
    if "`" in text or "\n" in text:
        raise ValueError(f"{text!r} can't stand in the door's configuration")
    return f"`{text}`"
