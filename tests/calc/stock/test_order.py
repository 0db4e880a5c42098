"""What to order; figures by hand."""

from datetime import date
from decimal import Decimal

from calc.stock.ledger import COUNTED, USED, Move, StockLot, ledger
from calc.stock.order import Need, orders

D = Decimal
COCONUT = Need("oil:coconut", "Coconut oil", D(20_000))


def lot(code, amount, material="oil:coconut", **more):
    return StockLot("oil_lot", code, code, code, material, None if amount is None else D(amount), **more)


def order(needs, lots, moves=(), in_tanks=None):
    return orders(needs, ledger(lots, moves).values(), in_tanks or {}, date(2026, 11, 25))


def test_what_is_left_and_what_a_tank_holds_need_not_be_ordered():
    # By hand: twice 20 kg, less 10 + 5 left and 13 in the tank: 12 kg.
    (found,) = order([COCONUT, COCONUT], [lot("A", 10_000), lot("B", 5_000)], in_tanks={"oil:coconut": D(13_000)})
    assert (found.need, found.have, found.in_tanks, found.short) == (40_000, 15_000, 13_000, 12_000)
    (enough,) = order([COCONUT], [lot("A", 25_000)])
    assert enough.short == 0


def test_a_lot_that_may_not_be_used_is_none():
    for more in ({"status": "quarantine"}, {"status": "rejected"}, {"gone": True}):
        (found,) = order([COCONUT], [lot("A", 25_000, **more)])
        assert (found.short, found.lots) == (20_000, 0)


def test_oil_past_its_date_is_told_apart_and_ordered_anew_and_gives_what_it_has_on_its_last_day():
    # By hand: 8 kg of the two lots that are past their date, of which one gave 2 kg more than it had; none of it counts as there.
    past = {"expires_on": date(2025, 1, 1)}
    moves = [Move("2024-11-05T08", "u", "A", USED, D(3_000))]
    (found,) = order([COCONUT], [lot("A", 1_000, **past), lot("B", 10_000, **past)], moves)
    assert (found.have, found.short, found.expired, found.lots, found.over) == (0, 20_000, 8_000, 0, 0)
    (last_day,) = order([COCONUT], [lot("B", 10_000, expires_on=date(2026, 11, 25))])
    assert (last_day.have, last_day.short, last_day.expired) == (10_000, 10_000, 0)


def test_how_sure_it_is():
    moves = [Move("2026-11-03T08", "c", "A", COUNTED, D(4_000)), Move("2026-11-05T08", "u", "B", USED, D(700))]
    (found,) = order([COCONUT], [lot("A", 5_000), lot("B", None)], moves)
    # What is left of B nobody told: what is short may be less, never more.
    assert (found.short, found.lots, found.unknown, found.counted) == (16_000, 2, 1, "2026-11-03")
    # What A gave beyond its 500 g came out of B, by hand 10,000 - 200.
    (both,) = order([COCONUT], [lot("A", 500), lot("B", 10_000)], [Move("2026-11-05T08", "u", "A", USED, D(700))])
    assert (both.have, both.short, both.over) == (9_800, 10_200, 1)
    (over,) = order([COCONUT], [lot("A", 500)], [Move("2026-11-05T08", "u", "A", USED, D(700))])
    assert (over.short, over.over) == (20_000, 1)


def test_caustic_is_ordered_as_it_comes_whatever_it_is_made_into():
    need = Need("hydroxide:naoh", "Caustic soda", D(9_800))
    lots = [lot("NAO", 5_000, "alkali:naoh:solid", strength=0.98), lot("LYE", 1_000, "alkali:naoh:premixed", strength=0.49)]
    # By hand: 4,900 g and 490 g of hydroxide are there; 4,410 g are missing, which 4,500 g of 98 % hold.
    (found,) = order([need], lots)
    assert (found.need, found.short) == (10_000, 4_500)


def test_what_is_missing_most_stands_first_and_what_nobody_needs_nowhere():
    needs = [Need("oil:olive", "Olive oil", D(10)), COCONUT, Need("oil:palm", "Palm oil", D(0))]
    assert [each.name for each in order(needs, [lot("A", 5, "oil:olive")])] == ["Coconut oil", "Olive oil"]
