"""Packaging in pieces; figures by hand."""

from hypothesis import given
from hypothesis import strategies as st

from calc.stock.packaging import accounts, taken
from calc.workshop.lots import PackagingLot


def lot(code="BND-1", in_use="yes", **more):
    return PackagingLot(code=code, name="Bands", in_use=in_use, **more)


def told(id_, kind, day=12, subject="stock:packaging_lot/p", **more):
    return {"id": id_, "kind": kind, "subject": subject, "local": f"2026-11-{day:02}T09:00:00", "person": "Q", **more}


def packed(id_, n, day=12, code="BND-1"):
    return told(id_, "packed", day, subject=f"packed:{id_}", parts=[], packaging=[{"lot": code, "n": n}])


def test_bars_take_a_piece_each_or_a_box_for_so_many_and_nothing_that_is_not_in_use_or_not_allowed():
    lots = [lot("BND-1"), lot("BOX-1", bars=24), lot("OLD-1", in_use="no"), lot("BAD-1", status="rejected")]
    # By hand: 60 bars fill two boxes of 24 and begin a third.
    assert taken(lots, 60) == [{"lot": "BND-1", "n": 60}, {"lot": "BOX-1", "n": 3}]
    assert taken(lots, 48)[1]["n"] == 2


def test_what_came_is_used_thrown_counted_off_or_left_and_a_packing_taken_back_used_none():
    # By hand: 1000 - 150 - 12 = 838; 830 counted are 8 off; less 30 is 800.
    events = [packed("a", 150), packed("b", 30, 16), told("t", "stock_thrown", 13, pieces=12), told("c", "stock_counted", 14, pieces=830)]
    (found,) = accounts([("p", lot(received_n=1000, price=30.0))], events, events)
    assert (found.received, found.used, found.thrown, found.off, found.left, str(found.each)) == (1000, 180, 12, 8, 800, "0.03")
    back = told("x", "packed_taken_back", 17, subject="packed:b", takes="b")
    (found,) = accounts([("p", lot(received_n=1000))], [*events, back], [])
    assert found.used == 150
    (other,) = accounts([("q", lot("BND-2", received_n=10))], events, events)
    assert (other.used, other.left) == (0, 10)


def test_of_a_delivery_that_nobody_told_the_first_count_is_the_beginning_and_before_it_nobody_knows():
    (unknown,) = accounts([("p", lot())], [packed("a", 5)], [])
    assert (unknown.received, unknown.left, unknown.used) == (None, None, 5)
    (counted,) = accounts([("p", lot())], [packed("a", 5), packed("b", 7, 20)], [told("c", "stock_counted", 14, pieces=100)])
    assert (counted.received, counted.left) == (105, 93)


@given(st.lists(st.tuples(st.sampled_from(["packed", "stock_thrown", "stock_counted"]), st.integers(0, 300), st.integers(1, 28)), max_size=12), st.randoms())
def test_what_came_adds_up_after_any_order_of_events(moves, chance):
    events = [packed(f"e{n}", pieces, day) if kind == "packed" else told(f"e{n}", kind, day, pieces=pieces) for n, (kind, pieces, day) in enumerate(moves)]
    chance.shuffle(events)
    (found,) = accounts([("p", lot(received_n=500))], events, events)
    assert found.received == found.used + found.thrown + found.off + found.left
