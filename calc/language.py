"""The reader's language. English stands in the code; other languages in message catalogues (GNU gettext)."""

import gettext
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path

LANGUAGES = ("en", "es")
CATALOGUES = Path(__file__).resolve().parents[1] / "shared" / "language"

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
    words = _catalogue(spoken()).gettext(message)
    return words.format(**parts) if parts else words


def ntr(one: str, many: str, number: int, **parts: object) -> str:
    """As `tr`, by a whole number: {number} is filled in too."""
    return _catalogue(spoken()).ngettext(one, many, number).format(number=number, **parts)


@cache
def _catalogue(language: str) -> gettext.NullTranslations:
    if language == "en":
        return gettext.NullTranslations()
    with (CATALOGUES / f"{language}.mo").open("rb") as compiled:
        return gettext.GNUTranslations(compiled)
