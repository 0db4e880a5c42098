"""Message catalogues with Babel: the messages of code, templates and tables gathered into shared/language, and compiled.

A catalogue is edited by people (any program for PO files will do); `python3 build.py words` brings it up to date with
the code. What stands in the code but in no catalogue stays English on the screen, and a test fails.
"""

import csv
import json
import os
from collections.abc import Callable, Iterator, Mapping
from io import BytesIO, StringIO
from pathlib import Path
from typing import IO, Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from calc.entry.language import LANGUAGES
from calc.shared import CATALOGUES
from calc.tables.fragrance import fragrance_rules, oil_name

ROOT = Path(__file__).resolve().parents[2]
KEYWORDS = {"tr": None, "later": None, "ntr": (1, 2), "_": None, "gettext": None, "ngettext": (1, 2)}
# Where messages are looked for, and by which of Babel's methods.
METHODS = [
    ("calc/**.py", "python"),
    ("site/**.py", "python"),
    ("site/**/templates/**.html", "jinja2.ext:babel_extract"),
    ("shared/reference/*.csv", "pages.catalogues:words_of_table"),
    ("shared/records/kinds.json", "pages.catalogues:words_of_kinds"),
]
OPTIONS = {"site/**/templates/**.html": {"trimmed": "true", "silent": "false"}}


Row = Mapping[str, str]


LIMITED = {rule.limit_key for rule in fragrance_rules() if rule.kind == "restriction"} - {""}


def _of_constituent(row: Row) -> list[str]:
    """The oil; of a second source of what is limited all that is told, save a citation, which is one in every language."""
    if row["limit_key"] not in LIMITED or row["use_in_sum"] == "yes":
        return [oil_name(row["oil_key"])]
    return [oil_name(row["oil_key"]), row["constituent"], row["source"] if row["how"] == "memory" else row["note"]]


def _of_rule(row: Row) -> list[str]:
    told = row["rule_type"] in ("restriction", "specification") or "phototox" in row["note"]
    return [row["constituent"], row["amendment"], *([row["note"]] if told else [])]


# What the pages in several languages show of the tables of shared/reference. INCI names are the same in every language.
SHOWN: dict[str, Callable[[Row], list[str]]] = {
    "oils.csv": lambda row: [row["common_name"]],
    "additives.csv": lambda row: [row["label"]],
    "essential_oil_constituents.csv": _of_constituent,
    "skin_irritants.csv": lambda row: [row["constituent"]],
    "essential_oil_properties.csv": lambda row: [
        oil_name(row["oil_key"]), *(row[part] for part in ("flash_point_source", "cold_process_note"))
    ],
    "fragrance_limits.csv": _of_rule,
}


def words_of_table(file: IO[bytes], keywords: Any, tags: Any, options: Any) -> Iterator[tuple[int, str, str, list[str]]]:
    """The words of a table of shared/reference that pages in several languages show, as Babel's extraction wants them."""
    words = SHOWN.get(Path(file.name).name)
    if words is None:
        return
    for number, row in enumerate(csv.DictReader(StringIO(file.read().decode("utf-8"))), 2):
        yield from ((number, "", each, []) for each in words(row) if any(char.isalpha() for char in each))


def words_of_kinds(file: IO[bytes], keywords: Any, tags: Any, options: Any) -> Iterator[tuple[int, str, str, list[str]]]:
    """What each kind of event is called where records are counted."""
    groups = json.loads(file.read())
    yield from ((0, "", said["words"], []) for group in groups.values() for said in group["kinds"].values())


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
    """Compiles every catalogue to the form that calc.entry.language reads."""
    for language in LANGUAGES[1:]:
        out = BytesIO()
        write_mo(out, catalogue(language))
        _write(CATALOGUES / f"{language}.mo", out.getvalue())


def _write(path: Path, content: bytes) -> None:
    """In one step: tests in other processes may be reading it."""
    part = path.with_name(f"{path.name}.{os.getpid()}")
    part.write_bytes(content)
    part.replace(path)
