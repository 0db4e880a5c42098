"""The text of a systemd unit, for a small computer that is always on."""

from __future__ import annotations

import getpass
from pathlib import Path

from shop.folder import Folder

# Printed, not installed: whose machine it is decides where it goes and as whom it runs.
_TEXT = """\
# Save this as /etc/systemd/system/tarewell-shop.service, then: sudo systemctl enable --now tarewell-shop
# A computer whose clock has no battery must have the right time first: time-sync.target waits for it where there is a
# network that tells it; without one, set the clock by hand before the server starts.
[Unit]
Description=Tarewell shop server
After=network-online.target time-sync.target
Wants=network-online.target

[Service]
User={user}
WorkingDirectory={root}
ExecStart={python} {root}/build.py shop --data {data} --trust-port {trust_port}
Restart=on-failure
RestartSec=10
# The server ends what it started, in order.
KillMode=mixed
TimeoutStopSec=60
NoNewPrivileges=yes
PrivateTmp=yes
ProtectSystem=full

[Install]
WantedBy=multi-user.target
"""


def text(root: Path, folder: Folder, trust_port: int, python: str) -> str:
    return _TEXT.format(
        user=getpass.getuser(),
        root=_escaped(root),
        data=_escaped(folder.path),
        trust_port=trust_port,
        python=_escaped(Path(python)),
    )


def _escaped(path: Path) -> str:
    r"""A path as one word there: systemd.syntax(7) reads \x20 as a blank, and doubles its own mark.

    >>> _escaped(Path("/home/a b/100%"))
    '/home/a\\x20b/100%%'
    """
    return path.as_posix().replace("\\", "\\x5c").replace(" ", "\\x20").replace("%", "%%")
