"""What a workshop says of itself for an emergency and for the walk: its place, its own limits, its own points."""

import pytest

from calc.entry.declare import describe
from calc.entry.fields import check, read
from calc.entry.problems import InputProblems
from calc.safety import limits
from calc.tables import safety as tables
from calc.workshop.safety_place import LIMITS, SafetyPlace, own_limits

PLACE = {"emergency_number": "112", "address": "4 Sluice Lane\nblue gate", "eyewash": "left of the door", "training_months": "12"}


def test_own_points_are_added_to_a_part_of_the_walk() -> None:
    own = {"own.0.phase": "tank", "own.0.what": "Level", "own.0.question": "Between the marks?", "own.0.stop": "It is below."}
    place = read(SafetyPlace, {**PLACE, **own}).value
    assert place.own[0].phase == "tank" and place.poison_centre is None
    assert place.address == "4 Sluice Lane\nblue gate"


def test_the_place_asks_for_what_a_caller_must_say() -> None:
    with pytest.raises(InputProblems) as refused:
        read(SafetyPlace, {})
    assert {each.field for each in refused.value.problems} == {"emergency_number", "address", "eyewash", "training_months"}
    phase = next(info for info in describe(SafetyPlace) if info.name == "own")
    assert phase.minimum == 0


@pytest.mark.parametrize("number", ["911 or 112", "9, then 911", "112 (gate 4)", "+44 (0)161 496 0000", "call Ann"])
def test_a_field_that_holds_more_than_one_number_is_refused(number: str) -> None:
    for name in ("emergency_number", "poison_centre"):
        with pytest.raises(InputProblems) as refused:
            check(read(SafetyPlace, {**PLACE, name: number}).value)
        assert [(each.field, each.code) for each in refused.value.problems] == [(name, "not-one-number")]
        assert number in refused.value.problems[0].message and refused.value.problems[0].remedy


@pytest.mark.parametrize(("name", "most"), [("eyewash_days", 7), ("eyewash_months", 12)])
def test_the_eyewash_may_be_checked_more_often_than_the_standard_asks_never_less(name: str, most: int) -> None:
    # ANSI/ISEA Z358.1 4.6.2 and 4.6.5, as an eyewash maker's manual gives them: weekly, yearly.
    tight = read(SafetyPlace, {**PLACE, name: str(most - 1)}).value
    assert getattr(tight, name) == most - 1
    assert getattr(read(SafetyPlace, PLACE).value, name) is None
    with pytest.raises(InputProblems) as refused:
        read(SafetyPlace, {**PLACE, name: str(most + 1)})
    assert [each.field for each in refused.value.problems] == [name]
    with pytest.raises(InputProblems):
        read(SafetyPlace, {**PLACE, "training_months": "61"})


# field, unit, the built-in limit, one a little stricter, one a little looser, what the refusal must name as its source.
OWN_LIMITS = [
    # New Jersey Department of Health, fact sheet on sodium hydroxide: rinse for at least 30 minutes.
    ("flush_minutes", "", "30", "31", "29", "New Jersey fact sheet"),
    # ANSI/ISEA Z358.1 as a page on the 2009 edition gives it: 10 seconds, 60 to 100 °F (16 to 38 °C), weekly, yearly.
    ("reach_seconds", "", "10", "9", "11", "Z358.1"),
    ("tepid_low_c", "degC", "16", "16.5", "15.5", "Z358.1"),
    ("tepid_high_c", "degC", "38", "37.5", "38.5", "Z358.1"),
    ("tepid_high_c", "degF", "100", "99", "101", "Z358.1"),
    ("eyewash_days", "", "7", "6", "8", "Z358.1"),
    ("eyewash_months", "", "12", "11", "13", "Z358.1"),
    # Resistance charts of plastics, from memory: polyethylene to about 60 °C (140 °F).
    ("hottest_lye_c", "degC", "60", "59.5", "60.5", "polyethylene"),
    ("hottest_lye_c", "degF", "140", "139", "141", "from memory"),
    # Producer's sheet on 50 % caustic soda: begins to crystallise at 12 to 15 °C.
    ("coldest_tank_c", "degC", "15", "16", "14", "producer's data sheet"),
    ("coldest_tank_c", "degF", "59", "60", "58", "producer's data sheet"),
    # NIOSH lifting equation, load constant 23 kg (51 lb), on a page of CCOHS.
    ("lift_g", "kg", "23", "22,5", "23.5", "CCOHS"),
    ("lift_g", "lb", "51", "50", "52", "CCOHS"),
    # 29 CFR 1910.242(b): below 30 psi.
    ("air_psi", "", "30", "29", "31", "29 CFR 1910.242(b)"),
    # 40 CFR 261.22: at least 12.5.
    ("waste_ph", "", "12.5", "9", "12.6", "40 CFR 261.22"),
]


@pytest.mark.parametrize(("name", "unit", "built_in", "strict", "loose", "source"), OWN_LIMITS)
def test_a_limit_may_be_held_more_strictly_never_less(
    name: str, unit: str, built_in: str, strict: str, loose: str, source: str
) -> None:
    def place(text: str) -> SafetyPlace:
        return read(SafetyPlace, {**PLACE, name: text, f"{name}.unit": unit}).value

    assert getattr(place(""), name) is None
    assert getattr(place(strict), name) is not None and own_limits(place(strict)) == 1
    with pytest.raises(InputProblems) as refused:
        place(loose)
    [problem] = refused.value.problems
    assert problem.field == name
    assert source in problem.message and built_in in problem.message and problem.remedy
    # And what the pages show as built in, in that unit, is the same.
    limit = next(each for each in limits.limits() if each.key == name)
    shown = {key: (symbol, value) for key, symbol, value in limit.figures}
    assert shown[unit][1] == float(built_in)
    assert limit.side == ("most" if float(strict.replace(",", ".")) < float(built_in) else "least")


def test_every_limit_of_the_form_is_one_of_the_table_in_the_units_of_the_form() -> None:
    offered = {info.name: info.offered for info in describe(SafetyPlace)}
    assert {limit.key for limit in limits.limits()} == {*LIMITS} == {name for name, *_ in OWN_LIMITS}
    for limit in limits.limits():
        assert tuple(unit for unit, _, _ in limit.figures) == (offered[limit.key] or ("",))
        for (_, symbol, value), key in zip(limit.figures, limit.uses, strict=True):
            figure = tables.values()[key]
            assert (float(figure.value), figure.symbol) == (value, symbol)
            assert figure.shown in limit.built_in.en and figure.shown in limit.built_in.es


@pytest.mark.parametrize("text", ["45 °C", "45c", "44 1/2", "½", "4/5"])
def test_a_limit_that_a_script_reads_is_one_plain_number(text: str) -> None:
    with pytest.raises(InputProblems) as refused:
        read(SafetyPlace, {**PLACE, "hottest_lye_c": text})
    assert [(each.field, each.code) for each in refused.value.problems] == [("hottest_lye_c", "not-plain")]


def test_the_coldest_water_of_the_eyewash_is_not_warmer_than_the_warmest() -> None:
    turned = read(SafetyPlace, {**PLACE, "tepid_low_c": "30", "tepid_high_c": "25"}).value
    with pytest.raises(InputProblems) as refused:
        check(turned)
    assert [each.field for each in refused.value.problems] == ["tepid_high_c"]
    check(read(SafetyPlace, {**PLACE, "tepid_low_c": "25", "tepid_high_c": "30"}).value)


ENGLISH = {"what": "Level", "question": "Between the marks?", "stop": "It is below."}
SPANISH = {"what_es": "Nivel", "question_es": "¿Entre las marcas?", "stop_es": "Está por debajo."}


@pytest.mark.parametrize("said", [ENGLISH, SPANISH, ENGLISH | SPANISH], ids=["en", "es", "both"])
def test_an_own_point_is_whole_in_one_language_or_in_both(said: dict[str, str]) -> None:
    whole = {f"own.2.{part}": words for part, words in said.items()} | {"own.2.phase": "tank"}
    place = read(SafetyPlace, {**PLACE, **whole}).value
    check(place)
    assert {part: getattr(place.own[0], part) for part in said} == said
    for part in said:
        with pytest.raises(InputProblems) as refused:
            check(read(SafetyPlace, {**PLACE, **whole, f"own.2.{part}": ""}).value)
        # By its place among those that are filled in.
        [problem] = refused.value.problems
        assert problem.field == f"own.0.{part}" and ("Spanish" if part.endswith("_es") else "English") in problem.message
