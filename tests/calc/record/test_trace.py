"""Trace against a naive search through raw events, by chance; then the cases that a maker would ask of it one by one."""

import json
from datetime import date
from pathlib import Path

import pytest
import shop_by_chance as chance

from calc.record.packed import next_code, packed
from calc.record.trace import trace
from calc.workshop.lot_codes import LotCodes
from runtime.node import run_node

ROOT = Path(__file__).resolve().parents[3]
TODAY = date(2026, 12, 1)


@pytest.mark.parametrize("seed", range(2))
def test_a_mock_recall_of_every_lot_finds_what_a_naive_search_finds(seed):
    made = chance.shop(seed, batches=60)
    entries = chance.entries(made)
    lots = {lot for row in entries for lot in row["lots"]} | {part["lot"] for each in made["tanks"] for part in each.get("parts", ()) if part.get("lot")}
    assert len(lots) > 20
    for lot in sorted(lots):
        found = trace("lot", lot, entries, made["tanks"], made["packed"], made["release"], TODAY)
        reached, out, here = chance.recall(made, lot)
        # Of a blend out of an unknown tank both take what the sheet and its weighings name.
        assert {block.id for block in found.blocks if not block.planned} == reached, lot
        assert {(each.outlet, each.lot.code): each.bars for each in found.at_outlets} == out, lot
        assert {each.code: each.in_store for each in found.in_store_packed} == here, lot


@pytest.mark.parametrize("seed", range(2))
def test_the_page_picks_for_every_lot_what_its_recall_needs(seed, tmp_path):
    # Raw events, the log that scripts make of them, what the page picks for each lot, and the trace of that.
    made = chance.shop(seed, batches=60)
    rows = chance.entries(made)
    lots = sorted({lot for row in rows for lot in row["lots"]} | {part["lot"] for each in made["tanks"] for part in each.get("parts", ()) if part.get("lot")})
    told = tmp_path / "told.json"
    told.write_text(json.dumps({"codes": lots, "events": chance.raw(made), "contents": made["tanks"], "packed": made["packed"]}))
    found = json.loads(run_node(ROOT / "tests" / "site_js" / "picked_of.mjs", told, cwd=ROOT))
    log = {entry["code"]: entry for entry in found["log"]}
    spread = 0
    for lot, pick in zip(lots, found["picks"], strict=True):
        codes = LotCodes([], {"oil_lot": [(each, {"code": each}) for each in lots if each.startswith("OIL")]})
        entries = [codes.in_entry(log[code]) for code in pick["entries"]]
        ids = set(pick["packed"])
        told_of = trace("lot", lot, entries, [codes.in_event(event) for event in made["tanks"]], [event for event in made["packed"] if event["id"] in ids], [], TODAY)
        reached, out, here = chance.recall(made, lot)
        assert {block.id for block in told_of.blocks if not block.planned} == reached, lot
        assert {(each.outlet, each.lot.code): each.bars for each in told_of.at_outlets} == out, lot
        assert {each.code: each.in_store for each in told_of.in_store_packed} == here, lot
        spread += len(reached) > 0
    assert spread > 20


def entry(code, *drawn, blocks=1, lots=(), bars=250, state="curing", formula="f"):
    return {"code": code, "formula": formula, "formulaName": "Marsh Plain", "local": "2026-10-01T08:00:00+00:00", "lots": list(lots),
            "parts": [{"n": n, "state": state, "bars": bars, "poured_on": "2026-10-01"} for n in range(1, blocks + 1)],
            "drawn": [{"n": n, "lot": lot, "at": at} for n, lot, at in drawn], "used": []}


def loaded(at, tank, *lots, as_lot=None, alkali=None, id_=None):
    return {"id": id_ or f"{tank}{at}", "at": at, "local": at, "kind": "tank_loaded", "subject": f"contents:{tank}", "person": "Q", "as_lot": as_lot,
            "parts": [{"name": lot, "lot": lot, "grams": 1000.0, "alkali": alkali} for lot in lots]}


def blocks_with(lot, entries, contents=()):
    return [block.id for block in trace("lot", lot, entries, contents, [], [], TODAY).blocks]


def test_a_lot_changed_at_the_scale_counts_and_the_planned_one_does_not():
    entries = [entry("A", (1, "OIL-2", "2026-10-01T08"), lots=["OIL-1", "OIL-2"])]
    assert blocks_with("OIL-2", entries) == ["A/1"]
    assert blocks_with("OIL-1", entries) == []


def test_of_a_block_that_nobody_has_begun_the_planned_lots_are_told_as_planned():
    waiting = entry("A", lots=["OIL-1"], state="issued", bars=None)
    found = trace("lot", "OIL-1", [waiting], [], [], [], TODAY)
    assert [block.id for block in found.planned] == ["A/1"]
    assert found.in_store == () and found.out_bars == 0


def test_lye_out_of_a_tank_brings_what_was_loaded_before_it_was_drawn_and_since_it_was_empty():
    emptied = {"id": "e", "at": "2026-10-03", "local": "2026-10-03", "kind": "tank_emptied", "subject": "contents:t", "person": "Q"}
    contents = [loaded("2026-10-01", "t", "SODA-1", as_lot="LYE", alkali="naoh"), emptied, loaded("2026-10-05", "t", "SODA-2", as_lot="LYE", alkali="naoh")]
    entries = [entry("A", (1, "LYE", "2026-10-02")), entry("B", (1, "LYE", "2026-10-06")), entry("C", (1, "LYE", "2026-09-30"))]
    assert blocks_with("SODA-1", entries, contents) == ["A/1"]
    assert blocks_with("SODA-2", entries, contents) == ["B/1"]
    assert sorted(blocks_with("LYE", entries, contents)) == ["A/1", "B/1", "C/1"]


def test_a_load_taken_back_brings_nothing():
    gone = {"id": "g", "at": "2026-10-09", "kind": "tank_taken_back", "subject": "contents:t", "takes": "l", "person": "Q"}
    contents = [loaded("2026-10-01", "t", "SODA-1", as_lot="LYE", alkali="naoh", id_="l"), gone]
    assert blocks_with("SODA-1", [entry("A", (1, "LYE", "2026-10-02"))], contents) == []


def test_a_fill_put_right_after_a_block_drew_from_it_still_brings_its_caustic():
    fill = {"fill": "t.20261001080000"}
    first = loaded("2026-10-01T08", "t", "SODA-1", as_lot="LYE", alkali="naoh", id_="l1") | fill
    gone = {"id": "g", "at": "2026-10-01T10", "kind": "tank_taken_back", "subject": "contents:t", "takes": "l1", "person": "Q"}
    right = loaded("2026-10-01T10", "t", "SODA-1", as_lot="LYE", alkali="naoh", id_="l2") | fill
    blocks = [entry("A", (1, "LYE", "2026-10-01T09")), entry("B", (1, "LYE", "2026-10-01T07"))]
    assert blocks_with("SODA-1", blocks, [first, gone, right]) == ["A/1"]
    # A lot named wrong at first is in no block once it is put right.
    other = loaded("2026-10-01T10", "t", "SODA-2", as_lot="LYE", alkali="naoh", id_="l2") | fill
    assert blocks_with("SODA-1", blocks, [first, gone, other]) == [] and blocks_with("SODA-2", blocks, [first, gone, other]) == ["A/1"]
    # Without a fill's name it is a load of its own, put in at its own time.
    assert blocks_with("SODA-1", blocks, [loaded("2026-10-01T10", "t", "SODA-1", as_lot="LYE", alkali="naoh")]) == []


def test_lye_made_in_a_pail_brings_its_caustic_through_the_tank_it_was_poured_into():
    contents = [loaded("2026-10-01", "pail", "SODA-1", as_lot="PAIL", alkali="naoh"), loaded("2026-10-02", "tank", "PAIL", as_lot="LYE", alkali="naoh")]
    assert blocks_with("SODA-1", [entry("A", (1, "LYE", "2026-10-03"))], contents) == ["A/1"]


def test_a_blend_brings_what_is_in_the_oil_tank_and_of_an_unknown_tank_what_the_sheet_says():
    blend = entry("A", (1, "", "2026-10-03"), lots=["OIL-9"])
    contents = [loaded("2026-10-01", "oil", "OIL-1", "OIL-2")]
    assert blocks_with("OIL-1", [blend], contents) == ["A/1"] and blocks_with("OIL-9", [blend], contents) == []
    assert blocks_with("OIL-9", [blend]) == ["A/1"]


def test_set_aside_soap_carries_a_lot_into_later_batches_and_back():
    entries = [entry("A", (1, "OIL-1", "2026-10-01")), entry("B", (1, "A/1", "2026-10-05"), (1, "OIL-2", "2026-10-05")), entry("C", (1, "B/1", "2026-10-09"))]
    assert sorted(blocks_with("OIL-1", entries)) == ["A/1", "B/1", "C/1"]
    back = trace("batch", "C", entries, [], [], [], TODAY)
    assert set(back.lots) == {"OIL-1", "OIL-2"}
    assert blocks_with("OIL-3", entries) == []


def pack(id_, code, *parts, day=TODAY):
    return {"id": f"{id_}-packed", "at": "2026-11-01", "local": "2026-11-01T08:00:00+00:00", "kind": "packed", "subject": f"packed:{id_}", "person": "Q", "code": code,
            "parts": [{"code": batch, "block": block, "bars": bars} for batch, block, bars in parts]}


def move(id_, kind, outlet, bars, n, **more):
    return {"id": f"{id_}-{n}", "at": f"2026-11-{n + 2:02}", "local": f"2026-11-{n + 2:02}T08:00:00+00:00", "kind": kind, "subject": f"packed:{id_}", "person": "J",
            "outlet": outlet, "outlet_name": outlet.title(), "bars": bars, **more}


def test_bars_sent_to_rework_or_rejected_are_not_in_store():
    # As the page about stock counts them: calc/stock/bars.py. They lie somewhere all the same: a recall has to find them.
    for state, bars, barred in (("released", [250], []), ("reworked", [], [250]), ("rejected", [], [250])):
        found = trace("lot", "OIL-1", [entry("A", (1, "OIL-1", "2026-10-01"), state=state)], [], [], [], TODAY)
        assert ([each.bars for each in found.in_store], [each.bars for each in found.barred]) == (bars, barred), state


def stocked(kind, about, bars, n, reason=""):
    return {"id": f"s{n}", "at": f"2026-11-{n + 2:02}", "local": f"2026-11-{n + 2:02}T08:00:00+00:00", "kind": kind, "subject": f"stock:bars/{about}", "person": "J", "bars": bars, "reason": reason}


def test_every_bar_of_a_batch_is_sent_here_a_sample_or_gone_and_the_reason_is_told():
    entries = [entry("A", (1, "OIL-1", "2026-10-01"), blocks=2, bars=250), entry("B", (1, "OIL-2", "2026-10-01"))]
    sold = [pack("p", "A-P1", ("A", 1, 100)), move("p", "sent", "market", 60, 1)]
    kept = [{"id": "k", "at": "2026-11-01", "local": "2026-11-01T08:00:00+00:00", "kind": "sample_kept", "subject": "release:A/1", "person": "Q", "bars": 4, "place": "Shelf"}]
    stock = [stocked("stock_thrown", "A/1", 6, 3, "Cracked"), stocked("stock_counted", "A/1", 137, 4, "Given away"), stocked("stock_thrown", "B/1", 9, 5)]
    found = trace("batch", "A", entries, [], sold, kept, TODAY, stock)
    # By hand, block 1: 250 - 100 packed - 4 - 6 = 140; 137 counted are 3 off. Block 2 is whole. B is none of it.
    assert [(each.block.id, each.bars) for each in found.in_store] == [("A/1", 137), ("A/2", 250)]
    assert [(store.id, gone.bars, gone.reason) for store, gone in found.gone] == [("A/1", 6, "Cracked"), ("A/1", 3, "Given away")]
    everywhere = found.out_bars + found.packed_bars + found.loose_bars + sum(sample.bars for sample in found.samples) + sum(gone.bars for _, gone in found.gone)
    assert (found.out_bars, found.packed_bars, everywhere) == (60, 40, 500)
    # An outlet's list is of what went there: what is on the shelf is none of it.
    assert trace("outlet", "market", entries, [], sold, kept, TODAY, stock).gone == ()


def test_more_gone_than_was_counted_is_told_and_never_hidden():
    found = trace("batch", "A", [entry("A")], [], [pack("p", "P", ("A", 1, 250))], [], TODAY, [stocked("stock_thrown", "A/1", 2, 3)])
    assert [each.bars for each in found.in_store] == [-2] and found.loose_bars == 0


def test_a_packed_lot_of_two_blocks_is_reached_whole_by_one_of_them():
    entries = [entry("A", (1, "OIL-1", "2026-10-01")), entry("B", (1, "OIL-2", "2026-10-01"))]
    told = [pack("p", "A-P1", ("A", 1, 100), ("B", 1, 50)), move("p", "sent", "market", 60, 1), move("p", "came_back", "market", 10, 2)]
    found = trace("lot", "OIL-1", entries, [], told, [], TODAY)
    # 150 packed, 60 sent, 10 back: 50 out, 100 here; of block A/1 150 of 250 bars are in no packed lot.
    assert [(each.outlet, each.lot.code, each.bars) for each in found.at_outlets] == [("market", "A-P1", 50)]
    assert [(lot.code, lot.in_store) for lot in found.in_store_packed] == [("A-P1", 100)]
    assert [(each.block.id, each.bars) for each in found.in_store] == [("A/1", 150)]
    assert (found.out_bars, found.packed_bars, found.loose_bars) == (50, 100, 150)


def test_from_an_outlet_and_from_a_packed_lot_every_lot_is_found():
    entries = [entry("A", (1, "OIL-1", "2026-10-01"), (1, "SCENT-4", "2026-10-01")), entry("B", (1, "OIL-2", "2026-10-01"))]
    told = [pack("p", "A-P1", ("A", 1, 100)), move("p", "sent", "market", 60, 1), pack("q", "B-P1", ("B", 1, 9)), move("q", "sent", "shop", 9, 1)]
    for kind, key in (("packed", "p"), ("outlet", "market")):
        found = trace(kind, key, entries, [], told, [], TODAY)
        assert set(found.lots) == {"OIL-1", "SCENT-4"} and [block.id for block in found.blocks] == ["A/1"]
        assert found.out_bars == 60


def test_of_a_packed_lot_whose_batch_is_on_another_phone_the_batch_is_named_all_the_same():
    found = trace("packed", "p", [], [], [pack("p", "A-P1", ("A", 1, 100)), move("p", "sent", "market", 60, 1)], [], TODAY)
    assert found.batches == ("A",) and found.lots == {} and found.out_bars == 60
    # That nobody recorded here what went into it is told: no lots are not none.
    assert [(each.block.id, each.packed, each.sent) for each in found.unlogged] == [("A/1", 100, True)]


def test_bars_that_all_came_back_are_at_no_outlet_and_what_was_taken_back_never_was():
    told = [pack("p", "P", ("A", 1, 20)), move("p", "sent", "market", 5, 1), move("p", "came_back", "market", 5, 2), move("p", "sent", "shop", 7, 3),
            {"id": "t", "at": "2026-11-09", "kind": "packed_taken_back", "subject": "packed:p", "takes": "p-3", "person": "Q", "reason": "typed twice"}]
    (lot,) = packed(told, TODAY).lots
    assert lot.out == {} and lot.in_store == 20


def test_events_that_come_twice_or_in_another_order_change_nothing_and_odd_ones_are_counted():
    told = [pack("p", "P", ("A", 1, 20)), move("p", "sent", "market", 5, 1)]
    once, twice = packed(told, TODAY), packed([*reversed(told), *told], TODAY)
    assert once == twice and once.lots[0].out == {"market": 5}
    odd = packed([*told, {"id": "z", "kind": "sent", "subject": "packed:none", "at": "2026-11-09", "bars": 1}], TODAY)
    assert odd.unread == 1 and odd.lots == once.lots


def test_the_next_code_of_a_packed_lot_is_the_first_free_one():
    assert next_code("QM-1", []) == "QM-1-P1"
    assert next_code("QM-1", ["qm-1-p1", "QM-1-P3"]) == "QM-1-P2"


def taken(id_, takes, n, person="A"):
    return {"id": f"{id_}-t{n}", "at": f"2026-11-{n + 2:02}", "kind": "packed_taken_back", "subject": f"packed:{id_}", "takes": takes, "person": person, "reason": "wrong"}


def test_a_packing_taken_back_on_one_phone_stands_while_another_has_sent_bars_of_it():
    entries = [entry("A", (1, "OIL-1", "2026-10-01"))]
    told = [pack("p", "P", ("A", 1, 100)), move("p", "sent", "shop", 72, 1), taken("p", "p-packed", 2, person="Ana")]
    found = trace("lot", "OIL-1", entries, [], told, [], TODAY)
    # By hand: 72 are out and 28 of the hundred are here; of 250 good bars 150 lie loose.
    assert [(each.outlet, each.bars) for each in found.at_outlets] == [("shop", 72)]
    assert [(lot.in_store, lot.unpacked_by) for lot in found.in_store_packed] == [(28, "Ana")]
    assert [each.bars for each in found.in_store] == [150] and found.unread == 0
    # Once what was sent is taken back too, the packing is gone as was asked.
    gone = trace("lot", "OIL-1", entries, [], [*told, taken("p", "p-1", 5)], [], TODAY)
    assert (gone.packed, gone.out_bars, [each.bars for each in gone.in_store]) == ((), 0, [250])


def test_one_return_written_down_on_two_phones_is_told_and_lowers_no_total():
    told = [pack("p", "P", ("A", 1, 160)), move("p", "sent", "shop", 72, 1), move("p", "sent", "market", 10, 2), move("p", "came_back", "shop", 50, 3), move("p", "came_back", "shop", 50, 4)]
    found = trace("batch", "A", [entry("A")], [], told, [], TODAY)
    # By hand: of 72 at the shop 50 came back and then at most 22 more; the market's ten are untouched; 160 - 10 are here.
    assert {each.outlet: each.bars for each in found.at_outlets} == {"market": 10} and found.out_bars == 10
    (lot,) = found.packed
    assert (lot.in_store, lot.back_twice) == (150, {"shop": 28})
    # What goes there afterwards counts in full.
    (lot,) = packed([*told, move("p", "sent", "shop", 5, 6)], TODAY).lots
    assert lot.out == {"shop": 5, "market": 10}


def test_a_delivery_called_like_a_block_is_a_lot_and_soap_of_an_unknown_batch_is_soap():
    drawn = entry("A", (1, "7781/2", "2026-10-01"), (1, "QM-7/1", "2026-10-01"))
    drawn["drawn"][1]["soap"] = True
    found = trace("batch", "A", [drawn], [], [], [], TODAY)
    assert (set(found.lots), [block.takes for block in found.blocks]) == ({"7781/2"}, [("QM-7/1",)])
    assert blocks_with("7781/2", [drawn]) == ["A/1"]


def test_of_a_closed_block_without_weighings_each_lot_of_a_mixed_scent_is_told():
    closed = entry("A")
    closed["used"] = [{"n": 1, "kind": "scent", "lot": "C, O", "parts": [{"lot": "C", "share": 0.4}, {"lot": "O", "share": 0.6}]}]
    assert blocks_with("O", [closed]) == blocks_with("C", [closed]) == ["A/1"]
