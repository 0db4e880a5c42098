"""What lies set aside of each block: trim and bars told at the cutter, less what was weighed into later batches; what a gram holds.

A fold over events, like every list. What was set aside is told fresh and weighed again when it has dried, so that what is
left is the most that can be there. What a block was weighed to counts, where its record was closed; else its sheet.
"""

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, cast

from calc.batch.soap import SoapLot
from calc.block.after_pour import Yield, yield_of
from calc.block.chemistry import Block
from calc.block.closings import closing_of
from calc.block.shape import can_be_weighed
from calc.cure.rack import RackBatch
from calc.entry.language import LANGUAGES, speaking, tr
from calc.entry.shown import percent
from calc.scent.carried import CarriedScent
from calc.steps.frozen import kind_of
from calc.steps.keys import MADE
from calc.tables.reference import constant
from calc.workshop.reasons import FREE_LYE

# Bars that were weighed first so many days after they were cut had lost next to nothing by then.
FRESH_DAYS = 2
FREE_CAUSTIC_ASKED = constant("free_caustic_asked").value


@dataclass(frozen=True)
class Use:
    """A later batch that some of a lot goes into: what was weighed of it, and what is still to be weighed [g]."""

    code: str
    used_g: float
    planned_g: float


@dataclass(frozen=True)
class SetAside:
    """One lot as the list tells it."""

    lot: SoapLot
    trim_g: float
    bars: int
    why: str | None
    uses: tuple[Use, ...]


def water_fraction(sheet: Mapping[str, Any]) -> float | None:
    """Water in the fresh soap at most, by its issued sheet [g/g]; None where the sheet is too old to tell what its pours are."""
    with suppress(AttributeError, KeyError, TypeError, ValueError, ZeroDivisionError):
        lye_g = math.fsum(pour["exact_g"] for pour in sheet["pours"] if pour["kind"] in ("water", "alkali"))
        water_g = lye_g * (1.0 - sheet["chemistry"]["lye_strength_fraction"])
        old = (sheet.get("set_aside") or {}).get("lots", ())
        water_g += math.fsum(each["taken_g"] * each["water_high_fraction"] for each in old)
        found = float(water_g / sheet["batter_g"])
        return found if 0.0 < found < 1.0 else None
    return None


def set_aside(
    told: Mapping[str, Any], uses: Sequence[Mapping[str, Any]], rack: RackBatch | None, bar_g: float | None, today: date
) -> SetAside | None:
    """What lies there of one block; None where nothing of it was told. ValueError, KeyError or TypeError for what can't be read.

    told: its `sheet` as issued, its `block`, its `events`. uses: every sheet that takes set-aside soap, each with its events.
    rack: its bars on the cure rack. bar_g: what a bar weighs by plan, where its first bar was not weighed.
    """
    sheet, number, events = told["sheet"], int(told["block"]), told["events"]
    found = yield_of(sheet, events)
    total_g = _told_g(found, bar_g)
    if total_g <= 0.0:
        return None
    id_ = f"{sheet['code']}:{number}"
    taken = tuple(use for each in uses if (use := _use(each, id_)) is not None)
    age = max((today - _cut_on(events)).days, 0)
    lot = _lot(sheet, events, id_, age, rack)
    lot = replace(
        lot,
        told_g=total_g,
        used_g=math.fsum(use.used_g for use in taken),
        planned_g=math.fsum(use.planned_g for use in taken),
        asks=_asks(lot, found, rack),
    )
    return SetAside(lot, found.trim_g or 0.0, found.set_aside or 0, found.why, taken)


def _told_g(found: Yield, bar_g: float | None) -> float:
    each_g = found.first_bar_g or bar_g or 0.0
    return (found.trim_g or 0.0) + (found.set_aside or 0) * each_g


def _cut_on(events: Sequence[Mapping[str, Any]]) -> date:
    days = [str(event["local"])[:10] for event in events if event["kind"] == "measured"]
    return date.fromisoformat(max(days))


def _use(use: Mapping[str, Any], id_: str) -> Use | None:
    sheet, events = use["sheet"], use["events"]
    rows = [(n, each) for n, each in enumerate((sheet.get("set_aside") or {}).get("lots", ())) if each["id"] == id_]
    if not rows:
        return None
    used, planned = [], []
    for number in range(1, int(sheet.get("blocks", 1)) + 1):
        own = [event for event in events if event["subject"] == f"block:{sheet['code']}/{number}"]
        if not can_be_weighed(sheet, own):
            raise ValueError(f"{sheet['code']}/{number} can't be read")
        block = Block(sheet, cast(Any, own))
        for n, each in rows:
            weighed = block.weighed.get(f"soap:{n}")
            if weighed is not None:
                used.append(weighed.g)
            elif block.events.closed is None:
                planned.append(float(each["taken_g"]))
    return Use(str(sheet["code"]), math.fsum(used), math.fsum(planned))


def _lot(
    sheet: Mapping[str, Any], events: Sequence[Mapping[str, Any]], id_: str, age: int, rack: RackBatch | None
) -> SoapLot:
    closed = (closing_of(events) or {}).get("record") or {}
    weighed = {row["pour"]: float(row["actual_g"]) for row in closed.get("amounts", ())}
    poured = {pour["key"]: weighed.get(pour["key"], float(pour["target_g"])) for pour in sheet["pours"] if pour["key"] != MADE}
    batter_g = math.fsum(poured.values())
    superfat = closed.get("superfat") or sheet["superfat"]
    chemistry = sheet["chemistry"]
    old = chemistry.get("soaps", ())
    demand_koh_g = math.fsum(poured[oil["pour"]] * oil["used"] / 1000.0 for oil in chemistry["oils"])
    demand_koh_g += math.fsum(
        poured[each["pour"]] * (each["demand_low_koh_per_g"] + each["demand_high_koh_per_g"]) / 2.0 for each in old
    )
    fresh = water_fraction(sheet)
    if fresh is None:
        raise ValueError("the sheet doesn't tell its water")
    low, high = _water_now(fresh, age, rack)
    # Only water leaves: the rest of it is then in less.
    denser_low, denser_high = (1.0 - high) / (1.0 - fresh), (1.0 - low) / (1.0 - fresh)
    per_g = demand_koh_g / batter_g
    return SoapLot(
        id=id_,
        soap=str((sheet.get("formula") or {}).get("name") or sheet["code"]),
        formula=str((sheet.get("formula") or {}).get("id") or ""),
        age_days=age,
        told_g=0.0,
        used_g=0.0,
        planned_g=0.0,
        water_low_fraction=low,
        water_high_fraction=high,
        demand_low_koh_per_g=per_g * denser_low,
        demand_high_koh_per_g=per_g * denser_high,
        superfat_fraction=float(superfat["value"]),
        superfat_low_fraction=float(superfat["low"]),
        superfat_high_fraction=float(superfat["high"]),
        scents=tuple(_scents(sheet, poured, batter_g, denser_high)),
        ingredients=_ingredients(sheet),
        asks="",
    )


def _water_now(fresh: float, age: int, rack: RackBatch | None) -> tuple[float, float]:
    """The water in it now, at least and at most [g/g], of soap that was poured with so much."""
    if rack is not None and rack.weighed and rack.first_age <= FRESH_DAYS:
        weighings = rack.weighings
        left = min(weighings[-1].bar_g / weighings[0].bar_g, 1.0)
        if left > 1.0 - fresh:
            now = (fresh - (1.0 - left)) / left
            return now, now
    return (fresh, fresh) if age == 0 else (0.0, fresh)


def _scents(
    sheet: Mapping[str, Any], poured: Mapping[str, float], batter_g: float, denser: float
) -> list[CarriedScent]:
    """Its own scent and those that soap brought into it already; none of it is taken to be lost."""
    found = []
    keys = [pour["key"] for pour in sheet["pours"] if kind_of(pour) == "scent"]
    scent_g = math.fsum(poured[key] for key in keys)
    own = sheet.get("scent")
    if scent_g > 0.0:
        load = denser * scent_g / batter_g
        if own is None:
            name = tr("the scent of {batch}", batch=sheet["code"])
            found.append(CarriedScent(name, load, None, None, (), (), (name,)))
        else:
            old, limit = sheet.get("set_aside"), own.get("limit")
            most = old["limit_alone_fraction"] if old else None if limit is None else limit["load_fraction"]
            found.append(
                CarriedScent(
                    str(own["name"]),
                    load,
                    None if most is None else float(most),
                    own.get("allergens"),
                    tuple(own.get("label", ())),
                    tuple(own.get("label_incomplete", ())),
                    tuple(own.get("unknown", ())),
                )
            )
    for n, each in enumerate((sheet.get("set_aside") or {}).get("lots", ())):
        share = denser * poured[f"soap:{n}"] / batter_g
        for scent in each["scents"]:
            carried = CarriedScent.of_record(scent)
            found.append(replace(carried, load_fraction=share * carried.load_fraction))
    return found


def _ingredients(sheet: Mapping[str, Any]) -> tuple[str, ...]:
    names = [str(pour["name"]) for pour in sheet["pours"] if kind_of(pour) in ("oil", "additive")]
    for each in (sheet.get("set_aside") or {}).get("lots", ()):
        names += map(str, each["ingredients"])
    return tuple(dict.fromkeys(names))


def _asks(lot: SoapLot, found: Yield, rack: RackBatch | None) -> str:
    """Why somebody must say in writing that it may go in: it may hold free lye."""
    said = {_said(language) for language in LANGUAGES}
    if found.why is not None and any(words in found.why for words in said):
        return tr("it was set aside for free lye")
    tested = [] if rack is None else [test.fraction for test in rack.tests if test.method == "free_caustic"]
    if tested and tested[-1] >= FREE_CAUSTIC_ASKED:
        return tr("a test found {share} of free caustic in it", share=percent(tested[-1], 2))
    if lot.superfat_low_fraction < 0.0:
        return tr("its own superfat may be below 0 %")
    return ""


def _said(language: str) -> str:
    with speaking(language):
        return tr(FREE_LYE)
