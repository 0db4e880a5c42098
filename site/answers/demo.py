"""The invented workshop that a new visitor finds, and the requests its pages show answers to before any script runs."""

import json
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from answers.request import Request
from answers.state import State
from answers.tasks.batch import issue_batch
from answers.tasks.tank_plan import tank_plan
from calc.shared import DEMO
from calc.steps.keys import FIRST_BAR

# Fixed, so that two builds of one commit are alike; only a batch code is made from it.
DEMO_NOW = "2026-11-25T08:00:00+00:00"

BATCH_VALUES = {
    "formula": "f-marsh-plain",
    "mould": "m-block",
    "scale_to": "blocks",
    "blocks": "2",
    "vessel": "v-tilting",
    "naoh_lot": "a-tank",
    "cutter": "c-frames",
}


# The scent check as the page opens with it.
SCENT_VALUES = {"scent": "n-clove", "oils_g": "10", "oils_g.unit": "kg", "load_fraction": "2", "formula": "f-marsh-plain"}


# What could stand in, as the page opens with it.
STAND_IN_VALUES = {"formula": "f-marsh-plain", "oil": "palm", "left_g": "0", "left_g.unit": "kg"}


# The cut plan as the page opens with it.
CUT_VALUES = {"mould": "m-block", "formula": "f-marsh-plain"}


# An evening in the week, the oil tank cold; and what the formula's own temperatures come to.
HEAT_VALUES = {
    "tank": "t-oil", "amount_g": "150", "amount_g.unit": "kg", "now_c": "22", "now_c.unit": "degC", "wanted_c": "45",
    "wanted_c.unit": "degC", "ready_at": "07:00", "oils_are": "cloudy", "formula": "f-marsh-plain", "room_c": "18",
    "room_c.unit": "degC",
}  # fmt: skip
TEMPERATURE_VALUES = {"tank": "t-oil", "temperature_c": "38", "temperature_c.unit": "degC", "instrument": "probe"}
MIX_VALUES = {"formula": "f-marsh-plain", "oils_c": "40", "oils_c.unit": "degC", "lye_c": "30", "lye_c.unit": "degC"}


# A hydrometer in the demo's lye tank, as the page opens with it.
STRENGTH_VALUES = {
    "method": "baume", "modulus": "145", "baume": "38.2", "temperature_c": "28", "tank": "t-lye", "lot": "a-tank", "coldest_c": "14",
}  # fmt: skip


# Lye for the demo's tank, from flake.
LYE_VALUES = {"total_g": "200", "total_g.unit": "kg", "wanted_fraction": "33", "made_of": "solid", "water_c": "15", "room_c": "20", "tank": "t-lye"}


# What goes into the lye tank as the page for it opens.
LOAD_VALUES = {"tank": "t-lye", "parts.0.lot": "a-naoh", "parts.0.mass_g": "10", "parts.0.mass_g.unit": "kg", "water_g": "20", "water_g.unit": "kg"}


# What the lye tank takes for some blocks, as the page opens with it.
PLAN_VALUES = {"tank": "t-lye", "made.0.formula": "f-marsh-plain", "made.0.blocks": "6"}


# A block of the demo's racks before its sale, bars packed and sent, a lot that is traced, a complaint: as their pages open.
RELEASE_VALUES = {"block": "QM-114:1", "what": "release", "look": "yes"}
PACK_VALUES = {"parts.0.block": "QM-109:2", "parts.0.bars": "60"}
SEND_VALUES = {"packed": "demo-b", "what": "sent", "outlet": "u-market", "bars": "40"}
TRACE_VALUES = {"code": "OLV-0412"}
AFTER_VALUES = {"about": "QM-109-P1", "what": "complaint", "said": "Soft in the dish"}


# A count of a lot, as the page for it opens.
STOCK_VALUES = {"lot": "o-coc", "what": "counted", "mass_g": "18", "mass_g.unit": "kg"}


# The day as its page opens with it.
DAY_VALUES = {
    "on": "2026-11-26", "starts_at": "07:00", "earlier": "yes",
    "blocks.0.what": "formula:f-marsh-plain", "blocks.0.blocks": "2", "blocks.0.mould": "m-block",
    "blocks.1.what": "formula:f-reed-lavender", "blocks.1.blocks": "1", "blocks.1.mould": "m-half",
}  # fmt: skip


# The label as its page opens with it.
LABEL_VALUES = {
    "formula": "f-reed-lavender", "identity": "Bar soap", "market": "us", "way": "added", "net_g": "125", "net_g.unit": "g",
    "width_mm": "90", "width_mm.unit": "mm", "height_mm": "70", "height_mm.unit": "mm", "parts": "one", "shape": "label",
    "maker": "Quillmarsh Soap House, 1 Saltgrass Lane, Quillmarsh", "paper": "letter",
}  # fmt: skip


@cache
def demo_state() -> dict[str, Any]:
    """The demo workshop as a request carries it."""
    loaded: dict[str, Any] = json.loads(DEMO.read_text(encoding="utf-8"))
    return loaded


def stored_values(kind: str, id_: str) -> dict[str, str]:
    """What was typed for one demo item."""
    values: dict[str, str] = next(entry["values"] for entry in demo_state()[kind] if entry["id"] == id_)
    return values


def demo_requests() -> tuple[dict[str, Any], ...]:
    """One request for each answer that a page shows at build time."""
    asked: list[tuple[str, dict[str, str]]] = [
        ("formula_list", {}),
        ("formula", stored_values("formula", "f-marsh-plain")),
        ("stand_in", STAND_IN_VALUES),
        ("batch_sheet", BATCH_VALUES),
        ("issue_batch", BATCH_VALUES | {"issued_by": "Q"}),
        ("cut_plan", CUT_VALUES),
        ("fragrance", SCENT_VALUES),
        ("set_aside_list", {}),
        ("tank_heat", HEAT_VALUES),
        ("tank_temperature", TEMPERATURE_VALUES),
        ("mix_temperature", MIX_VALUES),
        ("cure_rack", {}),
        ("cure_batch", {"batch": "QM-114:1"}),
        ("cure_racked", {"code": "QM-121", "block": "1", "bars": "252", "rack": "r-first", "cutter": "c-frames", "stands": "yes"}),
        ("cure_test", {"batch": "QM-114:1", "method": "moisture", "sample_g": "10.012", "dried_g": "8.651"}),
        ("cure_move", {"batch": "QM-114:1", "to": "ready"}),
        ("net_quantity", {"batch": "QM-114:1", "weights": "127.1 128.0 126.5 127.9", "weighed_in": "g"}),
        ("soap_label", LABEL_VALUES),
        ("soap_label", LABEL_VALUES | {"market": "both", "way": "bar", "parts": "two", "keeps_months": "36", "opened_months": "12"}),
        ("lye_strength", STRENGTH_VALUES),
        ("lye_strength", {"method": "titration", "scale": "s-fragrance", "sample_g": "10.2", "acid_ml": "42.1", "acid_mol_per_l": "2"}),
        ("make_lye", LYE_VALUES),
        ("make_lye", {"total_g": "100", "wanted_fraction": "33", "made_of": "lye", "have_g": "20", "have_fraction": "31"}),
        ("make_lye", {"total_g": "20", "wanted_fraction": "30", "made_of": "solid", "alkali": "koh"}),
        ("tanks", {}),
        ("tanks_today", {}),
        ("tank_standing", {"tank": "t-lye"}),
        ("tank_load", LOAD_VALUES),
        ("tank_draw", {"tank": "t-lye", "what": "some", "mass_g": "2", "mass_g.unit": "kg"}),
        ("tank_plan", PLAN_VALUES),
        ("tank_plan", PLAN_VALUES | {"tank": "t-oil", "made.0.blocks": "4", "made.1.formula": "f-reed-lavender", "made.1.blocks": "1"}),
        ("day", DAY_VALUES),
        ("hand_code", {"link": "https://tarewell.example/take/#1." + "a_-Z" * 100}),
        ("release", RELEASE_VALUES),
        ("release", {"what": "release"}),
        ("pack", PACK_VALUES),
        ("send", SEND_VALUES),
        ("after_sale", AFTER_VALUES),
        ("trace", TRACE_VALUES),
        ("trace", {}),
        ("stock", {}),
        ("stock_entry", STOCK_VALUES),
        ("lots_left", {}),
        ("workshop", {}),
        ("mould", stored_values("mould", "m-block")),
        ("setup_crew", {"people": "Q, J"}),
    ]
    plain = [{"task": task, "values": values, "state": demo_state(), "now": DEMO_NOW} for task, values in asked]
    return (*plain, *_block_requests(), *_fill_requests())


def practice_batch() -> dict[str, Any]:
    """The batch that waits in practice, as issuing freezes it, and when its sheet says that this was."""
    order = Request(BATCH_VALUES | {"issued_by": "Q", "code": "PRACTICE-1"}, State(demo_state()), DEMO_NOW)
    return {"issued_at": DEMO_NOW[:16], "record": issue_batch(order).record}


def _block_requests() -> list[dict[str, Any]]:
    """What the page at the scale asks: before the first step, after a slip, at the end of a block, and once its first bar is weighed."""
    order = Request(BATCH_VALUES | {"issued_by": "Q"}, State(demo_state()), DEMO_NOW)
    record = {key: part for key, part in (issue_batch(order).record or {}).items() if key != "html"}
    steps = record["steps"]
    slip = {"oil:0": "16.00"}
    whole = block_as_planned(steps)
    later = {"at": "2026-11-26T10:00:00.000Z", "local": "2026-11-26T10:00:00+00:00", "person": "Q"}
    closed = {**later, "id": "f1", "kind": "closed", "outcome": "poured"}
    weighed = {**later, "id": "f2", "kind": "measured", "step": FIRST_BAR, "reading": "140", "unit": "g"}
    states: tuple[list[dict[str, Any]], ...] = (
        [], block_as_planned(steps[: 1 + _place(steps, "oil:0")], slip), whole, [*whole, closed, weighed],
    )  # fmt: skip
    about = f"block:{record['code']}/1"
    return [
        *({"task": "at_the_scale", "values": {"batch": record["code"], "block": "1"}, "now": DEMO_NOW,
           "state": demo_state() | {"record": record, "events": events}} for events in states),
        {"task": "batch_record", "values": {}, "now": DEMO_NOW,
         "state": demo_state() | {"record": record, "events": [{**event, "subject": about} for event in states[-1]]}},
    ]  # fmt: skip


def _fill_requests() -> list[dict[str, Any]]:
    """What the same page asks of a tank that is filled: at its beginning, after a slip, at its end; and what begins it."""
    begun = {"task": "tank_plan", "values": PLAN_VALUES, "state": demo_state(), "now": DEMO_NOW, "check": True}
    record = tank_plan(Request(PLAN_VALUES, State(demo_state()), DEMO_NOW, check=True)).record or {}
    steps = record["fields"]["steps"]
    slip = {"lye:water:1": "17.00"}
    states: tuple[list[dict[str, Any]], ...] = ([], block_as_planned(steps[: 1 + _place(steps, "lye:water:1")], slip), block_as_planned(steps))
    return [
        begun,
        *({"task": "tank_fill", "values": {"fill": record["id"]}, "now": DEMO_NOW,
           "state": demo_state() | {"record": record["fields"], "events": [{**event, "kind": f"fill_{event['kind']}"} for event in events]}}
          for events in states),
    ]  # fmt: skip


def _place(steps: Sequence[Mapping[str, Any]], key: str) -> int:
    return next(n for n, step in enumerate(steps) if step["key"] == key)


def block_as_planned(
    steps: Sequence[Mapping[str, Any]], readings: Mapping[str, str] | None = None
) -> list[dict[str, Any]]:
    """The events of somebody who meets every target, but for the readings given by step; a last timer only runs."""
    events: list[dict[str, Any]] = []
    for number, step in enumerate(steps):
        at = f"2026-11-25T09:{number:02}:00"
        event = {"id": f"e{number:03}", "at": f"{at}.000Z", "local": f"{at}+00:00", "step": step["key"], "person": "Q"}
        if step["kind"] == "weigh":
            asked = {part: step[part] for part in ("target", "low", "high", "decimals", "unit", "division")}
            reading = (readings or {}).get(step["key"], step["target_text"])
            event |= {"kind": "weighed", "reading": reading, "unit": step["unit"], "mode": "net", "asked": asked}
            event |= {"lot": step["lot"], "question": None}
        elif step["kind"] == "timer":
            action = "started" if step is steps[-1] else "ended"
            event |= {"kind": "timed", "action": action, "seconds": step["seconds"]}
        elif step["kind"] == "temperature":
            event |= {"kind": "checked", "reading": "36", "unit": step["unit"]}
        else:
            event |= {"kind": "checked"}
        events.append(event)
    return events
