"""Freezes the pages to a folder of plain files."""

import warnings
from pathlib import Path

from flask_frozen import Freezer  # type: ignore[import-untyped]  # the library has no types

from pages.app import create_app


def freeze(out: Path) -> None:
    """Writes every page and static file below `out`, replacing what is there.

    Links are relative, so the folder works under any address. Raises on any warning: a page that is missing, moved or
    of the wrong type must not be shipped.
    """
    app = create_app()
    app.config.update(
        FREEZER_DESTINATION=str(out.resolve()), FREEZER_REMOVE_EXTRA_FILES=True, FREEZER_IGNORE_MIMETYPE_WARNINGS=False
    )
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        Freezer(app).freeze()
