"""Soap set aside: what lies there of each block, and what goes into a batch sheet of it."""

import math
from collections.abc import Mapping
from contextlib import suppress
from datetime import date
from typing import Any
from urllib.parse import quote, urlencode

from answers.racks_read import day_of
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import UNREADABLE, State
from calc.batch.soap import SoapLot, set_density_g_per_ml
from calc.cure.rack import Racks, racks
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import number
from calc.entry.units import convert
from calc.record.set_aside import SetAside, set_aside, water_fraction


def set_aside_list(request: Request) -> Answer:
    """Every lot that something is left of, the newest first; and what of a lot can't be read."""
    today = day_of(request.now)
    rows, unread = [], 0
    on_racks = _on_racks(request.state, today)
    for told in request.state.set_aside:
        try:
            lot = _one(request.state, told, on_racks, today)
        except UNREADABLE:
            unread += 1
            continue
        if lot is not None and lot.lot.left_g > 0.0:
            rows.append({"found": lot, "address": _address(lot.lot, request.state.units)})
    html = render("set_aside_list.html", rows=rows, unread=unread, units=request.state.units)
    return Answer({"set_aside_list": html})


def _address(lot: SoapLot, units: str) -> str:
    """The part of the batch sheet's address that orders one block of its own formula with all of it."""
    unit = "lb" if units == "us" else "kg"
    whole = math.floor(convert(lot.left_g, "g", unit) * 100.0) / 100.0
    handed = {
        "scale_to": "blocks",
        "blocks": "1",
        "soaps.0.lot": lot.id,
        "soaps.0.taken_g": number(whole),
        "soaps.0.taken_g.unit": unit,
    }
    return f"{quote(lot.formula)}?{urlencode(handed)}"


def lots_named(state: State, wanted: set[str], now: str) -> dict[str, SoapLot]:
    """The lots of these ids, as far as they are there; a problem for one that can't be read."""
    if not wanted:
        return {}
    today, found = day_of(now), {}
    on_racks = _on_racks(state, today)
    for told in state.set_aside:
        if str(told.get("id")) not in wanted:
            continue
        try:
            lot = _one(state, told, on_racks, today)
        except UNREADABLE as unreadable:
            message = tr("What was set aside of {lot} can't be read.", lot=str(told.get("id")).replace(":", "/"))
            raise InputProblems(
                Problem("soaps", "soap-unreadable", message, tr("Leave it out of this batch."))
            ) from unreadable
        if lot is not None:
            found[lot.lot.id] = lot.lot
    return found


def _one(state: State, told: Mapping[str, Any], on_racks: Racks, today: date) -> SetAside | None:
    return set_aside(told, state.soap_uses, on_racks.find(str(told["id"])), _bar_g(state, told), today)


def _bar_g(state: State, told: Mapping[str, Any]) -> float | None:
    """What a bar weighs by plan [g]; None where no cutter was chosen, or the workshop can't be read."""
    with suppress(InputProblems):
        bars = told["sheet"].get("planned")
        if bars:
            length, width, height = bars["bar_mm"]
            return float(length * width * height / 1000.0 * set_density_g_per_ml(state.shop()))
    return None


def _on_racks(state: State, today: date) -> Racks:
    sheets = [sheet for told in state.set_aside if isinstance(sheet := told.get("sheet"), Mapping)]
    water = {str(sheet.get("code")): found for sheet in sheets if (found := water_fraction(sheet)) is not None}
    return racks(state.cure, today, water)
