"""A shop server that runs, started in an empty folder."""

from pathlib import Path

import pytest
from running_shop import Running


@pytest.fixture(scope="session")
def small_site(tmp_path_factory) -> Path:
    """Of each kind of file one."""
    folder = tmp_path_factory.mktemp("site")
    (folder / "workshop").mkdir()
    (folder / "workshop" / "index.html").write_text("workshop")
    files = {"index.html": "first page", "404.html": "not found", "page.mjs": "1", "app.webmanifest": "{}", "_headers": "/*"}
    for name, text in files.items():
        (folder / name).write_text(text)
    return folder


@pytest.fixture(scope="module")
def server(tmp_path_factory, small_site):
    """Started in an empty folder; ended behind the tests, however they went."""
    running = Running(tmp_path_factory.mktemp("shop"), small_site).start()
    yield running
    if running.process.poll() is None:
        running.end()
