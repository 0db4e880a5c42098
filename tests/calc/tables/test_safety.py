"""The tables of the safety pages: what may not be shown is refused, and the two languages say the same."""

import re
from pathlib import Path

import pytest
from changed_safety import changed_tables, tables_in

from calc.safety import cards, equipment, limits, points, upkeep
from calc.tables import safety as tables


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
        ("upkeep", "wires", "steps", "upkeep_wires_1 upkeep_luck", "no statement upkeep_luck"),
        ("upkeep", "wires", "danger", "", "danger is empty"),
        ("upkeep", "wires", "key", "bowl", "stands twice"),
        ("upkeep", "wires", "every", "upkeep_wires", "one figure"),
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
    tmp_path: Path, table: str, key: str, column: str, text: str, said: str
) -> None:
    with changed_tables(tmp_path) as edit, pytest.raises(tables.SafetyDataError) as refused:
        line = edit(table, key, column, text)
        for load in (tables.statements, cards.cards, points.phases, points.daily, equipment.equipment, equipment.materials, equipment.labels, limits.limits, upkeep.usual_tasks):
            load()
    assert said in str(refused.value)
    assert f"{table}.csv" in str(refused.value) or table == "values"
    if "line" in str(refused.value) and column != "key" and table != "walk":
        assert f"line {line}:" in str(refused.value)


def test_an_absent_table_is_told_in_one_plain_sentence(tmp_path: Path) -> None:
    missing = pytest.raises(tables.SafetyDataError, match=r"^The safety tables are missing: [^.]*\.csv [^.]*\.$")
    with tables_in(tmp_path / "nowhere"), missing:
        tables.statements()


def test_unknown_statement_is_named() -> None:
    with pytest.raises(tables.SafetyDataError, match="page_of_luck"):
        tables.say("page_of_luck")


def test_both_languages_say_the_same_figures_and_never_the_word_that_means_bleach() -> None:
    for statement in tables.every_statement():
        english, spanish = (re.findall(r"\d+(?:\.\d+)?", text) for text in (statement.en, statement.es))
        assert english == spanish, statement.key
        # In some countries that word is bleach; a translator's glossary, from memory.
        assert not re.search(r"lej[ií]a", statement.es, re.IGNORECASE), statement.key
        assert statement.es.count("?") == statement.es.count("¿"), statement.key
        assert statement.en.endswith("?") == statement.es.endswith("?"), statement.key


def test_every_row_is_shown_or_said_somewhere() -> None:
    """No sentence of the walk and no card's line is left over: each belongs to a point, a card or a list."""
    used = {each.key for card in cards.cards() for each in (card.title, *card.lines)}
    for phase in points.phases():
        used.add(phase.title.key)
        for check in phase.checks:
            said = (check.what, check.why, check.question, check.stop, check.if_no, check.teach, check.teach_answer)
            used |= {each.key for each in said if each}
    used |= {each.key for point in points.daily() for each in (point.what, point.question, point.if_no)}
    used |= {each.key for row in equipment.equipment() for each in (row.task, row.eyes, row.hands, row.body, row.air)}
    used |= {each.key for row in equipment.materials() for each in (row.name, row.why)}
    used |= {each.key for limit in limits.limits() for each in (limit.name, limit.built_in)}
    used |= {each.key for row in equipment.labels() for each in (row.product, row.signal, *row.hazards)}
    starts = ("eyes_", "skin_", "burn_", "shock_", "breath_", "swallow_", "fire_", "trap_", "spill_", "gear_", "material_", "task_", "haz_", "limit_")
    used |= {each.key for task in upkeep.usual_tasks() for each in (task.title, *task.danger, *task.steps, task.every)}
    starts += ("daily_", "upkeep_")
    starts += tuple(f"{phase.key}_" for phase in points.phases())
    assert not [each.key for each in tables.every_statement() if each.key.startswith(starts) and each.key not in used]
