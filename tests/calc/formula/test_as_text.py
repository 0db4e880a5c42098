"""Oils as people write them down: what is read, what is asked back, and that writing and reading are one way there and back.

What a name means is told by the names in oils.csv and their Spanish in the catalogue; trade names beside them ("canola",
"corn", "peanut") stand in brackets in that table. How people write a list is common practice, no source.
"""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.entry.language import LANGUAGES, speaking
from calc.formula.as_text import (
    USUAL_OILS,
    OilNames,
    name_by_oils,
    problems_of,
    read_oils,
    row_values,
    takes_another,
    total_percent,
    typed_number,
    with_another,
    with_name,
    with_rest,
    write_oils,
)
from calc.tables.reference import oils

NAMES = OilNames(oils())


def read(text):
    return [(entry.key, entry.share, entry.late) for entry in read_oils(text, NAMES)]


def codes(text):
    return [problem.code for problem in problems_of(read_oils(text, NAMES), NAMES, "oils_text")]


FOUR = [("olive", "40", False), ("palm", "35", False), ("coconut", "20", False), ("sunflower", "5", False)]


@pytest.mark.parametrize(
    "text",
    [
        "olive 40, palm 35, coconut 20, sunflower 5",
        "Olive oil 40\nPalm oil 35\r\nCoconut oil 20\nSunflower oil 5\n",
        "40 olive, 35 palm, 20 coconut, 5 sunflower",
        "olive: 40; palm = 35; coconut - 20; sunflower\t5",
        "olive 40  palm 35  coconut 20  sunflower 5",
        "40 olive,35 palm,20 coconut,5 sunflower",
        "aceite de oliva 40, palma 35, coco 20, girasol 5",
        "OLIVE 40, Palm Oil 35, coconut oil 20, sunflower seed oil 5",
    ],
)
def test_a_list_is_read_however_it_is_laid_out(text):
    assert read(text) == FOUR


def test_three_decimals_are_a_share_and_no_thousands():
    assert total_percent(read_oils("olive 12.345, palm 87,655", NAMES)) == 100


@pytest.mark.parametrize("share", ["40 %", "40%", "12,5", "12.5", "33 1/3", "33⅓", "1.5 %", "½"])
def test_a_share_is_passed_on_as_it_was_typed(share):
    assert read(f"olive {share}, palm 5") == [("olive", share, False), ("palm", "5", False)]
    assert read(f"{share} olive; 5 palm") == [("olive", share, False), ("palm", "5", False)]


def test_a_decimal_comma_is_none_between_entries():
    assert read("olive 62,5, palm 37,5") == [("olive", "62,5", False), ("palm", "37,5", False)]


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("canola", "rapeseed_low_erucic"),
        ("corn", "maize"),
        ("peanut oil", "groundnut"),
        ("sweet almond", "almond"),
        ("soybean", "soya_bean"),
        ("palm kernel", "palm_kernel"),
        ("mango butter", "mango_kernel"),
        ("beef tallow", "tallow"),
        ("high oleic sunflower", "sunflower_high_oleic"),
        ("Sunflower seed oil, high-oleic", "sunflower_high_oleic"),
        ("shea", "shea_butter"),
        ("manteca de karité", "shea_butter"),
        ("manteca de cacao", "cocoa_butter"),
        ("RICINO", "castor"),
    ],
)
def test_trade_names_are_known(name, key):
    assert read(f"{name} 20, olive 80") == [(key, "20", False), ("olive", "80", False)]


@pytest.mark.parametrize("oil", oils().values(), ids=lambda oil: oil.key)
def test_every_oil_of_the_table_is_read_by_its_own_name_and_by_what_is_written_for_it(oil):
    for language in LANGUAGES:
        with speaking(language):
            assert read(f"{NAMES.written(oil.key)} 20") == [(oil.key, "20", False)]
    assert read(f'"{oil.name}" 20') == [(oil.key, "20", False)]


def test_a_name_nobody_has_is_asked_back_with_what_is_most_like_it_and_stays_in_its_place():
    text = "olive 40, sunflowr 5, palm 55"
    (asked,) = [entry for entry in read_oils(text, NAMES) if entry.key is None]
    assert (asked.name, asked.share, asked.candidates) == ("sunflowr", "5", ())
    assert NAMES.nearest(asked.name)[0] == "sunflower"
    assert codes(text) == ["oil-not-known"]
    mended = with_name(text, asked, NAMES.written("sunflower"))
    assert mended == "olive 40, sunflower 5, palm 55"


def test_a_name_that_is_chosen_at_the_end_waits_for_its_share():
    (_, asked) = read_oils("olive 40, sunflowr", NAMES)
    assert with_name("olive 40, sunflowr", asked, "sunflower") == "olive 40, sunflower "


@pytest.mark.parametrize(
    ("text", "expected"),
    [("", True), ("olive 40", True), ("olive 40, palm", True), ("olive, palm", False), ("olive 40, blah 5", False), ("olive 40, palm 60", False),
     ("olive 40, palm 80", False)],
)  # fmt: skip
def test_another_oil_may_come_where_all_before_the_last_has_its_share_and_something_is_missing(text, expected):
    assert takes_another(read_oils(text, NAMES)) is expected


def test_oils_put_in_one_after_the_other_are_read_as_typed_ones_are():
    text = ""
    for key in USUAL_OILS:
        text = with_another(text, NAMES.written(key)) + "5"
    assert read(text) == [(key, "5", False) for key in USUAL_OILS]
    assert with_another("olive 40,\n", "palm") == "olive 40, palm "


@pytest.mark.parametrize(
    ("text", "taken", "expected"),
    [
        ("coconut 20, olive 45, sunflower 5, palm 30", (), "Olive, palm, coconut and 1 more"),
        ("coconut 20, olive 45, palm 35", ("olive, palm, coconut", "Olive, palm, coconut 2"), "Olive, palm, coconut 3"),
        ("high oleic 20, lard 80", (), "Lard"),
        ("", (), ""),
    ],
)
def test_a_formula_is_called_by_its_three_main_oils_and_how_many_more_and_never_as_another_one(text, taken, expected):
    assert name_by_oils(read_oils(text, NAMES), NAMES, taken) == expected


def test_a_name_of_several_oils_is_asked_back_with_just_those():
    (asked,) = read_oils("high oleic 20", NAMES)
    assert asked.key is None
    assert set(asked.candidates) == {"sunflower_high_oleic", "safflower_high_oleic"}
    assert codes("high oleic 20") == ["oil-ambiguous"]


def test_an_own_oil_that_is_called_as_one_of_the_table_makes_the_name_ask_back():
    own = replace(oils()["olive"], key="own:1", name="Olive")
    names = OilNames({**oils(), "own:1": own})
    (asked,) = read_oils("olive 100", names)
    assert asked.key is None
    assert set(asked.candidates) == {"olive", "own:1"}
    assert [entry.key for entry in read_oils(f"{names.written('own:1')} 60, {names.written('olive')} 40", names)] == ["own:1", "olive"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("olive 40, palm", ["share-missing"]),
        ("40, palm 60", ["oil-missing"]),
        ("olive, palm 60", ["share-missing"]),
        ("blah", ["oil-not-known"]),
        ("olive 40 g", []),  # the strict reader of the row refuses the unit
    ],
)
def test_what_is_half_an_entry_is_told(text, expected):
    assert codes(text) == expected


def test_a_minus_sign_is_passed_on_to_be_refused():
    assert read("olive -40") == [("olive", "-40", False)]
    assert read("olive - 40") == [("olive", "40", False)]


def test_late_is_read_beside_a_name_and_never_between_two_oils():
    assert read("olive 95, castor 5 late") == read("olive 95, castor late 5") == [("olive", "95", False), ("castor", "5", True)]
    assert read("olive 95, 5 castor (late)")[1] == ("castor", "5", True)
    # Of which of the two it is nobody could tell.
    assert read("olive 95 late castor 5")[1][0] is None


def test_the_rest_goes_to_the_oil_without_a_share_or_to_any_of_them():
    text = "olive 40, palm, coconut 20"
    assert [(entry.key, made) for entry, made in with_rest(text, read_oils(text, NAMES))] == [("palm", "olive 40, palm 40, coconut 20")]
    text = "olive 40, palm 35,5"
    assert [made for _, made in with_rest(text, read_oils(text, NAMES))] == ["olive 64.5, palm 35,5", "olive 40, palm 60"]
    # Too much: only an oil that has as much can give it up.
    text = "olive 90, palm 15"
    assert [made for _, made in with_rest(text, read_oils(text, NAMES))] == ["olive 85, palm 15", "olive 90, palm 10"]
    for unclear in ("olive 40, palm", "olive, palm", "olive x 5/0, palm 3", "olive 40, palm 60"):
        for _, made in with_rest(unclear, read_oils(unclear, NAMES)):
            assert total_percent(read_oils(made, NAMES)) == 100


WORDS = st.sampled_from([*(NAMES.written(key) for key in oils()), "blah", "sunflowr", "lot B", "x"])
SHARES = st.sampled_from(["40", "12,5", "33 1/3", "0.5 %", "7%", "½", "100"])
ENTRIES = st.lists(st.tuples(WORDS, SHARES), min_size=1, max_size=8)


@given(ENTRIES, st.sampled_from([", ", "\n", "; ", " ;  "]))
def test_no_entry_is_dropped_or_changed(entries, between):
    found = read_oils(between.join(f"{name} {share}" for name, share in entries), NAMES)
    assert [(entry.name, entry.share) for entry in found] == entries


@given(st.text(max_size=200))
def test_any_text_is_read_and_every_digit_of_it_stands_in_some_entry(text):
    found = read_oils(text, NAMES)
    told = "".join(entry.name + entry.share for entry in found)
    assert [char for char in sorted(told) if char in "0123456789"] == [char for char in sorted(text) if char in "0123456789"]


ANY_NAMES = st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=30)
OWN_NAMES = ANY_NAMES.map(lambda name: " ".join(name.split())).filter(bool)
NUMBERS = st.decimals(min_value="0.01", max_value=100, places=2).map(str) | st.sampled_from(["33 1/3", "½", "12,5", "7 %"])


@given(st.data())
def test_what_is_written_is_read_back_as_it_was(data):
    own_names = data.draw(st.lists(OWN_NAMES, max_size=3, unique=True))
    own = {f"own:o{n}": replace(oils()["olive"], key=f"own:o{n}", name=name, inci_name="") for n, name in enumerate(own_names)}
    names = OilNames({**oils(), **own})
    rows = data.draw(
        st.lists(st.tuples(st.sampled_from(sorted(names.oils)), NUMBERS, st.booleans()), min_size=1, max_size=8)
    )
    values = {}
    for number, (key, share, late) in enumerate(rows):
        values |= {
            f"oils.{number}.oil": key,
            f"oils.{number}.share_fraction": share,
            f"oils.{number}.added": "late" if late else "main",
        }
    language = data.draw(st.sampled_from(LANGUAGES))
    with speaking(language):
        text = write_oils(values, names)
        assert row_values(read_oils(text, names)) == values, text


@given(st.fractions(min_value=0, max_value=100, max_denominator=300))
def test_a_number_is_written_exactly(number):
    text = typed_number(number)
    whole, _, part = text.rpartition(" ")
    assert Fraction(part) + Fraction(whole or 0) == number
