"""What a bar cost, against a sheet of the test's own; prices by first in, first out (IAS 2, paragraph 27, from memory)."""

from datetime import date
from decimal import Decimal

import pytest

from calc.stock.cost import Rates, batch_cost, tank_prices
from calc.stock.ledger import StockLot, ledger
from calc.stock.told import load_moves, used
from calc.stock.value import values
from calc.tanks.fold import tanks

D = Decimal
TODAY = date(2026, 11, 25)
LOTS = [
    StockLot("oil_lot", "o1", "OLV-1", "Olive oil", "oil:olive", D(20_000), price=D("130.00"), since="2026-10-01T"),
    StockLot("oil_lot", "o2", "OLV-2", "Olive oil", "oil:olive", D(50_000), price=D("350.00"), since="2026-11-01T"),
    StockLot("alkali_lot", "a", "NAO-1", "Caustic soda", "alkali:naoh:solid", D(25_000), price=D("50.00"), since="2026-10-01T"),
]
ROWS = [
    ("oil:0", "oil", "OLV-2", 30_000, 29_900), ("lye:naoh", "alkali", "NAO-1", 4_100, 4_000), ("water", "water", "", 8_000, 8_000),
    ("additive:0", "additive", "", 300, 300),
]  # fmt: skip
EVENTS = [
    {"kind": "checked", "local": "2026-11-10T08:00:00+01:00"}, {"kind": "closed", "local": "2026-11-10T09:30:00+01:00"},
    {"kind": "lifted", "local": "2026-11-11T08:00:00+01:00"}, {"kind": "racked", "local": "2026-11-11T09:00:00+01:00"},
]  # fmt: skip


def entry(bars=240, state="curing", rows=ROWS):
    return {"code": "QM-1", "formulaName": "Plain", "parts": [{"n": 1, "state": state, "bars": bars, "closed_at": "2026-11-10T09:30:00"}],
            "used": [{"n": 1, "pour": pour, "kind": kind, "lot": lot, "g": grams} for pour, kind, lot, grams, _ in rows]}  # fmt: skip


def told(rows=ROWS):
    amounts = [{"pour": pour, "name": pour.title(), "planned_g": planned} for pour, _, _, _, planned in rows]
    return {"code": "QM-1", "planned_bars": 250, "blocks": [{"n": 1, "amounts": amounts, "events": EVENTS}]}


NO_RATES = Rates()


def cost(rates=NO_RATES, rows=ROWS, events=(), **of):
    held = tanks(events, TODAY)
    uses = list(used([entry(rows=rows)], held, [], TODAY))
    accounts = ledger(LOTS, [*load_moves(events, TODAY), *(move for use in uses for move in use.moves)])
    found = values(accounts)
    return batch_cost(told(rows), entry(rows=rows, **of), uses, found, tank_prices(accounts, found), rates)


def test_materials_work_and_power_come_to_what_a_sheet_of_ones_own_says():
    found = cost(Rates(D("20.00"), D("1.25"), D("0.03")))
    # 20 kg at 6.50 and 10 kg at 7.00, and 4.1 kg at 2.00; two and a half hours; one block.
    materials = D(20) * D("6.50") + D(10) * D("7.00") + D("4.1") * D(2)
    whole = materials + D("2.5") * D(20) + D("1.25")
    assert found.materials.money == materials == D("208.20")
    assert (found.hours, found.labor, found.power) == (D("2.5"), D(50), D("1.25"))
    assert found.bar == whole / 240 + D("0.03")
    # As planned: 29.9 of 30 kg and 4 of 4.1 kg at the same prices, and 250 bars.
    planned = D(200) * D("29.9") / D(30) + D(4) * D(2)
    assert float(found.planned_materials.money) == pytest.approx(float(planned))
    assert float(found.planned_bar) == pytest.approx(float((planned + D("51.25")) / 250 + D("0.03")))


def test_what_nobody_told_a_price_of_is_named():
    found = cost()
    assert found.unpriced == ("Additive:0",) and found.materials.unpriced == 300
    assert (found.hours, found.labor, found.power, found.packaging) == (None, None, None, None)


def test_what_came_out_of_a_tank_costs_what_its_lots_cost():
    at = "2026-11-09T07:00:00.000Z"
    parts = [{"name": "Caustic", "lot": "NAO-1", "grams": 20_000, "alkali": "naoh", "hydroxide_fraction": 1.0}, {"name": "Water", "grams": 40_000}]
    load = {"id": "l", "kind": "tank_loaded", "subject": "contents:t", "at": at, "local": at, "person": "Q", "parts": parts, "as_lot": "LYE-1"}
    draw = {"id": "w", "kind": "weighed", "subject": "block:QM-1/1", "at": "2026-11-10T08:00:00.000Z", "local": "2026-11-10T08:00:00", "step": "lye:naoh",
            "reading": "12000", "unit": "g", "mode": "net", "lot": "LYE-1"}  # fmt: skip
    found = cost(rows=[("lye:naoh", "alkali", "LYE-1", 12_000, 12_000)], events=[load, draw])
    # A third of 12 kg of lye is caustic: 4 kg at 2.00. Water costs nothing.
    assert (float(found.materials.money), found.materials.unpriced) == (pytest.approx(8.00), 0)


@pytest.mark.parametrize("of", [{"bars": None}, {"state": "ended"}, {"state": "apart"}])
def test_a_batch_that_is_not_cut_or_was_given_up_has_no_cost_of_a_bar(of):
    assert cost(**of) is None


def test_a_batch_without_a_good_bar_has_no_cost_of_one():
    assert cost(bars=0).bar is None


def two_blocks(second="curing"):
    """Two alike of 100 bars each, the second begun while the first is in hand; what the second is now."""
    events = [[{"kind": kind, "local": f"2026-11-10T{at}:00+01:00"} for kind, at in times.items()] for times in (
        {"checked": "08:00", "closed": "10:00"}, {"checked": "09:00", "closed": "11:00"})]  # fmt: skip
    both = {"code": "QM-1", "formulaName": "Plain",
            "parts": [{"n": n, "state": state, "bars": None if state in ("ended", "apart") else 100, "closed_at": "2026-11-10T10:00:00"} for n, state in ((1, "curing"), (2, second))],
            "used": [{"n": n, "pour": pour, "kind": kind, "lot": lot, "g": grams} for n in (1, 2) for pour, kind, lot, grams, _ in ROWS[:3]]}  # fmt: skip
    blocks = [{"n": n, "amounts": told()["blocks"][0]["amounts"], "events": own} for n, own in enumerate(events, 1)]
    uses = list(used([both], tanks([], TODAY), [], TODAY))
    accounts = ledger(LOTS, [move for use in uses for move in use.moves])
    found = values(accounts)
    return batch_cost(told() | {"blocks": blocks}, both, uses, found, tank_prices(accounts, found), Rates(D("20.00"), D("1.25"), D(0)))


def test_an_hour_in_which_two_blocks_are_in_hand_is_paid_once():
    # By the clock: 8:00 to 11:00.
    assert two_blocks().hours == D(3)


def test_the_night_before_a_pour_is_nobodys_work():
    deeds = [("checked", "2026-11-09T17:00:00"), ("weighed", "2026-11-09T18:00:00"), ("weighed", "2026-11-10T07:30:00"), ("closed", "2026-11-10T08:00:00")]
    blocks = [told()["blocks"][0] | {"events": [{"kind": kind, "local": f"{at}+01:00"} for kind, at in deeds]}]
    uses = list(used([entry()], tanks([], TODAY), [], TODAY))
    accounts = ledger(LOTS, [move for use in uses for move in use.moves])
    found = batch_cost(told() | {"blocks": blocks}, entry(), uses, values(accounts), {}, Rates(D("20.00")))
    # 17:00 to 18:00 and 7:30 to 8:00.
    assert found.hours == D("1.5")


def test_what_went_into_bars_that_are_not_for_sale_is_borne_by_those_that_are():
    good, rejected = two_blocks(), two_blocks("rejected")
    assert (good.bars, rejected.bars) == (200, 100)
    # Spent is the same; there is half as much to sell.
    assert (rejected.materials, rejected.labor, rejected.power) == (good.materials, good.labor, good.power)
    assert rejected.bar == 2 * good.bar


def test_a_block_that_was_given_up_bears_neither_goods_nor_work():
    alone = two_blocks("apart")
    # Block 1 alone: 8:00 to 10:00.
    assert (alone.bars, alone.hours, alone.power) == (100, D(2), D("1.25"))
