"""What is declared of stored sheets and deeds against what the app handed out in the past: the kept copies."""

import pytest
from kept_copies import NAMES, blocks, sheets

from calc.block.declared import COMMON, GROUPS
from calc.block.events import Event
from calc.steps.frozen import (
    FrozenAcid,
    FrozenAlkali,
    FrozenOil,
    FrozenPour,
    FrozenRecord,
    OtherStep,
    StepWords,
    Weighing,
    gross,
    gross_before,
    kind_of,
    scent_of,
    tares,
)

CHEMISTRY = {"oils": FrozenOil, "alkalis": FrozenAlkali, "acids": FrozenAcid}


def steps_of(name):
    """Every step of a copy: of its sheets, and those that were put in or changed at a block."""
    found = [step for sheet in sheets(name) for step in sheet["steps"]]
    decided = [event for _, _, events in blocks(name) for event in events if event["kind"] == "decided"]
    return found + [step for event in decided for step in (*event["steps"], *event["replaced"].values())]


def holds(shape, value, *, alone=True):
    """Whether a value has all that a shape can't do without and, where alone, nothing that it doesn't name."""
    return shape.__required_keys__ <= set(value) and (not alone or set(value) <= set(shape.__annotations__))


@pytest.mark.parametrize("name", NAMES)
def test_steps_that_were_ever_stored_lack_only_what_is_declared_as_lacking(name):
    for step in steps_of(name):
        assert holds(Weighing if step["kind"] == "weigh" else OtherStep, step), step["key"]
        assert "es" not in step or holds(StepWords, step["es"]), step["key"]


@pytest.mark.parametrize("name", NAMES)
def test_pours_and_what_they_are_reckoned_with_lack_only_what_is_declared_as_lacking(name):
    for sheet in sheets(name):
        assert holds(FrozenRecord, sheet, alone=False), sheet["code"]
        assert all(holds(FrozenPour, pour) for pour in sheet["pours"]), sheet["code"]
        for part, shape in CHEMISTRY.items():
            assert all(holds(shape, each) for each in sheet["chemistry"][part]), (sheet["code"], part)


@pytest.mark.parametrize("name", NAMES)
def test_deeds_that_were_ever_stored_have_what_every_deed_is_declared_to_have(name):
    for _, _, events in blocks(name):
        assert all(holds(Event, event, alone=False) for event in events)


def test_of_a_deed_nothing_is_read_that_its_kind_is_not_declared_with():
    declared = {field for kind in GROUPS["block"]["kinds"].values() for field in (*kind["must"], *kind["may"])}
    assert set(Event.__annotations__) <= declared | {*COMMON, "at"}


@pytest.mark.parametrize("name", NAMES)
def test_before_the_first_pour_the_vessel_alone_stands_on_its_scale(name):
    for sheet in sheets(name):
        into_vessel = [step for step in sheet["steps"] if step["kind"] == "weigh" and gross(step) is not None]
        for first in into_vessel[:1]:
            assert gross(first) - gross_before(first) == first["target"]
            # NIST SP 811 appendix B.8, exact.
            grams = {"g": 1.0, "kg": 1000.0, "lb": 453.59237, "oz": 28.349523125}[first["unit"]]
            last_place_g = grams / 10 ** first["decimals"]
            assert gross_before(first) * last_place_g == pytest.approx(sheet["vessel"]["tare_g"], abs=first["division"] * last_place_g)


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_is_tared_where_its_shop_said_so(name):
    for sheet in sheets(name):
        (floor,) = sheet["inputs"]["floor"].values()
        assert tares(sheet["steps"]) == (floor["tare"] == "each"), sheet["code"]


@pytest.mark.parametrize("name", NAMES)
def test_what_a_pour_is_is_told_of_sheets_that_do_not_say_so(name):
    for sheet in sheets(name):
        of = {part: {row["pour"] for row in sheet["chemistry"][part]} for part in CHEMISTRY}
        for pour in sheet["pours"]:
            kind = kind_of(pour)
            assert (kind == "oil") == (pour["key"] in of["oils"])
            assert (kind == "alkali") == (pour["key"] in of["alkalis"])
            assert pour["key"] not in of["acids"] or kind == "additive"
            assert (kind == "water") == pour["name"].startswith("Water")
            assert (kind == "lye made") == (pour["name"] == "All of the lye just made")
            assert (kind == "scent") == (pour["name"].split()[0] == "Scent")
            assert (scent_of(pour) is not None) == (kind == "scent" and pour["name"] != "Scent")


def test_a_scent_is_told_by_what_was_frozen_with_it_and_else_by_its_name():
    pour = {"key": "scent", "name": "Scent Marsh"}
    assert scent_of(pour) == "Marsh"
    assert scent_of({**pour, "scent": "Fen", "kind": "scent"}) == "Fen"
    assert scent_of({"key": "scent", "name": "Scent"}) is None
    # A maker's own oil that is called so.
    assert scent_of({"key": "oil:0", "name": "Scent of pine oil"}) is None
