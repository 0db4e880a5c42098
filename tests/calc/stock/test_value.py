"""First in, first out. The rule: IAS 2 Inventories, paragraph 27, from memory, not seen. Figures are own arithmetic."""

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from calc.stock.ledger import COUNTED, USED, Move, StockLot, ledger
from calc.stock.value import Layer, fifo, values

D = Decimal


def lot(code, amount, price, since, material="oil:coconut"):
    return StockLot("oil_lot", code, code, "Coconut oil", material, None if amount is None else D(amount), price=None if price is None else D(price), since=since)


def used(day, code, amount, what=USED):
    return Move(f"2026-11-{day:02}T09:00:00", f"{day}/{code}", code, what, D(amount))


def test_a_worked_example():
    # By hand: 20 kg at 3.00 a kilogram, then 30 kg at 3.60. Used 12, 15 and 10 kg:
    # 12 x 3.00 = 36.00; 8 x 3.00 + 7 x 3.60 = 49.20; 10 x 3.60 = 36.00; left 13 kg at 3.60 = 46.80; all together 168.00.
    lots = [lot("NEW", 30_000, "108.00", "2026-11-05T"), lot("OLD", 20_000, "60.00", "2026-10-01T")]
    # Whichever lot a hand went into.
    moves = [used(6, "OLD", 12_000), used(7, "NEW", 15_000), used(8, "NEW", 10_000)]
    found = values(ledger(lots, moves))
    assert [found.taken[move.lot, move.id].money for move in moves] == [D("36.00"), D("49.20"), D("36.00")]
    assert found.left["oil:coconut"].money == D("46.80")


def test_what_was_counted_off_costs_and_what_was_found_is_worth_what_its_lot_cost():
    # By hand: 10 kg at 2.00; 4 counted where 10 were: 6 x 2.00 gone; then 5 counted where 4 were: 1 more at 2.00.
    moves = [used(3, "A", 4_000, COUNTED), used(4, "A", 5_000, COUNTED)]
    found = values(ledger([lot("A", 10_000, "20.00", "2026-11-01T")], moves))
    assert (found.taken["A", "3/A"].money, found.left["oil:coconut"].money) == (D("12.00"), D("10.00"))


def test_what_has_no_price_is_told_and_never_counted_as_nothing():
    # By hand: 5 kg without a price first, then 5 kg at 4.00: of 7 kg used 5 have none, and 2 cost 8.00.
    lots = [lot("A", 5_000, None, "2026-10-01T"), lot("B", 5_000, "20.00", "2026-11-01T")]
    found = values(ledger(lots, [used(3, "B", 7_000)]))
    assert (found.taken["B", "3/B"].money, found.taken["B", "3/B"].unpriced) == (D(8), D(5_000))
    # More used than came: what is over has no price.
    found = values(ledger([lot("A", 1_000, "3.00", "")], [used(3, "A", 1_500)]))
    assert (found.taken["A", "3/A"].money, found.taken["A", "3/A"].unpriced) == (D(3), D(500))


def test_a_lot_of_which_nobody_knows_how_much_there_was_has_no_part_in_it():
    found = values(ledger([lot("A", None, "20.00", ""), lot("B", 1_000, "5.00", "2026-11-01T")], [used(3, "A", 400), used(4, "B", 100)]))
    assert set(found.taken) == {("B", "4/B")} and found.left["oil:coconut"].money == D("4.50")


PRICES = st.none() | st.decimals("0.01", "99", places=2)
GRAMS = st.integers(1, 40)


@given(st.lists(st.tuples(GRAMS, PRICES), max_size=6), st.lists(GRAMS, max_size=8))
def test_every_gram_goes_out_at_the_price_it_came_in_at(layers, taken):
    """Against a queue of single grams, each with its own price: the test's own lines."""
    queue = [price for amount, price in layers for _ in range(amount)]
    costs, left = fifo([Layer(D(amount), price) for amount, price in layers], [(str(n), D(amount)) for n, amount in enumerate(taken)])
    for n, amount in enumerate(taken):
        grams, queue = queue[:amount], queue[amount:]
        assert Fraction(costs[str(n)].money) == sum((Fraction(price) for price in grams if price is not None), Fraction(0))
        assert costs[str(n)].unpriced == sum(1 for price in grams if price is None) + amount - len(grams)
    assert Fraction(left.money) == sum((Fraction(price) for price in queue if price is not None), Fraction(0))
    assert left.unpriced == sum(1 for price in queue if price is None)
