"""Oils as people write them down, "olive 40, palm 35, coconut 20, sunflower 5", read into rows and written from them.

Entries stand on lines of their own or are parted by commas and semicolons; the share stands behind the name or before
it. A comma between two digits is a decimal comma. Words such as "oil" and "seed" may be left out. A name in double
quotes is the oil's whole name. "late" beside a name means that the oil goes in at trace.

A name that no oil has, or several have, is asked back with the nearest ones: no entry is dropped, none is guessed. The
share is passed on as it was typed, for the strict reader of all numbers.
"""

import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from fractions import Fraction

from calc.entry.language import LANGUAGES, later, speaking, tr
from calc.entry.problems import Problem
from calc.entry.quantity_text import Unreadable, one_spaced, quoted, read_quantity
from calc.tables.rows import Oil

LONGEST = 2000
NEAREST = 4
# So many oils fit into the name of a formula on a phone.
MOST_IN_NAME = 3
LATE = later("late")
# What most bars are made of, in the order of how much of it: common practice, no source.
USUAL_OILS = ("olive", "palm", "coconut", "tallow", "lard", "sunflower", "shea_butter", "castor")
# What tells no oil from another, in either language; a name of these alone keeps them.
_PLAIN_WORDS = frozenset(
    [
        "oil",
        "oils",
        "butter",
        "fat",
        "seed",
        "seeds",
        "the",
        "of",
        "aceite",
        "aceites",
        "manteca",
        "grasa",
        "semilla",
        "semillas",
        "de",
        "del",
        "la",
    ]
)
_NUMBER = re.compile(
    r"[-−+]?[.,]?[0-9\uff10-\uff19¼½¾⅐-⅞](?:[ ]?[0-9\uff10-\uff19.,'’/⁄¼½¾⅐-⅞])*"
    r"(?: ?(?:[%％]|per ?cent\b|pct\b|por ciento\b|k?g\b|lbs?\b|oz\b|ml\b))?",
    re.IGNORECASE,
)
_PARTS = re.compile(r'"[^"\n]*"|[;\n\r]|,(?![0-9])|(?<![0-9]),')
_BRACKETS = re.compile(r"\(([^()]*)\)")
_EDGES = " \t:=–—"


@dataclass(frozen=True)
class TypedOil:
    """One entry: the oil's key, None where its name is asked back; share and name as typed, with their places in the text."""

    key: str | None
    name: str
    share: str
    late: bool
    candidates: tuple[str, ...]
    name_at: tuple[int, int]
    share_at: tuple[int, int]

    @property
    def percent(self) -> Fraction | None:
        """The share [%] as a number; None where none stands or it is no number."""
        return typed_percent(self.share)


def typed_percent(share: str) -> Fraction | None:
    """A share as typed [%], exact; None where none stands or it is no number."""
    try:
        return read_quantity(share, ("%",), beside="%", fits=_is_share).number
    except Unreadable:
        return None


def _is_share(number: Fraction, unit: str) -> bool:
    return 0 <= number <= 100


class OilNames:
    """What each oil may be called: its name in every language, with or without plain words and brackets, and its INCI name."""

    def __init__(self, oils: Mapping[str, Oil]) -> None:
        self.oils = oils
        self._whole: dict[str, set[str]] = {}
        self._names: dict[frozenset[str], set[str]] = {}
        self._other_names: dict[frozenset[str], set[str]] = {}
        self._words: dict[str, list[frozenset[str]]] = {}
        self._spellings: dict[str, set[str]] = {}
        for key, oil in oils.items():
            self._take(key, oil)

    def _take(self, key: str, oil: Oil) -> None:
        names = dict.fromkeys(_in_every_language(oil.name))
        self._whole.setdefault(key.casefold(), set()).add(key)
        for name in names:
            self._whole.setdefault(one_spaced(name).casefold(), set()).add(key)
            for spelling in (name, _BRACKETS.sub(" ", name)):
                self._names.setdefault(_words(spelling), set()).add(key)
                self._spellings.setdefault(key, set()).add(_joined(spelling))
        inside = [
            part for name in (*names, oil.inci_name) for found in _BRACKETS.findall(name) for part in found.split(",")
        ]
        for other in (*inside, oil.inci_name, key.replace("_", " ")):
            if words := _words(other):
                self._other_names.setdefault(words, set()).add(key)
                self._spellings[key].add(_joined(other))
        self._words[key] = [_words(name) for name in (*names, oil.inci_name)]

    def candidates(self, name: str, *, whole: bool = False) -> tuple[str, ...]:
        """Every oil that a name may mean; `whole` for one in quotes, which is a name from end to end."""
        if whole:
            return tuple(sorted(self._whole.get(one_spaced(name).casefold(), ())))
        words = _words(name)
        if not words:
            return ()
        for names in (self._names, self._other_names):
            if words in names:
                return tuple(sorted(names[words]))
        return tuple(key for key, each in self._words.items() if any(words <= all_words for all_words in each))

    def nearest(self, name: str) -> tuple[str, ...]:
        """The oils whose names look most like it, the likest first."""
        typed = _joined(name)
        likeness = {
            key: max(SequenceMatcher(None, typed, spelling).ratio() for spelling in spellings)
            for key, spellings in self._spellings.items()
        }
        return tuple(sorted(likeness, key=lambda key: (-likeness[key], key)))[:NEAREST]

    def written(self, key: str) -> str:
        """The shortest way to write an oil that is read as just this one."""
        name = tr(self.oils[key].name)
        bare = one_spaced(_BRACKETS.sub(" ", name))
        short = one_spaced(" ".join(word for word in re.split(r"[\s,]+", bare) if _plain(word) not in _PLAIN_WORDS))
        ways = [_lower_first(short), _lower_first(bare), f'"{one_spaced(name)}"']
        for way in ways:
            if way and [entry.key for entry in read_oils(f"{way} 1", self)] == [key]:
                return way
        return f'"{key}"'


def read_oils(text: str, names: OilNames) -> tuple[TypedOil, ...]:
    """Every entry of the text in order, none left out."""
    found: list[TypedOil] = []
    pieces = list(_pieces(text))
    at = 0
    while at < len(pieces):
        start, end, _ = pieces[at]
        taken = 1
        # "Sunflower seed oil, high-oleic 20": a name with a comma in it.
        for more in range(1, len(pieces) - at):
            if _has_number(text, pieces[at + more - 1]) or pieces[at + more - 1][2] != ",":
                break
            joined = list(_entries(text, start, pieces[at + more][1], names))
            if len(joined) == 1 and joined[0].key is not None and joined[0].share:
                end, taken = pieces[at + more][1], more + 1
        found.extend(_entries(text, start, end, names))
        at += taken
    return tuple(found)


def problems_of(entries: Iterable[TypedOil], names: OilNames, field: str) -> Iterator[Problem]:
    """What keeps entries from being rows; shares are judged by the row's own declaration."""
    for entry in entries:
        if not entry.name:
            yield Problem(
                field,
                "oil-missing",
                tr("{share} has no oil with it.", share=quoted(entry.share)),
                tr("Type the oil's name beside it."),
            )
        elif entry.key is None and entry.candidates:
            yield Problem(
                field,
                "oil-ambiguous",
                tr("{name} could be one of several oils.", name=quoted(entry.name)),
                tr("Choose which below, or type more of its name."),
            )
        elif entry.key is None:
            yield Problem(
                field,
                "oil-not-known",
                tr("No oil here is called {name}.", name=quoted(entry.name)),
                tr("Choose one of those below, or type another name."),
            )
        elif not entry.share:
            yield Problem(
                field,
                "share-missing",
                tr("{name} has no share yet.", name=quoted(entry.name)),
                tr("Type it after the name, or give it the rest below."),
            )


def row_values(entries: Iterable[TypedOil]) -> dict[str, str]:
    """The entries as the form's rows hold them; an oil that is asked back is left open in its row."""
    values: dict[str, str] = {}
    for number, entry in enumerate(entries):
        values |= {
            f"oils.{number}.oil": entry.key or "",
            f"oils.{number}.share_fraction": entry.share,
            f"oils.{number}.added": "late" if entry.late else "main",
        }
    return values


def write_oils(values: Mapping[str, str], names: OilNames) -> str:
    """The form's rows as text, each share as it was typed."""
    numbers = sorted({int(found[1]) for name in values if (found := re.fullmatch(r"oils\.([0-9]{1,4})\..+", name))})
    parts = []
    for number in numbers:
        key, share = (values.get(f"oils.{number}.{part}", "").strip() for part in ("oil", "share_fraction"))
        late = tr(LATE) if values.get(f"oils.{number}.added") == "late" else ""
        words = (names.written(key) if key in names.oils else key, one_spaced(share), late)
        if key or share:
            parts.append(" ".join(filter(None, words)))
    return ", ".join(parts)


def total_percent(entries: Iterable[TypedOil]) -> Fraction:
    """The shares that can be read, together [%]."""
    total = Fraction(0)
    for entry in entries:
        total += entry.percent or 0
    return total


def with_rest(text: str, entries: Iterable[TypedOil]) -> tuple[tuple[TypedOil, str], ...]:
    """For each oil, the text in which it takes what is missing to 100 %, or gives up what is too much.

    An oil without a share is the one to take the rest; where several have none, or a share can't be read, nobody knows.
    """
    entries = tuple(entries)
    open_ones = [entry for entry in entries if not entry.share]
    rest = 100 - total_percent(entries)
    unclear = any(entry.share and (entry.percent is None or entry.percent < 0) for entry in entries)
    if rest == 0 or len(open_ones) > 1 or unclear:
        return ()
    found = []
    for entry in open_ones or entries:
        share = (entry.percent or 0) + rest
        if entry.key is not None and share > 0:
            start, end = entry.share_at
            space = "" if entry.share else " "
            found.append((entry, f"{text[:start]}{space}{typed_number(share)}{text[end:]}"))
    return tuple(found)


def with_name(text: str, entry: TypedOil, name: str) -> str:
    """The text with another name in place of the entry's, ready for its share where that is what would be typed next."""
    start, end = entry.name_at
    to_come = "" if entry.share or text[end:].strip() else " "
    return text[:start] + name + (to_come or text[end:])


def with_another(text: str, name: str) -> str:
    """The text with one more oil, ready for its share."""
    before = text.rstrip(" ,;\n")
    return f"{before}, {name} " if before else f"{name} "


def takes_another(entries: Iterable[TypedOil]) -> bool:
    """Whether another oil may be typed next: every one but the last has its share, and something is missing to 100 %."""
    entries = tuple(entries)
    whole = all(entry.key is not None and (entry.percent is not None or not entry.share) for entry in entries)
    return whole and all(entry.share for entry in entries[:-1]) and total_percent(entries) < 100


def name_by_oils(entries: Iterable[TypedOil], names: OilNames, taken: Collection[str]) -> str:
    """What a formula may be called while nobody has named it: by its main oils, with a number where another is called so.

    "" where no oil is known yet.
    """
    shares = {entry.key: entry.percent or Fraction(0) for entry in entries if entry.key is not None}
    main = sorted(shares, key=lambda key: -shares[key])[:MOST_IN_NAME]
    words = ", ".join(names.written(key).strip('"') for key in main)
    if len(shares) > len(main):
        words = tr("{oils} and {n} more", oils=words, n=len(shares) - len(main))
    if not words:
        return ""
    called = words[:1].upper() + words[1:]
    known = {each.casefold() for each in taken}
    ways = (called, *(f"{called} {number}" for number in range(2, len(known) + 3)))
    return next(way for way in ways if way.casefold() not in known)


def typed_number(number: Fraction) -> str:
    """A number from zero up as somebody would type it, exact: "12.5", or "33 1/3" where decimals never end."""
    for decimals in range(10):
        scaled = number * 10**decimals
        if scaled.denominator == 1:
            digits = f"{scaled.numerator:0{decimals + 1}d}"
            return f"{digits[:-decimals]}.{digits[-decimals:]}" if decimals else digits
    whole, rest = divmod(number, 1)
    return f"{whole} {rest}" if whole else str(rest)


def _pieces(text: str) -> Iterator[tuple[int, int, str]]:
    """What stands between the separators: its place, and the separator behind it."""
    start = 0
    for mark in _PARTS.finditer(text):
        if mark[0].startswith('"'):
            continue
        if text[start : mark.start()].strip():
            yield start, mark.start(), mark[0]
        start = mark.end()
    if text[start:].strip():
        yield start, len(text), ""


def _numbers(text: str, start: int, end: int) -> list[re.Match[str]]:
    """The numbers of a piece, but for those in a quoted name or in a word, such as that of "E471"."""
    quotes = [found.span() for found in re.finditer(r'"[^"\n]*"', text[start:end])]
    return [
        found
        for found in _NUMBER.finditer(text, start, end)
        if not any(low <= found.start() - start < high for low, high in quotes)
        and not (found.start() > start and text[found.start() - 1].isalnum())
    ]


def _has_number(text: str, piece: tuple[int, int, str]) -> bool:
    return bool(_numbers(text, piece[0], piece[1]))


def _entries(text: str, start: int, end: int, names: OilNames) -> Iterator[TypedOil]:
    """The entries of one piece: a name and a share in either order, or several such pairs with spaces between."""
    numbers = _numbers(text, start, end)
    edges = [start, *(edge for found in numbers for edge in found.span()), end]
    between = list(zip(edges[::2], edges[1::2], strict=True))
    shares = [found.span() for found in numbers]
    if shares and not text[slice(*between[0])].strip(_EDGES + "-"):
        between, behind = between[1:], ""
    else:
        # Only after the last share may "late" stand alone; between two oils nobody could tell which one it is of.
        behind = text[slice(*between[-1])].strip(_EDGES + "-()")
        if shares and (not behind or _says_late(behind)):
            between = between[:-1]
        else:
            behind = ""
            shares = [*shares, (end, end)]
    for place, (name_span, share_span) in enumerate(zip(between, shares, strict=True)):
        late = bool(behind) and place == len(shares) - 1
        yield _entry(text, name_span, share_span, late, names)


def _entry(text: str, name_span: tuple[int, int], share_span: tuple[int, int], late: bool, names: OilNames) -> TypedOil:
    start, end = _stripped(text, *name_span)
    words = text[start:end].split()
    if len(words) > 1 and _says_late(words[-1]):
        late, end = True, _stripped(text, start, end - len(words[-1]))[1]
    name = text[start:end]
    whole = len(name) > 2 and name[0] == name[-1] == '"'
    name = one_spaced(name[1:-1] if whole else name)
    candidates = names.candidates(name, whole=whole) if name else ()
    share = text[slice(*share_span)]
    if not share:
        share_span = (end, end)
    return TypedOil(
        key=candidates[0] if len(candidates) == 1 else None,
        name=name,
        share=one_spaced(share),
        late=late,
        candidates=candidates,
        name_at=(start, end),
        share_at=share_span,
    )


def _stripped(text: str, start: int, end: int) -> tuple[int, int]:
    """The span without spaces and without what parts a name from its share: a colon, an equals sign, a dash."""
    while start < end and (text[start].isspace() or text[start] in _EDGES + "-"):
        start += 1
    while start < end and (text[end - 1].isspace() or text[end - 1] in _EDGES + "-"):
        end -= 1
    return start, end


def _says_late(words: str) -> bool:
    return _plain(words.strip("()")) in {_plain(word) for word in _in_every_language(LATE)}


def _in_every_language(message: str) -> Iterator[str]:
    for language in LANGUAGES:
        with speaking(language):
            yield tr(message)


def _plain(word: str) -> str:
    """A word without capitals and accents."""
    return "".join(char for char in unicodedata.normalize("NFKD", word.casefold()) if not unicodedata.combining(char))


def _all_words(name: str) -> list[str]:
    words = re.findall(r"\w+", _plain(name))
    return [word for word in words if word not in _PLAIN_WORDS] or words


def _words(name: str) -> frozenset[str]:
    return frozenset(_all_words(name))


def _joined(name: str) -> str:
    return " ".join(_all_words(name))


def _lower_first(name: str) -> str:
    return name[:1].lower() + name[1:] if name[1:].islower() else name
