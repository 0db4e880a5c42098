"""A step's words in each language: the same figures in both, English untouched, and old steps still to be read."""

import re
from dataclasses import asdict

import pytest
from hypothesis import given, settings

from calc.entry.language import LANGUAGES, speaking
from calc.steps.order_of_work import weigh_steps
from calc.steps.pour_names import APART, NAMES, SHORT, WITHIN, short, within
from calc.steps.words import FIELDS, all_in_each_language, going_on_from, in_words
from calc.tables.reference import additives, oils
from steps.test_order_of_work import blocks

NUMBER = re.compile(r"\d+(?:\.\d+)?")


def texts(step):
    """Every text of a step, questions and the finer scale's among them."""
    fine = [] if step["fine"] is None else [step["fine"]["from_text"]]
    around = [text for text in step["how_around"] or () if text]
    said = [step[field] for field in FIELDS if step[field] is not None and field != "how_around"]
    return said + around + [asked["text"] for asked in step["questions"]] + fine


def frozen(sheet, made_for):
    return all_in_each_language(lambda: [asdict(step) for step in weigh_steps(sheet, made_for)])


@given(blocks())
@settings(deadline=None, max_examples=25)
def test_every_step_says_the_same_figures_in_both_languages(block):
    plain = [asdict(step) for step in weigh_steps(*block)]
    for english, step in zip(plain, frozen(*block), strict=True):
        assert {**step, "questions": tuple(step["questions"])} == {**english, "es": step["es"]}
        with speaking("es"):
            spanish = in_words(step)
        assert "es" not in spanish
        for one, other in zip(texts(english), texts(spanish), strict=True):
            assert one != other or not re.search(r"[^\W\d_]{3}", one), one
            assert sorted(NUMBER.findall(one)) == sorted(NUMBER.findall(other)), (one, other)
        same = {key: english[key] for key in english if key not in (*FIELDS, "fine", "questions")}
        assert same == {key: spanish[key] for key in same}


@given(blocks())
@settings(deadline=None, max_examples=5)
def test_what_is_asked_in_spanish_makes_the_same_steps(block):
    with speaking("es"):
        asked_in_spanish = frozen(*block)
    assert asked_in_spanish == frozen(*block)


def test_a_step_that_was_frozen_in_english_alone_is_read_as_it_is():
    step = {"key": "trace", "title": "Check for trace", "how": "A drop of batter.", "questions": [], "fine": None}
    for language in LANGUAGES:
        with speaking(language):
            assert in_words(step) == step


# As sheets were frozen with it since steps stood in Spanish, before that in English alone; 1234 counts of two decimals are 12.34 kg.
GOES_ON = {
    "en": "Gloves on. Don't tare: the display goes on from about {kg} kg. Then read 12.34 kg.",
    "es": "Guantes puestos. No presione tara: la báscula sigue desde unos {kg} kg. Después lea 12.34 kg.",
}


@pytest.mark.parametrize(("spoken", "written"), [("en", "en"), ("es", "es"), ("es", "en")])
def test_what_a_display_goes_on_from_is_changed_in_its_own_sentence_alone_also_in_a_sheet_without_spanish(spoken, written):
    step = {"unit": "kg", "decimals": 2, "division": 2, "how": GOES_ON[written].format(kg="12.34")}
    with speaking(spoken):
        assert going_on_from(step, 1234, 1300) == GOES_ON[written].format(kg="13.00")
        assert going_on_from({**step, "how": "Open the valve."}, 1234, 1300) == "Open the valve."


def test_what_a_display_goes_on_from_is_said_anew_around_which_the_rest_of_the_step_stays():
    # The words that sheets have had, in the parts that are frozen now; what stands in `how` is not looked at.
    step = {"unit": "kg", "decimals": 2, "division": 2, "how": "?", "how_around": ["Gloves on.", "Then read 12.34 kg."]}
    assert going_on_from(step, 1234, 1300) == GOES_ON["en"].format(kg="13.00")
    alone = {**step, "how_around": ["", "Then read."]}
    assert going_on_from(alone, 1234, 1300) == "Don't tare: the display goes on from about 13.00 kg. Then read."


def test_a_scent_of_the_makers_own_is_told_by_its_name_and_no_oil_is_taken_for_one():
    assert within("Scent Marsh, winter", "Marsh, winter") == "scent Marsh, winter"
    assert within("Scent of pine oil") == "scent of pine oil"
    with speaking("es"):
        assert within("Scent Marsh, winter", "Marsh, winter") == "fragancia Marsh, winter"
        assert within("Scent of pine oil") == "scent of pine oil"


# Names of the table and their Spanish as sheets have had them; the last two are a maker's own, said as they were typed.
@pytest.mark.parametrize(
    ("name", "english", "spanish"),
    [
        ("Water, into the lye pail first", "water", "agua"),
        ("Caustic soda (NaOH), into the water", "caustic soda (NaOH)", "sosa cáustica (NaOH)"),
        ("Groundnut (peanut, arachis) oil", "peanut oil", "aceite de cacahuate (maní)"),
        ("Citric acid, anhydrous", "citric acid", "ácido cítrico"),
        ("Marsh oil, virgin", "marsh oil, virgin", "marsh oil, virgin"),
        ("Olive oil (virgin and refined)", "olive oil", "aceite de oliva"),
        ("Caustic soda (NaOH) lye", "caustic soda (NaOH) lye", "solución de sosa"),
        ("Marsh oil (virgin)", "marsh oil (virgin)", "marsh oil (virgin)"),
    ],
)
def test_among_ways_back_a_pour_is_called_short_and_a_makers_own_as_typed(name, english, spanish):
    assert within(short(name)) == english
    with speaking("es"):
        assert within(short(name)) == spanish


def test_a_shorter_name_is_of_something_that_a_sheet_may_name():
    """Else a name that changes in the tables would be said in full inside a sentence, and nobody would notice."""
    known = {*NAMES, *(oil.name for oil in oils().values()), *(additive.label for additive in additives().values())}
    assert {*WITHIN, *SHORT, *APART} <= known


@pytest.mark.parametrize("language", LANGUAGES)
def test_of_all_that_a_formula_may_hold_no_two_share_the_words_of_their_steps(language):
    names = [*(oil.name for oil in oils().values()), *(additive.label for additive in additives().values())]
    with speaking(language):
        assert sorted({within(name, beside=names) for name in names}) == sorted(within(name, beside=names) for name in names)


def test_an_oil_is_told_by_its_kind_alone_where_no_other_of_it_is_poured():
    high, mid = "Sunflower seed oil, high-oleic", "Sunflower seed oil, mid-oleic"
    assert within(high, beside=[high, "Olive oil (virgin and refined)"]) == "sunflower oil"
    assert within(high, beside=[high, mid]) == "high-oleic sunflower oil"
    # A maker's own oil of that kind is called as it was typed, so the other one has to say which it is.
    assert within(high, beside=[high, "Sunflower seed oil, Marsh"]) == "high-oleic sunflower oil"
