"""A tank as it stands: row E6 of the check values, balances by hand, and what open sheets want of it."""

import csv
from datetime import date

import pytest

from calc.chemistry.density import lye_density_g_per_ml
from calc.shared import REFERENCE
from calc.tables.reference import oils
from calc.tanks.fold import tanks
from calc.tanks.standing import drawable_g, is_same, standing
from calc.workshop.tanks import Tank

TODAY = date(2026, 11, 25)
LYE_TANK = Tank(name="Lye", holds="lye", volume_ml=200_000.0, dead_ml=5_000.0, material="polypropylene", lagging="none")
OIL_TANK = Tank(name="Oil", holds="oils", volume_ml=200_000.0, dead_ml=5_000.0, material="stainless_steel", lagging="lagged")
with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}
BLOCK_G = 15_040.0


def told(number, kind, subject="contents:t", **fields):
    at = f"2026-11-25T08:00:{number:02}.000Z"
    return {"id": f"e{number:02}", "at": at, "local": at, "kind": kind, "subject": subject, "person": "Q", **fields}


def lye(grams):
    return told(1, "tank_loaded", parts=[{"name": "Lye", "grams": grams, "alkali": "naoh", "hydroxide_fraction": 0.33}], as_lot="L")


def weighed(number, code, block, grams):
    return told(number, "weighed", f"block:{code}/{block}", step="lye:naoh", lot="L", reading=str(grams), unit="g")


def sheet(code, blocks, closed=(), day="2026-11-25", **more):
    pours = [{"kind": "alkali", "lot": "L", "target_g": BLOCK_G}, {"kind": "oil", "phase": "vessel", "target_g": 35_000.0}]
    return {"code": code, "soap": "Marsh", "formula": "f", "pours": pours, "blocks": blocks, "closed": list(closed), "issued_on": day, "blended": False, **more}


def stands(events, sheets=(), tank=LYE_TANK):
    return standing(tank, tanks(events, TODAY).of("t"), sheets, TODAY, oils())


def test_a_tank_of_200_litres_gives_17_blocks_and_holds_122_litres_after_seven():
    # Row E6: blocks and litres, with the litres' tolerance. Full at 25 °C; by the handbook's density that is 271.25 kg.
    blocks, litres = CHECKS["E6"]["value"].split(" / ")
    filled_g = 200_000.0 * lye_density_g_per_ml("naoh", 0.33, 25.0)
    assert filled_g == pytest.approx(271_250.0, abs=200.0)
    full = stands([lye(filled_g)])
    assert full.blocks_of(BLOCK_G) == int(blocks)
    # By hand: 17 = 7 + 10 blocks, whether counted at the start or after seven.
    after = stands([lye(filled_g), *(weighed(1 + n, "QM-1", n, BLOCK_G) for n in range(1, 8))])
    assert after.left_ml / 1000.0 == pytest.approx(float(litres), abs=float(CHECKS["E6"]["tolerance"]))
    assert after.blocks_of(BLOCK_G) == int(blocks) - 7


def test_what_stays_below_the_outlet_gives_no_block():
    # 5 l of 33 % lye at 25 °C are 6.78 kg.
    assert stands([lye(6_700.0)]).blocks_of(BLOCK_G) == 0
    assert [stands([lye(6_790.0 + BLOCK_G + more)]).blocks_of(BLOCK_G) for more in (-20.0, 0.0)] == [0, 1]


def test_a_temperature_read_counts_and_else_the_usual_one():
    warm = stands([lye(100_000.0), told(2, "tank_temperature", temperature_c=40)])
    assert warm.temperature_read and warm.left_ml > stands([lye(100_000.0)]).left_ml
    # Where the tables end, that at their end: nothing is refused for a cold tank.
    assert stands([lye(100_000.0), told(2, "tank_temperature", temperature_c=2)]).left_ml > 0.0


def test_blocks_are_served_in_the_order_of_their_sheets_and_the_first_one_short_is_named():
    found = stands([lye(50_000.0)], [sheet("QM-2", 2), sheet("QM-1", 2, day="2026-11-24")])
    assert [(need.code, need.block) for need in found.needs] == [("QM-1", 1), ("QM-1", 2), ("QM-2", 1), ("QM-2", 2)]
    # By hand: 50 - 6.78 kg are two blocks of 15.04; four are 60.16, so 16.94 kg are short.
    assert (found.served, found.short_for.code, found.short_for.block) == (2, "QM-2", 1)
    assert found.short_g == pytest.approx(60_160.0 - (50_000.0 - 6_780.0), abs=5.0)


def test_a_block_in_hand_wants_what_it_has_not_weighed_and_a_closed_one_nothing():
    events = [lye(100_000.0), weighed(2, "QM-1", 1, 14_000.0), weighed(3, "QM-1", 2, 15_000.0)]
    found = stands(events, [sheet("QM-1", 4, closed=[4])])
    # Of block 2 40 g are left: less than one in a hundred, so it is done.
    assert [(need.block, need.grams) for need in found.needs] == [(1, pytest.approx(1_040.0)), (3, BLOCK_G)]


def test_an_oil_tank_is_wanted_by_sheets_that_blend_its_formula():
    parts = [{"name": "Olive", "oil": "olive", "grams": 60_000}, {"name": "Something", "grams": 40_000}]
    load = told(1, "tank_loaded", parts=parts, formulas=["f"])
    blended, other = sheet("QM-1", 1, blended=True), sheet("QM-2", 1, blended=True, formula="g")
    found = stands([load], [blended, other, sheet("QM-3", 1)], OIL_TANK)
    assert [(need.code, need.grams) for need in found.needs] == [("QM-1", 35_000.0)]
    # 100 kg of fat near 0.9 g/ml.
    assert found.left_ml == pytest.approx(111_000.0, rel=0.02)


def test_below_zero_there_is_nothing_to_give():
    found = stands([lye(10_000.0), weighed(2, "QM-1", 1, 12_000.0)])
    assert (found.contents.left_g, found.left_g, found.gives_g) == (-2_000.0, 0.0, 0.0)


def two(first_g, second_g, *drawn):
    """Two tanks of one lot, loaded one after the other; the second beside the first, and the other way round."""
    loads = [lye(first_g), lye(second_g) | {"id": "e02", "at": "2026-11-25T08:00:02.000Z", "subject": "contents:u"}]
    found = tanks([*loads, *drawn], TODAY)
    alone = [standing(LYE_TANK, found.of(tank), (), TODAY, oils()) for tank in ("t", "u")]
    return [standing(LYE_TANK, found.of(tank), [sheet("QM-1", 4)], TODAY, oils(), [other]) for tank, other in zip(("t", "u"), reversed(alone), strict=True)]


def test_two_tanks_of_one_lot_serve_blocks_together_and_are_short_together():
    # By hand: of each 6.78 kg stay below the valve, so 23.22 and 33.22 kg can be drawn; four blocks of 15.04 are 60.16, so 3.72 are short.
    first, second = two(30_000.0, 40_000.0)
    assert drawable_g([first, second]) == pytest.approx(23_220.0 + 33_220.0, abs=10.0)
    assert [each.short_g for each in (first, second)] == pytest.approx([3_720.0] * 2, abs=10.0)
    assert [(each.served, each.served_alone) for each in (first, second)] == [(3, 1), (3, 2)]
    # The second gives two of the four blocks whole, so two are left to the first; and the other way round three.
    assert [len(each.left_to_it) for each in (first, second)] == [2, 3]
    # What a block has drawn from either is wanted of neither.
    first, second = two(30_000.0, 40_000.0, weighed(3, "QM-1", 1, BLOCK_G))
    assert [[need.block for need in each.needs] for each in (first, second)] == [[2, 3, 4]] * 2


def test_a_tank_that_is_overdrawn_gives_nothing_and_takes_nothing_off_the_others():
    # 25 kg were said to come out of the second, which held 20: it lacks 5 by its entries, and nobody touched the first.
    first, second = two(30_000.0, 20_000.0, told(3, "tank_drawn", "contents:u", grams=25_000))
    assert second.contents.left_g == -5_000.0 and drawable_g([first, second]) == first.gives_g == pytest.approx(23_220.0, abs=10.0)
    # Blocks that weighed 25 kg had the last 5 of them out of the first, whose level says so.
    first, second = two(30_000.0, 20_000.0, weighed(3, "QM-1", 1, 12_500), weighed(4, "QM-1", 2, 12_500))
    assert (first.left_g, second.left_g) == (25_000.0, 0.0)
    assert drawable_g([first, second]) == pytest.approx(25_000.0 - 6_780.0, abs=10.0)


def test_tanks_hold_the_same_where_a_block_can_draw_from_either():
    oil = [told(n, "tank_loaded", f"contents:{tank}", parts=[{"name": "Olive", "oil": "olive", "grams": 9}], formulas=formulas)
           for n, (tank, formulas) in enumerate([("a", ["f"]), ("b", ["f"]), ("c", ["g"]), ("d", [])], 1)]  # fmt: skip
    held = tanks([*oil, lye(10.0) | {"id": "e9"}], TODAY)
    same = {(one, other) for one in "abcdt" for other in "abcdtz" if one < other and is_same(held.of(one), held.of(other))}
    assert same == {("a", "b")}


def test_what_can_not_be_read_of_a_sheet_is_no_need():
    assert stands([lye(100_000.0)], [sheet("QM-1", 1, pours=[{"kind": "alkali", "lot": "L", "target_g": "much"}]), sheet("QM-2", 1, pours=None)]).needs == ()
