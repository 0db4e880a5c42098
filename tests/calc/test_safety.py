"""The tables of the safety pages: what may not be shown is refused, and the two languages say the same."""

import csv
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from calc import safety, safety_tables
from calc.language import LANGUAGES, speaking
from calc.safety_place import PHASES
from calc.safety_steps import safety_steps, splash

Edit = Callable[[str, str, str, str], int]


def clear_caches() -> None:
    for module in (safety, safety_tables):
        for name in dir(module):
            clear = getattr(getattr(module, name), "cache_clear", None)
            if clear is not None:
                clear()


@pytest.fixture
def edit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Edit]:
    """Change one cell of the row with this key in a copy of the tables; gives the row's line."""
    folder = tmp_path / "safety"
    shutil.copytree(safety_tables.FOLDER, folder)
    monkeypatch.setattr(safety_tables, "FOLDER", folder)
    clear_caches()

    def change(table: str, key: str, column: str, text: str) -> int:
        path = folder / f"{table}.csv"
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        index = next(index for index, row in enumerate(rows) if key in (row.get("key"), row.get("statement"), row.get("phase")))
        rows[index][column] = text
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
        return index + 2

    yield change
    monkeypatch.undo()
    clear_caches()


@pytest.mark.parametrize(
    ("table", "key", "column", "text", "said"),
    [
        ("statements", "eyes_rinse", "spanish", "", "spanish is empty"),
        ("statements", "eyes_rinse", "english", " ", "english is empty"),
        ("statements", "eyes_rinse", "source", "", "source is empty"),
        ("statements", "eyes_rinse", "how", "trust me", "how it is known"),
        ("statements", "eyes_time", "spanish", "Siga enjuagando.", "figures of the two languages differ"),
        ("statements", "eyes_time", "english", "At least {flush_minutes} or 15 minutes", "figure of its own"),
        ("statements", "fact_facewash", "how", "read", "rests on memory"),
        ("statements", "eyes_lenses", "key", "eyes_rinse", "stands twice"),
        ("page_words", "page_emergency", "spanish", "", "spanish is empty"),
        ("page_words", "page_emergency", "key", "eyes_rinse", "stands twice"),
        ("values", "flush_minutes", "source", "", "source is empty"),
        ("values", "flush_minutes", "value", "half an hour", "is no number"),
        ("values", "flush_minutes", "unit", "fortnights", "no unit known"),
        ("values", "flush_minutes", "key", "flush", "values.csv has no flush_minutes"),
        ("emergency", "eyes_time", "statement", "eyes_tme", "no statement eyes_tme"),
        ("emergency", "eyes_time", "order", "1", "order is not 3"),
        ("emergency", "eyes_time", "first", "yes", "first moves"),
        ("emergency", "eyes_rinse", "first", "", "first moves"),
        ("emergency", "eyes_rinse", "flush_value", "watch_low_hours", "flush_value is none of"),
        ("walk", "weigh-name", "phase", "weight", "no phase weight"),
        ("walk", "weigh-name", "stop", "", "stop is empty"),
        ("walk", "weigh-name", "teach_answer", "", "needs its answer"),
        ("walk", "weigh-lot", "key", "weigh-name", "stands twice"),
        ("walk", "weigh-back", "pause", "2", "does not pause after 5 to 9"),
        ("walk", "weigh-back", "other_day", "no", "neither yes nor empty"),
        ("daily", "daily-fit", "question", "daily_luck", "no statement daily_luck"),
        ("daily", "daily-fit", "if_no", "", "if_no is empty"),
        ("daily", "daily-fit", "other_day", "no", "neither yes nor empty"),
        ("daily", "daily-air", "place", "no", "place is neither yes nor empty"),
        ("walk", "before-air", "place", "no", "place is neither yes nor empty"),
        ("daily", "daily-air", "key", "daily-fit", "stands twice"),
        ("daily_words", "daily_fit", "spanish", "", "spanish is empty"),
        ("materials", "glass", "verdict", "perhaps", "verdict"),
        ("labels", "lye", "hazards", "haz_burns haz_moon", "no statement haz_moon"),
        ("labels", "lye", "pictogram", "skull", "no pictogram skull"),
        ("equipment", "dissolve", "eyes", "gear_sunglasses", "no statement gear_sunglasses"),
        ("limits", "lift_g", "side", "about", "side is none of"),
        ("limits", "lift_g", "figures", "lift_stone lift_lb", "there is no lift_stone"),
        ("limits", "hottest_lye_c", "points", "dissolve-moon", "there is no dissolve-moon"),
        ("limits", "lift_g", "name", "limit_luck", "no statement limit_luck"),
        ("limits", "lift_g", "key", "wage", "has no field wage"),
    ],
)
def test_a_row_that_lacks_something_is_refused(
    edit: Edit, table: str, key: str, column: str, text: str, said: str
) -> None:
    line = edit(table, key, column, text)
    with pytest.raises(safety.SafetyDataError) as refused:
        for load in (safety.statements, safety.cards, safety.phases, safety.daily, safety.equipment, safety.materials, safety.labels, safety.limits):
            load()
    assert said in str(refused.value)
    assert f"{table}.csv" in str(refused.value) or table == "values"
    if "line" in str(refused.value) and column != "key" and table != "walk":
        assert f"line {line}:" in str(refused.value)


def test_an_absent_table_is_told_in_one_plain_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(safety_tables, "FOLDER", tmp_path / "nowhere")
    clear_caches()
    with pytest.raises(safety.SafetyDataError, match=r"^The safety tables are missing: [^.]*\.csv [^.]*\.$"):
        safety.statements()
    monkeypatch.undo()
    clear_caches()


def test_unknown_statement_is_named() -> None:
    with pytest.raises(safety.SafetyDataError, match="page_of_luck"):
        safety.say("page_of_luck")


def test_both_languages_say_the_same_figures_and_never_the_word_that_means_bleach() -> None:
    for statement in safety.every_statement():
        english, spanish = (re.findall(r"\d+(?:\.\d+)?", text) for text in (statement.en, statement.es))
        assert english == spanish, statement.key
        # In some countries that word is bleach (glossary of the safety reference, section F).
        assert not re.search(r"lej[ií]a", statement.es, re.IGNORECASE), statement.key
        assert statement.es.count("?") == statement.es.count("¿"), statement.key
        assert statement.en.endswith("?") == statement.es.endswith("?"), statement.key


def test_every_row_is_shown_or_said_somewhere() -> None:
    """No sentence of the walk and no card's line is left over: each belongs to a point, a card or a list."""
    used = {each.key for card in safety.cards() for each in (card.title, *card.lines)}
    for phase in safety.phases():
        used.add(phase.title.key)
        for check in phase.checks:
            said = (check.what, check.why, check.question, check.stop, check.if_no, check.teach, check.teach_answer)
            used |= {each.key for each in said if each}
    used |= {each.key for point in safety.daily() for each in (point.what, point.question, point.if_no)}
    used |= {each.key for row in safety.equipment() for each in (row.task, row.eyes, row.hands, row.body, row.air)}
    used |= {each.key for row in safety.materials() for each in (row.name, row.why)}
    used |= {each.key for limit in safety.limits() for each in (limit.name, limit.built_in)}
    used |= {each.key for row in safety.labels() for each in (row.product, row.signal, *row.hazards)}
    starts = ("eyes_", "skin_", "burn_", "shock_", "breath_", "swallow_", "fire_", "trap_", "spill_", "gear_", "material_", "task_", "haz_", "limit_")
    starts += ("daily_",)
    starts += tuple(f"{phase.key}_" for phase in safety.phases())
    assert not [each.key for each in safety.every_statement() if each.key.startswith(starts) and each.key not in used]


def test_cards_begin_with_the_first_move_and_water_comes_before_the_phone() -> None:
    cards = {card.key: card for card in safety.cards()}
    assert list(cards) == ["eyes", "skin", "burn", "breathing", "swallowed", "fire", "trapped", "shock", "spill"]
    assert "Rinse NOW" in cards["eyes"].lines[0].en and "YA" in cards["eyes"].lines[0].es
    for card in cards.values():
        assert not card.lines[0].en.endswith("?"), "no question stands in front of the first move"
    for key in ("eyes", "skin"):
        lines = [line.en for line in cards[key].lines]
        rinse = next(index for index, line in enumerate(lines) if "rins" in line.lower() or "water runs" in line)
        call = next(index for index, line in enumerate(lines) if "calls emergency" in line or "medical help." in line)
        assert rinse < call
        assert cards[key].flush_source is not None
    assert cards["fire"].flush_minutes is None
    # Burning oil and water: what must not be done is as urgent as what must, and the head of the card speaks of water.
    assert any(line.en.startswith("NO water") for line in cards["fire"].lines[: cards["fire"].first])
    assert "on a person" in safety.say("water_first").en and "en una persona" in safety.say("water_first").es


def test_a_figure_in_a_first_aid_line_is_read_or_the_line_says_otherwise() -> None:
    figures = safety.values()
    for card in safety.cards():
        for line in card.lines:
            assert all(figures[key].how == "read" or line.how == figures[key].how for key in line.uses), line.key


def test_the_walk_has_the_nine_parts_and_asks_back_where_it_kills() -> None:
    phases = safety.phases()
    assert {phase.key: phase.title.en for phase in phases} == PHASES
    asked_back = {check.key for phase in phases for check in phase.checks if check.teach}
    assert {"before-sheet", "weigh-name", "dissolve-water", "dissolve-portions", "lift-people", "cut-jam"} <= asked_back
    for phase in phases:
        for check in phase.checks:
            assert check.question.en.count("?") >= 1 and check.stop.en.startswith("Stop"), check.key
            assert check.stop.es.startswith(("Pare", "Deje")), check.key


def test_labels_say_their_signal_word_first_and_caustic_has_its_pictogram() -> None:
    labels = {label.key: label for label in safety.labels()}
    # Signal word Danger with H314 (suppliers' safety data sheets, 2013 and 2014); Spanish: Peligro (education sheet).
    for key in ("solid", "potash", "lye", "potash_lye"):
        assert (labels[key].signal.en, labels[key].signal.es) == ("DANGER", "PELIGRO")
        assert labels[key].pictogram == "corrosion"
        assert any("severe skin burns" in hazard.en for hazard in labels[key].hazards)


def test_materials_that_make_hydrogen_never_touch_lye() -> None:
    verdicts = {material.key: material.verdict for material in safety.materials()}
    # Producers' pages on caustic: aluminium, zinc and tin give hydrogen; leather and wool are destroyed.
    assert verdicts["light_metals"] == verdicts["copper"] == verdicts["leather"] == "not"
    assert verdicts["stainless"] == verdicts["hdpe"] == "may"


def test_a_question_of_the_walk_asks_for_one_thing_about_the_helper() -> None:
    """Reference A10: adult, trained, hands, rested, sober; each its own Yes and its own way on."""
    before = next(phase for phase in safety.phases() if phase.key == "before")
    keys = [check.key for check in before.checks]
    assert {"before-adult", "before-shown", "before-fit", "before-rested", "before-sober"} <= set(keys)
    for check in before.checks:
        if check.key in ("before-adult", "before-shown", "before-fit", "before-rested"):
            assert "," not in check.question.en, check.question.en


def test_what_nobody_can_put_right_the_same_day_is_marked() -> None:
    """Workshop practice: age, open cuts, drink and tiredness last longer than an hour. All else can be mended at once."""
    marked = {check.key for phase in safety.phases() for check in phase.checks if check.other_day}
    assert marked == {"before-adult", "before-fit", "before-rested", "before-sober"}


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_daily_check_is_seven_points_that_are_read_in_half_a_minute(language: str) -> None:
    """At most seven, and 60 to 90 s to read and do, as the workshops wish it; 200 words a minute are read by most: both
    common practice, no source. Half of the time is left to look at the things themselves.
    """
    points = safety.daily()
    assert len(points) <= 7
    assert [point.key for point in points if point.other_day] == ["daily-fit"], "rest comes with a night"
    said = " ".join(f"{getattr(point.what, language)} {getattr(point.question, language)}" for point in points)
    assert 60 * len(said.split()) / 200 <= 30, len(said.split())
    for point in points:
        assert getattr(point.question, language).endswith("?"), point.key


def test_an_eighth_daily_point_is_refused(edit: Edit) -> None:
    edit("daily", "daily-phone", "other_day", "")
    path = safety_tables.FOLDER / "daily.csv"
    path.write_text(path.read_text(encoding="utf-8") + "daily-cat,before_air,daily_air_ask,before_air_no,,\n", encoding="utf-8")
    with pytest.raises(safety.SafetyDataError, match="more than 7 points"):
        safety.daily()


def test_what_is_amiss_with_the_workshop_itself_is_marked_and_what_one_person_lacks_is_not() -> None:
    """Common practice, no source: a dry eyewash blinds whoever pours; torn gloves are changed by the one who wears them."""
    assert {point.key for point in safety.daily() if not point.place} == {"daily-fit", "daily-wear"}
    marked = {check.key for phase in safety.phases() for check in phase.checks if check.place}
    assert marked == {"before-card", "before-eyewash", "before-air", "before-floor"}


def test_the_language_of_the_walk_is_its_first_point() -> None:
    assert safety.phases()[0].checks[0].key == "before-language"


def test_the_hazards_of_food_bottles_melter_sugar_and_rags_are_asked_about_where_lye_is_handled() -> None:
    """Safety reference, A9 (food, melter fire, oily rags) and A2.8 (carbon monoxide from reducing sugars in caustic)."""
    asked = {(phase.key, check.key) for phase in safety.phases() for check in phase.checks}
    assert {("before", "before-food"), ("before", "before-jars"), ("mix", "mix-melter"), ("close", "close-rags")} <= asked
    # Solid caustic is dissolved, premixed lye is not: both ways meet the point.
    assert {("dissolve", "dissolve-sugar"), ("mix", "mix-sugar")} <= asked
    assert "monóxido de carbono" in safety.say("dissolve_sugar_why").es


def test_the_dangers_of_vessel_step_current_mixer_hoist_dust_and_undiluted_oil_are_asked_about():
    """Safety reference, A9 (drill and mixer, electricity, hoist, slips, essential oil on skin); the others workshop practice."""
    asked = {(phase.key, check.key) for phase in safety.phases() for check in phase.checks}
    assert {
        ("before", "before-health"), ("before", "before-power"), ("tank", "tank-step"), ("mix", "mix-mixer"), ("mix", "mix-floor"),
        ("mix", "mix-neat"), ("mix", "mix-tilt"), ("lift", "lift-brake"), ("lift", "lift-down"), ("cut", "cut-dust"),
    } <= asked  # fmt: skip
    # Bright metal shows an infrared thermometer little of its heat (tables of emissivity): both ways to lye meet the point.
    assert {("dissolve", "dissolve-probe"), ("tank", "tank-probe")} <= asked
    assert "contact probe" in safety.say("dissolve_probe_ask").en
    # 29 CFR 1910.147(a)(2)(iii): a plug that is out and in the worker's own control.
    answer = safety.say("mix_mixer_answer").en
    assert answer.index("unplug") < answer.index("Only then touch")
    # 29 CFR 1910.179(n)(3)(vii): the brake is tried by raising the load a little.
    assert safety.say("lift_brake_ask").en.startswith("Raised a little and stopped")


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
    for phase in safety.phases():
        now = [check.key for check in phase.checks]
        first = [f"{phase.key}-{each}" for each in FIRST_POINTS[phase.key].split()]
        assert [key for key in now if key in first] == first


def test_nobody_has_to_say_what_is_nobodys_business():
    """A doctor is asked, not the workshop: one Yes is the same whether nothing is true or a doctor has agreed."""
    health = next(check for phase in safety.phases() for check in phase.checks if check.key == "before-health")
    assert health.question.en.startswith("If none is true, answer Yes.") and "Nobody has to say why" in health.stop.en
    assert not health.teach and not health.other_day


def test_who_got_a_shock_is_not_touched_and_a_burn_is_cooled_with_nothing_on_it():
    cards = {card.key: card for card in safety.cards()}
    # An electricity utility's and a hospital group's pages: do not touch, switch off, then the call; to a doctor in every case.
    shock = [line.en for line in cards["shock"].lines]
    assert shock[0].startswith("Do NOT touch") and cards["shock"].first == 1
    assert "Call emergency services at once." in shock and "To a doctor even if" in shock[-1]
    # A burns trust: 20 minutes of cool running water, no ice, creams or oil. Not the time for caustic, nor the workshop's own.
    burn = cards["burn"]
    assert (burn.first, burn.flush_minutes, burn.timed) == (1, 20, "cool")
    assert "20 minutes under cool running water" in burn.lines[0].en and "20 minutos bajo agua corriente fresca" in burn.lines[0].es
    assert any("No ice, no butter, no cream" in line.en for line in burn.lines)
    # A poison centre on essential oils: water for the eyes; what is swallowed can get into the lungs, so the call does not wait.
    assert any("essential oil" in line.en for line in cards["eyes"].lines)
    assert any("essential oil" in line.en and "Call before" in line.en for line in cards["swallowed"].lines)


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_steps_at_the_scale_tell_the_figures_of_the_safety_pages(language):
    """They run in the browser, where the safety tables are not: their figures stand in the words, and must stay the same."""
    figures = safety_tables.values()
    with speaking(language):
        rinse = splash()
        (eyewash,) = (step for step in safety_steps("Vessel", "Mould", solid=False) if step.key == "check:eyewash")
    assert re.findall(r"\d+", rinse) == [figures["flush_minutes"].value]
    wanted = [figures["eyewash_reach_seconds"].value, figures["eyewash_weekly_days"].value]
    assert re.findall(r"\d+", eyewash.how) == wanted
