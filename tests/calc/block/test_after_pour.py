"""What a block gave after the pour: cases worked by hand."""

import pytest
from block_records import record

from calc.block.after_pour import Lift, lift_of, yield_of
from calc.block.chemistry import Block

STEPS = [
    {"key": "after:first-bar", "kind": "measure"}, {"key": "after:good", "kind": "measure"},
    {"key": "after:set-aside", "kind": "measure"}, {"key": "after:trim", "kind": "measure"}, {"key": "after:rack", "kind": "rack"},
]  # fmt: skip
# physics.md F: a bar of 25 x 90 x 60 mm is 135 ml, at 1.04 g/ml 140.4 g.
SHEET = {"after": STEPS, "planned": {"total": 264, "bar_mm": [25.0, 90.0, 60.0]}}


def events(*told):
    return [
        {"id": f"e{n:02}", "at": f"2026-11-25T08:00:{n:02}.000Z", "local": "", "kind": kind, "person": "Q", **fields}
        for n, (kind, fields) in enumerate(told)
    ]


def measured(step, reading, unit, **more):
    return ("measured", {"step": f"after:{step}", "reading": reading, "unit": unit, **more})


def test_the_yield_is_good_bars_against_the_plan_and_the_density_that_of_the_first_bar():
    told = yield_of(SHEET, events(
        measured("first-bar", "140.4", "g"), measured("good", "249", "bars"),
        measured("set-aside", "3", "bars", reason="Chipped or broken at the wires"), measured("trim", "5.2", "kg"),
        ("racked", {"step": "after:rack", "trays": 4, "bars": 249, "place": "Rack 1"}),
    ))  # fmt: skip
    assert (told.planned, told.good, told.set_aside, told.why) == (264, 249, 3, "Chipped or broken at the wires")
    assert told.good_fraction == pytest.approx(249 / 264)
    assert told.density_g_per_ml == pytest.approx(1.04)
    assert told.trim_g == pytest.approx(5200.0)
    assert (told.trays, told.place) == (4, "Rack 1")


def test_what_was_weighed_stands_beside_the_plan_as_it_was_issued():
    planned = {**SHEET["planned"], "bar_g": [135.7, 140.4, 145.2], "trim_g": 11_500.0}
    told = yield_of({**SHEET, "planned": planned}, events(measured("first-bar", "140.4", "g")))
    assert (told.planned_bar_g, told.planned_trim_g) == ((135.7, 140.4, 145.2), 11_500.0)
    # Sheets from before hold the number of bars and their size alone.
    older = yield_of(SHEET, events())
    assert (older.planned, older.planned_bar_g, older.planned_trim_g) == (264, None, None)


def test_a_bar_read_in_ounces_gives_the_same_density():
    # NIST Handbook 44, Appendix C: an avoirdupois ounce is 28.349523125 g; 140.4 g are 4.9525 oz.
    told = yield_of(SHEET, events(measured("first-bar", "4.9525", "oz")))
    assert told.density_g_per_ml == pytest.approx(1.04, rel=1e-4)


def test_what_is_not_told_is_none_and_no_plan_gives_no_share():
    told = yield_of({"after": STEPS, "planned": None}, events(measured("first-bar", "140.4", "g"), measured("good", "249", "bars")))
    assert (told.planned, told.good_fraction, told.density_g_per_ml, told.trim_g, told.trays) == (None, None, None, None, None)
    left_out = yield_of(SHEET, events(("measured", {"step": "after:first-bar", "note": "not-read"})))
    assert (left_out.first_bar_g, left_out.density_g_per_ml) == (None, None)


def test_a_count_that_was_put_right_counts_as_put_right():
    right = ("corrected", {"corrects": "e00", "reading": "249", "unit": "bars", "reason": "mistyped"})
    assert yield_of(SHEET, events(measured("good", "294", "bars"), right)).good == 249


def test_the_load_is_what_was_weighed_with_its_mould_against_the_tag():
    assert Lift(50_000.0, 12_000.0, 60_000.0).over is True
    assert Lift(50_000.0, 12_000.0, 62_000.0).over is False
    # What is not known may still be too much, and what is too much already surely is.
    assert Lift(50_000.0, None, 60_000.0).over is None
    assert Lift(50_000.0, None, 49_000.0).over is True
    assert Lift(50_000.0, 12_000.0, None).over is None


def test_the_batter_on_the_hoist_is_that_of_the_weighings():
    sheet = record()
    sheet["mould"]["tare_g"] = 12_000.0
    oil = next(step for step in sheet["steps"] if step["key"] == "oil:0")
    asked = {part: oil[part] for part in ("target", "low", "high", "decimals", "unit", "division")}
    told = events(("weighed", {"step": "oil:0", "reading": "15.80", "unit": "kg", "asked": asked, "mode": "net"}))
    lift = lift_of(Block(sheet, told), None)
    assert (lift.batter_g, lift.total_g) == (pytest.approx(15_800.0), pytest.approx(27_800.0))
