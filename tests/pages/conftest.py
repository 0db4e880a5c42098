"""The frozen pages, made once."""

from pathlib import Path

import pytest
from html_reader import Page

from pages.frozen import freeze


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of frozen pages."""
    out = tmp_path_factory.mktemp("site")
    freeze(out)
    return out


@pytest.fixture(scope="session")
def pages(site: Path) -> dict[str, Page]:
    """Every frozen page by its path below the folder."""
    return {
        str(path.relative_to(site)): Page(path.read_text(encoding="utf-8")) for path in sorted(site.rglob("*.html"))
    }
