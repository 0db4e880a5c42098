"""Good bars in store; figures by hand."""

from hypothesis import given
from hypothesis import strategies as st

from calc.stock.bars import Gone, counted_bars, in_store

ENTRY = {"code": "QM-1", "formulaName": "Plain", "parts": [{"n": 1, "state": "curing", "bars": 249}, {"n": 2, "state": "poured", "bars": None}]}


def told(id_, kind, day=12, subject="stock:bars/QM-1/1", **more):
    return {"id": id_, "kind": kind, "subject": subject, "local": f"2026-11-{day:02}T09:00:00", "person": "Q", **more}


def packed(id_, bars, code="QM-1", block=1, **more):
    """As a packed lot stands in the records: shared/records/shapes.json, packed_part."""
    return told(id_, "packed", subject=f"packed:{id_}", parts=[{"code": code, "block": block, "bars": bars}], **more)


def test_bars_are_counted_at_the_cutter_less_what_was_packed_kept_and_given_away():
    # By hand: 249 - 100 - 3 - 6 = 140; 138 counted are 2 off; less 38 is 100.
    events = [told("t", "stock_thrown", 13, bars=6), told("c", "stock_counted", 14, bars=138)]
    found = in_store([ENTRY], [packed("p", 100), told("s", "sample_kept", subject="release:QM-1/1", bars=3), packed("q", 38, day=15)], events)
    (store,) = found
    assert (store.counted, store.packed, store.samples, store.gone, store.off, store.left) == (249, 138, 3, 6, 2, 100)


def test_what_was_taken_back_never_went():
    back = told("b", "packed_taken_back", subject="packed:p", takes="p")
    assert in_store([ENTRY], [packed("p", 100), back], [])[0].left == 249


def test_what_was_packed_comes_off_its_own_block_and_off_no_other():
    # By hand: of 249 and 200 bars, 100 and 20 are packed together; 30 of another batch's block 1 are none of theirs.
    entry = {**ENTRY, "parts": [{"n": 1, "state": "curing", "bars": 249}, {"n": 2, "state": "curing", "bars": 200}]}
    both = told("p", "packed", subject="packed:p", parts=[{"code": "QM-1", "block": 1, "bars": 100}, {"code": "QM-1", "block": 2, "bars": 20}])
    found = in_store([entry], [both, packed("q", 30, code="QM-2")], [])
    assert [(store.block, store.packed, store.left) for store in found] == [(1, 100, 149), (2, 20, 180)]


def test_a_packed_lot_that_cannot_be_read_keeps_no_other_from_counting():
    odd = told("o", "packed", subject="packed:o", parts=[{"code": "QM-1", "bars": 5}])
    assert in_store([ENTRY], [odd, packed("p", 100)], [])[0].left == 149


def test_more_packed_than_there_were_is_a_figure_below_zero():
    assert in_store([ENTRY], [packed("p", 250)], [])[0].left == -1


def test_bars_that_are_rejected_or_not_counted_are_none():
    for state in ("rejected", "reworked", "ended", "apart"):
        assert in_store([{**ENTRY, "parts": [{"n": 1, "state": state, "bars": 249}]}], [], []) == []
    assert [store.block for store in in_store([ENTRY], [], [])] == [1]


def test_what_went_otherwise_is_told_with_who_and_why_and_a_count_that_agrees_is_not():
    # By hand: 249 - 6 = 243 counted: agrees; 240 counted: 3 off; 241 counted: one found.
    events = [told("t", "stock_thrown", 13, bars=6, reason="Cracked"), told("c", "stock_counted", 14, bars=243), told("d", "stock_counted", 15, bars=240, reason="Given away"),
              told("e", "stock_counted", 16, bars=241)]
    (store,) = in_store([ENTRY], [], events)
    assert store.told == (Gone("stock_thrown", 6, "2026-11-13", "Q", "Cracked"), Gone("stock_counted", 3, "2026-11-15", "Q", "Given away"), Gone("stock_counted", -1, "2026-11-16", "Q", ""))
    back = told("b", "stock_taken_back", 17, takes="t")
    assert [gone.bars for gone in in_store([ENTRY], [], [*events, back])[0].told] == [6, 3, -1]


def test_bars_that_a_release_leaves_out_are_not_for_sale_and_a_later_release_may_take_them_back_in():
    # By hand, as somebody reckoned it: 250 good, 240 released, 2 kept, 100 packed: 138; 20 thrown 118; 100 counted, 18 off.
    entry = {**ENTRY, "parts": [{"n": 1, "state": "released", "bars": 250}]}
    sale = [told("r", "released", 10, subject="release:QM-1/1", bars=240), told("s", "sample_kept", 11, subject="release:QM-1/1", bars=2), packed("p", 100, day=12)]
    assert (in_store([entry], sale, [])[0].left, in_store([entry], sale, [])[0].left_out) == (138, 10)
    stock = [told("t", "stock_thrown", 13, bars=20), told("c", "stock_counted", 14, bars=100)]
    (store,) = in_store([entry], sale, stock)
    assert (store.left, store.gone, store.off, store.left_out) == (100, 20, 18, 10)
    anew = told("n", "released", 15, subject="release:QM-1/1", bars=250)
    assert (in_store([entry], [*sale, anew], [])[0].left, in_store([entry], [*sale, anew], [])[0].left_out) == (148, 0)
    # What was thrown before comes back by no release, and one that was taken back never was.
    before = [told("t", "stock_thrown", 9, bars=5), told("r", "released", 10, subject="release:QM-1/1", bars=250)]
    assert in_store([entry], before[1:], before[:1])[0].left == 245
    assert in_store([entry], [*sale, told("b", "release_taken_back", 16, subject="release:QM-1/1", takes="r")], [])[0].left == 148


def test_bars_that_are_not_for_sale_lie_somewhere_and_are_counted_apart():
    entry = {**ENTRY, "parts": [{"n": 1, "state": "rejected", "bars": 249}]}
    (store,) = counted_bars([entry], [], [told("t", "stock_thrown", bars=249, reason="Melted down")])
    assert (store.for_sale, store.left, store.gone) == (False, 0, 249)


@given(st.lists(st.tuples(st.sampled_from(["packed", "released", "stock_thrown", "stock_counted"]), st.integers(0, 300), st.integers(1, 28)), max_size=12), st.randoms())
def test_bars_counted_are_packed_gone_counted_off_or_left(moves, chance):
    events = [packed(f"e{n}", bars, day=day) if kind == "packed" else told(f"e{n}", kind, day, bars=bars, **({"subject": "release:QM-1/1"} if kind == "released" else {})) for n, (kind, bars, day) in enumerate(moves)]
    chance.shuffle(events)
    (store,) = in_store([ENTRY], [each for each in events if each["kind"] in ("packed", "released")], [each for each in events if each["kind"] not in ("packed", "released")])
    assert store.counted == store.packed + store.gone + store.off + store.left_out + store.left and store.left_out >= 0
