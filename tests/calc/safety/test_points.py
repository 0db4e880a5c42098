"""The points of the walk and of the daily check: which there are, and that no stored one loses its place."""

from pathlib import Path

import pytest
from changed_safety import changed_tables

from calc.safety import points
from calc.tables import safety as tables
from calc.workshop.safety_place import PHASES


def test_the_walk_has_the_nine_parts_and_asks_back_where_it_kills() -> None:
    walk = points.phases()
    assert {phase.key: phase.title.en for phase in walk} == PHASES
    asked_back = {check.key for phase in walk for check in phase.checks if check.teach}
    assert {"before-sheet", "weigh-name", "dissolve-water", "dissolve-portions", "lift-people", "cut-jam"} <= asked_back
    for phase in walk:
        for check in phase.checks:
            assert check.question.en.count("?") >= 1 and check.stop.en.startswith("Stop"), check.key
            assert check.stop.es.startswith(("Pare", "Deje")), check.key


def test_a_question_of_the_walk_asks_for_one_thing_about_the_helper() -> None:
    """Rows before-adult to before-sober of shared/safety/walk.csv: each its own Yes and its own way on."""
    before = next(phase for phase in points.phases() if phase.key == "before")
    keys = [check.key for check in before.checks]
    assert {"before-adult", "before-shown", "before-fit", "before-rested", "before-sober"} <= set(keys)
    for check in before.checks:
        if check.key in ("before-adult", "before-shown", "before-fit", "before-rested"):
            assert "," not in check.question.en, check.question.en


def test_what_nobody_can_put_right_the_same_day_is_marked() -> None:
    """Workshop practice: age, open cuts, drink and tiredness last longer than an hour. All else can be mended at once."""
    marked = {check.key for phase in points.phases() for check in phase.checks if check.other_day}
    assert marked == {"before-adult", "before-fit", "before-rested", "before-sober"}


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_daily_check_is_seven_points_that_are_read_in_half_a_minute(language: str) -> None:
    """At most seven, and 60 to 90 s to read and do, as the workshops wish it; 200 words a minute are read by most: both
    common practice, no source. Half of the time is left to look at the things themselves.
    """
    daily = points.daily()
    assert len(daily) <= 7
    assert [point.key for point in daily if point.other_day] == ["daily-fit"], "rest comes with a night"
    said = " ".join(f"{getattr(point.what, language)} {getattr(point.question, language)}" for point in daily)
    assert 60 * len(said.split()) / 200 <= 30, len(said.split())
    for point in daily:
        assert getattr(point.question, language).endswith("?"), point.key


def test_an_eighth_daily_point_is_refused(tmp_path: Path) -> None:
    with changed_tables(tmp_path):
        path = tables.SAFETY / "daily.csv"
        path.write_text(path.read_text(encoding="utf-8") + "daily-cat,before_air,daily_air_ask,before_air_no,,\n", encoding="utf-8")
        with pytest.raises(tables.SafetyDataError, match="more than 7 points"):
            points.daily()


def test_what_is_amiss_with_the_workshop_itself_is_marked_and_what_one_person_lacks_is_not() -> None:
    """Common practice, no source: a dry eyewash blinds whoever pours; torn gloves are changed by the one who wears them."""
    assert {point.key for point in points.daily() if not point.place} == {"daily-fit", "daily-wear"}
    marked = {check.key for phase in points.phases() for check in phase.checks if check.place}
    assert marked == {"before-card", "before-eyewash", "before-air", "before-floor"}


def test_the_language_of_the_walk_is_its_first_point() -> None:
    assert points.phases()[0].checks[0].key == "before-language"


def test_the_hazards_of_food_bottles_melter_sugar_and_rags_are_asked_about_where_lye_is_handled() -> None:
    """Carbon monoxide from reducing sugars in caustic: rows dissolve_sugar of shared/safety/statements.csv name the source."""
    asked = {(phase.key, check.key) for phase in points.phases() for check in phase.checks}
    assert {("before", "before-food"), ("before", "before-jars"), ("mix", "mix-melter"), ("close", "close-rags")} <= asked
    # Solid caustic is dissolved, premixed lye is not: both ways meet the point.
    assert {("dissolve", "dissolve-sugar"), ("mix", "mix-sugar")} <= asked
    assert "monóxido de carbono" in tables.say("dissolve_sugar_why").es


def test_the_dangers_of_vessel_step_current_mixer_hoist_dust_and_undiluted_oil_are_asked_about():
    """Where no line below names a source, the rows of shared/safety/statements.csv do, or it is workshop practice."""
    asked = {(phase.key, check.key) for phase in points.phases() for check in phase.checks}
    assert {
        ("before", "before-health"), ("before", "before-power"), ("tank", "tank-step"), ("mix", "mix-mixer"), ("mix", "mix-floor"),
        ("mix", "mix-neat"), ("mix", "mix-tilt"), ("lift", "lift-brake"), ("lift", "lift-down"), ("cut", "cut-dust"),
    } <= asked  # fmt: skip
    # Bright metal shows an infrared thermometer little of its heat (tables of emissivity): both ways to lye meet the point.
    assert {("dissolve", "dissolve-probe"), ("tank", "tank-probe")} <= asked
    assert "contact probe" in tables.say("dissolve_probe_ask").en
    # 29 CFR 1910.147(a)(2)(iii): a plug that is out and in the worker's own control.
    answer = tables.say("mix_mixer_answer").en
    assert answer.index("unplug") < answer.index("Only then touch")
    # 29 CFR 1910.179(n)(3)(vii): the brake is tried by raising the load a little.
    assert tables.say("lift_brake_ask").en.startswith("Raised a little and stopped")


# The points that walks were begun with before there were more.
FIRST_POINTS = {
    "before": "language sheet adult shown fit rested sober places card eyewash second others food jars air floor",
    "protection": "goggles shield gloves clothes loose",
    "weigh": "name lot scale container back",
    "dissolve": "water room portions heat sugar label",
    "tank": "stir clear ready open after",
    "mix": "oils melter sugar lye fragrance pour rise",
    "lift": "load gear hands people stay",
    "cut": "block wires air hands jam",
    "close": "caustic vessels floor rags wear record",
}


def test_a_point_that_stored_walks_are_frozen_with_keeps_its_place_and_its_order():
    """Its screen is looked up by its key, and what a stop says of its phase by the phase."""
    for phase in points.phases():
        now = [check.key for check in phase.checks]
        first = [f"{phase.key}-{each}" for each in FIRST_POINTS[phase.key].split()]
        assert [key for key in now if key in first] == first


def test_nobody_has_to_say_what_is_nobodys_business():
    """A doctor is asked, not the workshop: one Yes is the same whether nothing is true or a doctor has agreed."""
    health = next(check for phase in points.phases() for check in phase.checks if check.key == "before-health")
    assert health.question.en.startswith("If none is true, answer Yes.") and "Nobody has to say why" in health.stop.en
    assert not health.teach and not health.other_day
