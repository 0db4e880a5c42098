"""A mock recall of lots by chance among 10,000 batches: what the page picks of them, in node, and the trace at the door, in this Python.

Prints `figure: value unit`. Each recall is held against a tally kept while the records were made up.
"""

import argparse
import json
import random
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from measuring import ROOT

sys.path[:0] = [str(ROOT), str(ROOT / "site"), str(ROOT / "tests")]
from answers.demo import demo_state
from answers.door import answer
from answers.state import State
from calc.record.trace import trace
from runtime.node import run_node

NOW, TODAY, START = "2026-12-01T08:00:00+00:00", date(2026, 12, 1), datetime(2020, 1, 6, 8)
RECALLS = 12
# A trace in a browser may take 300 ms; its Python is some five times as slow as this one.
MOST_MS = 60.0
# So many batches are made before the next delivery of each kind is opened.
OILS, SCENTS, SODA = 40, 30, 60


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--batches", type=int, default=10_000)
    parser.add_argument("--runs", type=int, default=RECALLS, help="lots recalled")
    arguments = parser.parse_args()
    made = records(arguments.batches)
    chance = random.Random(5)
    lots = chance.sample(sorted(made["reached"]), min(arguments.runs, len(made["reached"])))
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "told.json"
        told.write_text(json.dumps({"codes": lots, "log": made["log"], "contents": made["contents"], "packed": made["packed"]}))
        picks = json.loads(run_node(ROOT / "tests" / "site_js" / "picked_of.mjs", told, cwd=ROOT))
    wrong, asked_ms = 0, []
    for lot, pick in zip(lots, picks, strict=True):
        state = part_of(made, pick)
        request = json.dumps({"task": "trace", "values": {"code": lot}, "state": state, "now": NOW})
        began = time.perf_counter()
        reply = json.loads(answer(request))
        asked_ms.append(1000.0 * (time.perf_counter() - began))
        read = State(state)
        found = trace("lot", lot, read.log_entries, read.contents, read.packed_events, read.release_events, TODAY, read.stock)
        wrong += not reply["ok"] or {block.id for block in found.blocks} != made["reached"][lot] or found.out_bars != sum(made["out"][block] for block in made["reached"][lot])
    print(f"batches a lot reached, median: {statistics.median(len(pick['entries']) for pick in picks):.0f}")
    print(f"recalls that differ from the tally: {wrong} of {len(lots)}")
    print(f"picked out of {arguments.batches} batches, longest: {max(pick['ms'] for pick in picks):.0f} ms")
    print(f"trace at the door, median: {statistics.median(asked_ms):.0f} ms")
    print(f"trace at the door, longest: {max(asked_ms):.0f} ms")
    return 0 if not wrong and max(asked_ms) <= MOST_MS else 1


def part_of(made: dict[str, Any], pick: dict[str, Any]) -> dict[str, Any]:
    """What the page hands over: site/static/js/trace/page.mjs."""
    codes, ids = set(pick["entries"]), set(pick["packed"])
    own = {key: demo_state()[key] for key in ("units", "oil_lot", "alkali_lot", "scent_lot", "packaging_lot", "outlet")}
    return own | {
        "contents": made["contents"],
        "log_entries": [entry for entry in made["log"] if entry["code"] in codes],
        "packed_events": [event for event in made["packed"] if event["id"] in ids],
        "release_events": [],
        "stock": [event for code in codes for event in made["stock"].get(code, ())],
    }


def records(batches: int) -> dict[str, Any]:
    """The log, tanks, packed lots and counts of so many batches; which blocks each oil, caustic and scent reached, and what of a block is out."""
    chance = random.Random(7)
    log: list[dict[str, Any]] = []
    contents: list[dict[str, Any]] = []
    packed: list[dict[str, Any]] = []
    stock: dict[str, list[dict[str, Any]]] = {}
    reached: dict[str, set[str]] = defaultdict(set)
    out: dict[str, int] = defaultdict(int)
    for n in range(batches):
        began = START + timedelta(hours=5 * n)
        code, at, local = f"B-{n:05}", f"{began:%Y-%m-%dT%H:%M:%S}.000Z", f"{began:%Y-%m-%dT%H:%M:%S}+00:00"
        soda = f"SODA-{n // SODA:04}"
        if n % SODA == 0:
            contents.append({"id": f"e{n}", "at": at, "local": local, "kind": "tank_emptied", "subject": "contents:t", "person": "Q", "reason": "Cleaned"})
            contents.append({"id": f"t{n}", "at": at, "local": local, "kind": "tank_loaded", "subject": "contents:t", "person": "Q", "as_lot": "LYE",
                             "parts": [{"name": "Caustic soda", "lot": soda, "grams": 30_000.0, "alkali": "naoh"}, {"name": "Water", "grams": 60_000.0}]})  # fmt: skip
        lots = [f"OIL-{kind}-{n // OILS:04}" for kind in ("a", "b", "c")] + [f"SCENT-{n % 3}-{n // SCENTS:04}", "LYE"]
        blocks = 1 + n % 3
        drawn = [{"n": block, "lot": lot, "at": f"{began + timedelta(hours=1):%Y-%m-%dT%H:%M:%S}.000Z"} for block in range(1, blocks + 1) for lot in lots]
        parts = [{"n": block, "state": "released", "bars": 250, "poured_on": at[:10]} for block in range(1, blocks + 1)]
        log.append({"code": code, "formula": "f", "formulaName": "Soap", "local": local, "parts": parts, "lots": lots, "drawn": drawn, "used": []})
        for block in range(1, blocks + 1):
            about = f"{code}/{block}"
            for lot in (*lots[:-1], soda):
                reached[lot].add(about)
            for part in range(2):
                subject, sent = f"packed:{about}-{part}", chance.randint(1, 100)
                packed.append({"id": f"{subject}p", "at": at, "local": local, "kind": "packed", "subject": subject, "person": "Q", "code": f"{code}-P{2 * block + part}",
                               "parts": [{"code": code, "block": block, "bars": 100}]})  # fmt: skip
                packed.append({"id": f"{subject}s", "at": at, "local": local, "kind": "sent", "subject": subject, "person": "Q", "outlet": f"u-{n % 9}", "outlet_name": "Shop", "bars": sent})
                out[about] += sent
            stock.setdefault(code, []).append({"id": f"s{about}", "at": at, "local": local, "kind": "stock_thrown", "subject": f"stock:bars/{about}", "person": "Q", "bars": 3, "reason": "Cracked"})
    return {"log": log, "contents": contents, "packed": packed, "stock": stock, "reached": dict(reached), "out": out}


if __name__ == "__main__":
    sys.exit(main())
