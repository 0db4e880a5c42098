"""Message catalogues with Babel: the messages of code, templates and tables gathered into shared/language, and compiled.

A language has two: the app's own words in es.po, names and notes of the reference tables in es.tables.po; what stands
in both is the app's. They are edited by people (any program for PO files will do) and compiled into one;
`python3 build.py words` brings them up to date with the code. What stands in the code but in no catalogue stays English on the screen, and a test fails.
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
# Where the messages of each catalogue are looked for, and by which of Babel's methods. A file's ending -> its methods.
METHODS = {
    ".po": [
        ("calc/**.py", "python"),
        ("site/**.py", "python"),
        ("site/**/templates/**.html", "jinja2.ext:babel_extract"),
        ("shared/records/kinds.json", "pages.catalogues:words_of_kinds"),
    ],
    ".tables.po": [("shared/reference/*.csv", "pages.catalogues:words_of_table")],
}
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
    "oil_origins.csv": lambda row: [row["origin"]],
    "additives.csv": lambda row: [row["label"], *([row["heat_warning"], row["source"]] if row["heat_warning"] else [])],
    "constants.csv": lambda row: [row["source"]] if row["id"].startswith("lye_strength_usual") else [],
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


def messages() -> dict[str, Catalog]:
    """Every message of the code and the tables without translations, by the ending of its catalogue; each in one only."""
    found: dict[str, Catalog] = {}
    for ending, methods in METHODS.items():
        words = Catalog(charset="utf-8")
        for path, _line, message, comments, context in extract_from_dir(
            ROOT, methods, OPTIONS, KEYWORDS, directory_filter=lambda folder: Path(folder).name not in (".env", ".build", ".tools")
        ):
            if not any(message in before for before in found.values()):
                words.add(message, None, [(path, 0)], auto_comments=comments, context=context)
        found[ending] = words
    return found


def catalogue(language: str, ending: str = ".po") -> Catalog:
    """A language's words as they stand in shared/language: those of one file, then what only its others have."""
    found = _standing(language, ending)
    for other in METHODS.keys() - {ending}:
        for message in _standing(language, other):
            if message.id and message.id not in found:
                found[message.id] = message
    return found


def _standing(language: str, ending: str) -> Catalog:
    with (CATALOGUES / f"{language}{ending}").open("rb") as file:
        return read_po(file, locale=language)


def gather() -> None:
    """Brings every catalogue up to date: new messages come in without translation, those no longer used go."""
    gathered = messages()
    for language in LANGUAGES[1:]:
        # All are read before any is written: a message that moves from one to the other keeps its translation.
        standing = {ending: catalogue(language, ending) for ending in gathered}
        for ending, words in standing.items():
            words.update(gathered[ending], no_fuzzy_matching=True, update_creation_date=False)
            words.obsolete.clear()
            out = BytesIO()
            write_po(out, words, width=120, include_lineno=False, sort_by_file=True)
            _write(CATALOGUES / f"{language}{ending}", out.getvalue())
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
