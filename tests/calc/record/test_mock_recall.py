"""A mock recall of every lot of a workshop by chance: raw events, the log made of them, what the page picks for each lot, and the door's trace.

Held against a naive search through the raw events that knows of none of these (`shop_by_chance`).
"""

import json
from datetime import date
from pathlib import Path

import pytest
import shop_by_chance as chance

from calc.record.trace import trace
from calc.workshop.lot_codes import LotCodes
from runtime.node import run_node

ROOT = Path(__file__).resolve().parents[3]
TODAY = date(2026, 12, 1)


@pytest.mark.parametrize("seed", range(2))
def test_of_every_lot_the_recall_finds_each_block_and_each_bar(seed, tmp_path):
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
