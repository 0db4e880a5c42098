"""The account of a lot: what came is used, in tanks, thrown, counted off or left, whatever happens in whatever order."""

from datetime import date
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from calc.stock.ledger import COUNTED, LOADED, THROWN, USED, Move, StockLot, ledger, usable_left

AMOUNTS = st.decimals("0", "100000", places=1, allow_nan=False)
MOVES = st.lists(
    st.builds(
        Move, at=st.sampled_from([f"2026-11-{day:02}T08:00:00" for day in range(1, 29)]), id=st.uuids().map(str), lot=st.just("A"),
        what=st.sampled_from([COUNTED, USED, LOADED, THROWN]), amount=AMOUNTS,
    ),
    max_size=20,
)  # fmt: skip


def lot(amount=None, since="", **more):
    return StockLot("oil_lot", "o", "A", "Olive oil", "oil:olive", None if amount is None else Decimal(amount), since=since, **more)


def move(day, what, amount, **more):
    return Move(f"2026-11-{day:02}T08:00:00", f"{day}{what}{amount}", "A", what, Decimal(amount), **more)


@given(MOVES, st.none() | AMOUNTS, st.sampled_from(["", "2026-11-01T", "2026-11-15T"]), st.randoms())
def test_what_came_is_used_in_tanks_thrown_counted_off_or_left(moves, amount, since, chance):
    mixed = [*moves, *moves[:3]]
    chance.shuffle(mixed)
    found = ledger([lot(amount, since)], mixed)["A"]
    by_kind = {what: sum((each.amount for each in moves if each.what == what), Decimal(0)) for what in (USED, LOADED, THROWN)}
    assert (found.used, found.loaded, found.thrown) == (by_kind[USED], by_kind[LOADED], by_kind[THROWN])
    if amount is None and all(each.what != COUNTED for each in moves):
        assert found.received is None and found.left is None
    else:
        assert found.received == found.used + found.loaded + found.thrown + found.off + found.left
    # Neither the order in which events come in, nor their coming twice, changes anything.
    again = ledger([lot(amount, since)], moves)["A"]
    assert (again.left, again.off, again.entries) == (found.left, found.off, found.entries)


@given(MOVES)
def test_a_count_stands_whatever_came_before_it(moves):
    last = Move("2026-11-30T08:00:00", "last", "A", COUNTED, Decimal("12.5"))
    assert ledger([lot(100)], [*moves, last])["A"].left == Decimal("12.5")


def test_an_account_by_hand():
    # Own arithmetic: 25,000 - 8,000 - 2,000 = 15,000; 14,600 found is 400 off; less 5,000 is 9,600.
    found = ledger([lot(25_000, "2026-11-02T")], [move(3, USED, 8_000), move(4, LOADED, 2_000), move(5, COUNTED, 14_600, person="Q"), move(6, USED, 5_000)])["A"]
    assert (found.received, found.used, found.loaded, found.off, found.left) == (25_000, 13_000, 2_000, 400, 9_600)
    assert [entry.left for entry in found.entries] == [25_000, 17_000, 15_000, 14_600, 9_600]
    assert (found.counted, found.entries[3].off, found.entries[3].move.person) == ("2026-11-05", 400, "Q")


def test_more_used_than_came_is_a_figure_below_zero_and_a_count_finds_it_again():
    found = ledger([lot(1_000)], [move(3, USED, 1_200)])["A"]
    assert (found.left, found.finished) == (-200, True)
    found = ledger([lot(1_000)], [move(3, USED, 1_200), move(4, COUNTED, 50)])["A"]
    assert (found.left, found.off) == (50, -250)


def test_where_nobody_told_what_came_the_account_begins_with_its_first_count():
    found = ledger([lot()], [move(3, USED, 700), move(4, COUNTED, 2_000), move(5, USED, 300)])["A"]
    assert (found.received, found.stated, found.left, found.off) == (2_700, False, 1_700, 0)
    never = ledger([lot()], [move(3, USED, 700)])["A"]
    assert (never.received, never.left, never.used) == (None, None, 700)


def test_lots_that_may_not_be_used_or_are_gone_are_no_stock():
    lots = [lot(1), StockLot("oil_lot", "q", "Q", "Olive oil", "oil:olive", status="quarantine"), StockLot("oil_lot", "g", "G", "Olive oil", "oil:olive", gone=True)]
    assert [account.lot.code for account in usable_left(ledger(lots, []))["oil:olive"]] == ["A"]


def test_what_is_told_of_no_lot_there_is_changes_nothing():
    assert ledger([lot(5)], [Move("2026", "x", "B", USED, Decimal(3))])["A"].left == 5


def test_a_price_of_a_gram_needs_price_and_amount():
    assert lot(2_000, price=Decimal(9)).each == Decimal("0.0045")
    assert lot(2_000).each is None and lot(price=Decimal(9)).each is None
    assert lot(received_on=date(2026, 11, 2)).usable


def test_a_delivery_dated_after_its_first_count_is_not_there_twice():
    # 100 kg came, 100 kg were counted on the 3rd, and the form says the 20th.
    found = ledger([lot("100000", "2026-11-20T")], [move(3, COUNTED, "100000"), move(5, USED, "40000")])["A"]
    assert (found.left, found.off) == (Decimal(60000), 0)
