"""A supplier's list, typed or pasted as text: each line a name or a CAS number with its share.

Understood are 'Linalool 4.5 %', '78-70-6; 4,5', 'LINALOOL, 78-70-6, 0.1 - 0.45 %', '4.5 % linalool', '< 0.01' and
'450 ppm'. Of a span the upper end counts. A line that names more than one thing, or none, is given back as it is.
"""

import math
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal

from calc.entry.language import tr
from calc.entry.quantity_text import Unreadable, one_spaced, quoted, read_quantity
from calc.entry.shown import number as shown
from calc.scent.names import constituents
from calc.tables.reference import from_tables, lines_of

MOST_LINES = 300
LONGEST_LINE = 300
# A name cut short counts where it is at least so long and only one fits.
SHORTEST_BEGINNING = 4
# How many names are given where a beginning fits several.
NAMED = 4
PPM_PER_PERCENT = 10_000

HEADINGS = frozenset(
    ["allergen", "allergens", "name", "names", "inci", "cas", "ec", "einecs", "no", "number", "concentration", "content", "share", "percent", "max", "maximum", "in", "oil", "fragrance", "ingredient", "ingredients", "substance", "substances", "constituent", "constituents", "w", "list", "of", "alérgeno", "alérgenos", "nombre", "número", "contenido", "porcentaje", "sustancia", "sustancias"]
)

_CAS = re.compile(r"(?<![\d-])(\d{2,7})-(\d{2})-(\d)(?![\d-])")
_EC = re.compile(r"(?<![\d-])\d{3}-\d{3}-\d(?![\d-])")
_NUMBER = r"\d[\d.,'’]*"
_SPAN = rf"(?:(?:<|≤|<=|max\.?|up to)\s*)?(?:{_NUMBER}\s*(?:%|ppm)?\s*(?:-|–|—|to|a)\s*(?:<|≤)?\s*)?({_NUMBER})\s*(%|ppm)?"
_AT_END = re.compile(rf"(?:^|(?<=[\s;:|,<≤=]))({_SPAN})\s*$", re.IGNORECASE)
_AT_START = re.compile(rf"^({_SPAN})(?=\s)", re.IGNORECASE)
_NONE = re.compile(r"(?:^|(?<=[\s;:|,]))(?:n\.?\s?d\.?|not detected|none|absent|-|–|—)\s*$", re.IGNORECASE)
# A share that is open upwards, or has a plus and minus, is not told by its one number.
_OPEN = re.compile(r"[>≥±]|\+/-|more than|at least|\bmin\b", re.IGNORECASE)
_GREEK = {"α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta"}


@dataclass(frozen=True)
class Read:
    """One line understood: the constituent's key and name, and its share as a form takes it, in per cent."""

    key: str
    name: str
    percent: str


@dataclass(frozen=True)
class Unread:
    """One line that was not, and why, as a sentence."""

    line: str
    why: str


@dataclass(frozen=True)
class SupplierList:
    """What a text holds. absent: how many lines name something of which there is nothing."""

    read: tuple[Read, ...]
    unread: tuple[Unread, ...]
    absent: int


def supplier_list(text: str) -> SupplierList:
    """Every line of a text. Of a constituent that stands twice the larger share counts."""
    found: dict[str, Read] = {}
    unread: list[Unread] = []
    absent = 0
    lines = [one_spaced(unicodedata.normalize("NFKC", line).replace("\t", "; ")) for line in text.splitlines() if line.strip()]
    for number, line in enumerate(line for line in lines if not _is_heading(line)):
        if number >= MOST_LINES or len(line) > LONGEST_LINE:
            unread.append(Unread(line, tr("Too much at once: at most {lines} lines of {length} characters.", lines=MOST_LINES, length=LONGEST_LINE)))
            continue
        try:
            read = _line(line)
        except _NotUnderstood as why:
            unread.append(Unread(line, str(why)))
            continue
        if Decimal(read.percent) == 0:
            absent += 1
        elif read.key not in found or Decimal(found[read.key].percent) < Decimal(read.percent):
            found[read.key] = read
    return SupplierList(tuple(found.values()), tuple(unread), absent)


def _is_heading(line: str) -> bool:
    """The names of a table's columns, which name no constituent."""
    words = re.findall(r"[^\W\d_]+", line.casefold())
    return len(words) > 1 and not any(char.isdigit() for char in line) and all(word in HEADINGS for word in words)


class _NotUnderstood(ValueError):
    """Why a line can't be taken, as a sentence."""


def _line(line: str) -> Read:
    numbers = [found[0] for found in _CAS.finditer(line)]
    rest = _EC.sub(" ", _CAS.sub(" ", line)).strip(" ;,:|()")
    if _OPEN.search(rest):
        raise _NotUnderstood(tr("Its share has no upper end. Type the most it can be."))
    percent, name = _share(rest, line)
    key = _by_cas(numbers) or _by_name(name)
    # A second number may be the share, and the one read a class of danger.
    if any(char.isdigit() for char in name) and _known_names().get(_folded(name)) != key:
        raise _NotUnderstood(tr("It has more numbers than one share. Leave the name and the share."))
    return Read(key, constituents()[key], percent)


def _share(rest: str, line: str) -> tuple[str, str]:
    """The share in per cent and what else stands in the line."""
    if nothing := _NONE.search(rest):
        return "0", rest[: nothing.start()].strip(" ;,:|()=")
    found = _AT_END.search(rest)
    name = rest[: found.start()] if found else ""
    if not found or not (name.strip(" ;,:|()=<≤") or _CAS.search(line)):
        found = _AT_START.match(rest)
        name = rest[found.end() :] if found else ""
    if not found and _AT_END.search(rest):
        raise _NotUnderstood(tr("There's no name and no known CAS number in it."))
    if not found:
        raise _NotUnderstood(tr("There's no share in it. Put the percent at the end."))
    try:
        number = read_quantity(found[2], ("",)).number
    except Unreadable as unreadable:
        raise _NotUnderstood(unreadable.why) from unreadable
    if (found[3] or "").lower() == "ppm":
        number /= PPM_PER_PERCENT
    if number > 100:
        raise _NotUnderstood(tr("{share} is more than all of it.", share=quoted(found[1].strip())))
    return shown(float(number)), name.strip(" ;,:|()=<≤")


def _by_cas(numbers: list[str]) -> str | None:
    """The one constituent that these CAS numbers name; None where none of them is in the tables."""
    for number in numbers:
        if not _is_cas(number):
            raise _NotUnderstood(tr("{number} isn't a CAS number: its last digit doesn't fit. Check it again.", number=number))
    keys = {_known_numbers()[number] for number in numbers if number in _known_numbers()}
    if len(keys) > 1:
        raise _NotUnderstood(tr("Its CAS numbers name different things: {names}.", names=", ".join(sorted(constituents()[key] for key in keys))))
    return next(iter(keys), None)


def _is_cas(number: str) -> bool:
    """The check digit: each digit times its place from the right, modulo 10 (CAS, "Check Digit Verification")."""
    digits = [int(digit) for digit in number.replace("-", "")]
    return math.fsum(place * digit for place, digit in enumerate(reversed(digits))) % 10 == digits[-1]


def _by_name(name: str) -> str:
    wanted = _folded(name)
    if not wanted:
        raise _NotUnderstood(tr("There's no name and no known CAS number in it."))
    names = _known_names()
    if wanted in names:
        return names[wanted]
    keys = {key for known, key in names.items() if len(wanted) >= SHORTEST_BEGINNING and known.startswith(wanted)}
    if len(keys) == 1:
        return keys.pop()
    if keys:
        several = sorted(constituents()[key] for key in keys)
        more = ", …" if len(several) > NAMED else ""
        raise _NotUnderstood(tr("{name} could be {several}. Type more of it.", name=quoted(name), several=", ".join(several[:NAMED]) + more))
    raise _NotUnderstood(
        tr("{name} isn't in the tables: no rule here limits or names it. Check its spelling or add its CAS number.", name=quoted(name))
    )


def _folded(name: str) -> str:
    """Letters and digits alone, so that commas, strokes, capitals and accents make no other name."""
    for letter, spelled in _GREEK.items():
        name = name.replace(letter, spelled)
    plain = unicodedata.normalize("NFKD", name.casefold())
    return "".join(char for char in plain if char.isalnum() and not unicodedata.combining(char))


@from_tables
def _known_names() -> dict[str, str]:
    """Every spelling of the tables that means one constituent alone."""
    found: dict[str, set[str]] = {}
    for key, label in constituents().items():
        found.setdefault(_folded(label), set()).add(key)
    for key, line in _rows():
        spelled = [line.get("constituent", ""), line.get("label_name", ""), *line.get("inci_names_covered", "").split(";")]
        for name in filter(None, map(_folded, spelled)):
            found.setdefault(name, set()).add(key)
    return {name: next(iter(keys)) for name, keys in found.items() if len(keys) == 1}


@from_tables
def _known_numbers() -> dict[str, str]:
    """Every CAS number of the tables that means one constituent alone."""
    found: dict[str, set[str]] = {}
    for key, line in _rows():
        for number in _CAS.finditer(line.get("cas", "")):
            found.setdefault(number[0], set()).add(key)
    return {number: next(iter(keys)) for number, keys in found.items() if len(keys) == 1}


def _rows() -> list[tuple[str, dict[str, str]]]:
    """Rows of limits and allergens, each by the key under which a form offers it."""
    names = {_folded(label): key for key, label in constituents().items()}
    rows = []
    for table in ("fragrance_allergens_eu", "fragrance_limits"):
        for text in (dict(line.text) for line in lines_of(table)):
            label = _folded(text.get("label_name", "") or text.get("constituent", ""))
            key = text["limit_key"] if text["limit_key"] in constituents() else names.get(label)
            if key is not None:
                rows.append((key, text))
    return rows
