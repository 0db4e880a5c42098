"""The catalogues: every word of the pages in each language, none left over, the same parts and the same numbers."""

import re

import pytest

from calc.batch.order import BatchOrder, Issue
from calc.entry.declare import describe
from calc.entry.language import LANGUAGES, all_of, later, ntr, speaking, spoken, tr
from calc.formula.declaration import Formula
from calc.workshop.kinds import KINDS
from pages import catalogues

# What people fill in or read is never a word that also means bleach: reference notes on words of the trade.
NEVER = {"es": re.compile(r"\blej[ií]a", re.IGNORECASE)}
PART = re.compile(r"\{\w*\}")
NUMBER = re.compile(r"\d+(?:[.,]\d+)*")


def texts(message):
    """A message's texts in the code's language; two where it goes by a number."""
    return message.id if isinstance(message.id, tuple) else (message.id,)


def translations(message):
    return message.string if isinstance(message.string, tuple) else (message.string,)


@pytest.fixture(scope="module", params=LANGUAGES[1:])
def catalogue(request):
    return [message for message in catalogues.catalogue(request.param) if message.id]


@pytest.fixture(scope="module")
def gathered():
    return {message.id for words in catalogues.messages().values() for message in words if message.id}


def test_every_message_of_the_code_is_in_the_catalogue_and_nothing_else(catalogue, gathered):
    standing = {message.id for message in catalogue}
    assert gathered - standing == set(), "run `python3 build.py words`, then translate"
    assert standing - gathered == set(), "run `python3 build.py words`"


@pytest.mark.parametrize("language", LANGUAGES[1:])
def test_names_of_the_reference_tables_stand_apart_from_the_words_of_the_app(language):
    """By the places that each message names, and each of them in its own file."""
    for ending, of_a_table in ((".po", False), (".tables.po", True)):
        text = (catalogues.CATALOGUES / f"{language}{ending}").read_text(encoding="utf-8")
        places = {place for line in re.findall(r"^#: (.*)$", text, re.MULTILINE) for place in line.split()}
        assert places and {place.endswith(".csv") for place in places} == {of_a_table}


def said_of(kind):
    """What a message about a form's fields may say of them: their names, and why a value is refused or asked about."""
    for info in describe(kind):
        yield info.label
        yield from (bounds.reason for bounds in (info.refuse, info.warn) if bounds)
        if info.of is not None:
            yield from said_of(info.of)


@pytest.mark.parametrize("kind", [Formula, BatchOrder, Issue, *(kind for kind, *_ in KINDS.values())])
def test_a_fault_of_a_stored_item_is_told_in_the_readers_language(kind, gathered):
    assert set(said_of(kind)) - gathered == set()


def test_every_message_is_translated_and_none_is_a_guess(catalogue):
    assert [message.id for message in catalogue if not all(translations(message)) or message.fuzzy] == []


def test_a_translation_has_the_same_parts_and_the_same_numbers(catalogue):
    for message in catalogue:
        for text, translated in zip(texts(message), translations(message), strict=True):
            for what in (PART, NUMBER):
                # A part's name holds no number of the text; a translation may say a part twice.
                ours, theirs = (set(what.findall(each if what is PART else PART.sub("", each))) for each in (text, translated))
                assert ours == theirs, f"{text!r}: {translated!r}"


def test_a_translation_begins_and_ends_like_its_message(catalogue):
    """Pieces of sentences are put together: a space, comma or full stop that went missing would show."""
    for message in catalogue:
        for text, translated in zip(texts(message), translations(message), strict=True):
            begins, ends = re.compile(r"^[\s,;:.]*"), re.compile(r"[\s,;:.]*$")
            assert begins.findall(text)[0] == begins.findall(translated)[0], translated
            assert ends.findall(text)[0] == ends.findall(translated)[0], translated


@pytest.mark.parametrize("language", LANGUAGES[1:])
def test_a_word_that_could_mislead_stands_nowhere(language):
    for message in catalogues.catalogue(language):
        assert not any(NEVER[language].search(each) for each in translations(message)), message.id


def test_only_names_and_signs_are_the_same_in_both_languages(catalogue):
    """Names of plants and substances may be the same; a sentence never is."""
    same = [m.id for m in catalogue if m.id == m.string and not all(path.endswith(".csv") for path, _ in m.locations)]
    assert [text for text in same if len(re.findall(r"[^\W\d_]{2,}", PART.sub("", text))) > 1] == []


def test_words_are_spoken_only_while_they_are_asked_for():
    message = later("Safety walk")
    assert (spoken(), tr(message)) == ("en", "Safety walk")
    with speaking("es"):
        assert (spoken(), tr(message)) == ("es", "Recorrido de seguridad")
    assert (spoken(), tr(message)) == ("en", "Safety walk")
    with pytest.raises(ValueError, match="none of"), speaking("de"):
        pass


def test_a_message_nobody_translated_stays_as_it_is_and_takes_its_parts():
    with speaking("es"):
        assert tr("Nobody translated {this}.", this="{a}") == "Nobody translated {a}."
        assert ntr("{number} thing", "{number} things", 2) == "2 things"


# Spanish "y" before the sound of i, from memory: Real Academia Española, Ortografía.
@pytest.mark.parametrize(
    ("words", "english", "spanish"),
    [
        ((), "", ""),
        (("clavo",), "clavo", "clavo"),
        (("canela", "clavo"), "canela and clavo", "canela y clavo"),
        (("eugenol", "isoeugenol"), "eugenol and isoeugenol", "eugenol e isoeugenol"),
        (("romero", "hisopo", "limón"), "romero and hisopo and limón", "romero e hisopo y limón"),
        (("menta", "hierbabuena"), "menta and hierbabuena", "menta y hierbabuena"),
    ],
)
def test_names_are_joined_as_the_language_does(words, english, spanish):
    assert all_of(words) == english
    with speaking("es"):
        assert all_of(words) == spanish
