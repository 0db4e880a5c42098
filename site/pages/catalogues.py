"""Message catalogues with Babel: the messages of code, templates and tables gathered into shared/language, and compiled.

A catalogue is edited by people (any program for PO files will do); `python3 build.py words` brings it up to date with
the code. What stands in the code but in no catalogue stays English on the screen, and a test fails.
"""

import csv
import os
from collections.abc import Iterator
from io import BytesIO, StringIO
from pathlib import Path
from typing import IO, Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from calc.language import CATALOGUES, LANGUAGES

ROOT = Path(__file__).resolve().parents[2]
KEYWORDS = {"tr": None, "ntr": (1, 2), "_": None, "gettext": None, "ngettext": (1, 2)}
# Where messages are looked for, and by which of Babel's methods.
METHODS = [
    ("calc/**.py", "python"),
    ("site/**.py", "python"),
    ("site/**/templates/**.html", "jinja2.ext:babel_extract"),
    ("shared/reference/oils.csv", "pages.catalogues:names"),
]
OPTIONS = {"site/**/templates/**.html": {"trimmed": "true", "silent": "false"}}


def names(fileobj: IO[bytes], keywords: Any, comment_tags: Any, options: Any) -> Iterator[tuple[int, str, str, list[str]]]:
    """The common names in a table of shared/reference, as Babel's extraction wants them."""
    rows = csv.DictReader(StringIO(fileobj.read().decode("utf-8")))
    for number, row in enumerate(rows, 2):
        yield number, "", row["common_name"], []


def messages() -> Catalog:
    """Every message of the code, without translations."""
    found = Catalog(charset="utf-8")
    for path, _line, message, comments, context in extract_from_dir(
        ROOT, METHODS, OPTIONS, KEYWORDS, directory_filter=lambda folder: Path(folder).name not in (".env", ".build", ".tools")
    ):
        found.add(message, None, [(path, 0)], auto_comments=comments, context=context)
    return found


def catalogue(language: str) -> Catalog:
    """A language's catalogue as it stands in shared/language."""
    with (CATALOGUES / f"{language}.po").open("rb") as file:
        return read_po(file, locale=language)


def gather() -> None:
    """Brings every catalogue up to date: new messages come in without translation, those no longer used go."""
    for language in LANGUAGES[1:]:
        standing = catalogue(language)
        standing.update(messages(), no_fuzzy_matching=True, update_creation_date=False)
        standing.obsolete.clear()
        out = BytesIO()
        write_po(out, standing, width=120, include_lineno=False, sort_by_file=True)
        _write(CATALOGUES / f"{language}.po", out.getvalue())
    compile_all()


def compile_all() -> None:
    """Compiles every catalogue to the form that calc.language reads."""
    for language in LANGUAGES[1:]:
        out = BytesIO()
        write_mo(out, catalogue(language))
        _write(CATALOGUES / f"{language}.mo", out.getvalue())


def _write(path: Path, content: bytes) -> None:
    """In one step: tests in other processes may be reading it."""
    part = path.with_name(f"{path.name}.{os.getpid()}")
    part.write_bytes(content)
    part.replace(path)
