"""The reader's language. English stands in the code; other languages in message catalogues (GNU gettext)."""

import gettext
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache

from calc.shared import CATALOGUES

LANGUAGES = ("en", "es")
# "y" is "e" before the sound of i: "y clavo", "e incienso", but "y hierbabuena" (Real Academia Española, from memory).
_SOUNDS_AS_I = re.compile(r"h?[ií](?![aeoáéó])", re.IGNORECASE)

_spoken: ContextVar[str] = ContextVar("spoken", default="en")


def spoken() -> str:
    """The language that is spoken now: one of `LANGUAGES`."""
    return _spoken.get()


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """All words in this language for a while. ValueError for one that is not among `LANGUAGES`."""
    if language not in LANGUAGES:
        raise ValueError(f"{language!r} is none of {', '.join(LANGUAGES)}")
    before = _spoken.set(language)
    try:
        yield
    finally:
        _spoken.reset(before)


def tr(message: str, **parts: object) -> str:
    """A message of the code in the language spoken, the {parts} in it filled in.

    Babel gathers literal messages only: what varies goes into a part. A message without a translation stays English.
    """
    if isinstance(message, _Later):
        parts = {**message.parts, **parts}
    words = _catalogue(spoken()).gettext(message)
    return words.format(**parts) if parts else words


class _Later(str):
    """A message with the parts that `tr` is to fill in."""

    parts: Mapping[str, object]


def later(message: str, **parts: object) -> str:
    """Marks a message for the catalogue where it is declared; `tr` translates it later, where it is shown.

    Its parts read the same in every language: a figure of a table with its unit.
    """
    if not parts:
        return message
    with_parts = _Later(message)
    with_parts.parts = parts
    return with_parts


def lower_first(text: str) -> str:
    """A label inside a sentence: "Olive oil" is "olive oil"; "NaOH" and "LYE-1121" stay as they are."""
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def all_of(words: Sequence[str]) -> str:
    """Several names as one: "clove bud and sweet orange"."""
    joined = words[0] if words else ""
    for word in words[1:]:
        joined += (" e " if spoken() == "es" and _SOUNDS_AS_I.match(word) else tr(" and ")) + word
    return joined


def ntr(one: str, many: str, number: int, **parts: object) -> str:
    """As `tr`, by a whole number: {number} is filled in too."""
    return _catalogue(spoken()).ngettext(one, many, number).format(number=number, **parts)


@cache
def _catalogue(language: str) -> gettext.NullTranslations:
    if language == "en":
        return gettext.NullTranslations()
    with (CATALOGUES / f"{language}.mo").open("rb") as compiled:
        return gettext.GNUTranslations(compiled)
