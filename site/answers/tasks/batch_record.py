"""One batch's record: all its blocks, what was planned beside what was done."""

from collections.abc import Mapping
from typing import Any, cast

from answers.racks_read import today_of
from answers.rendering import render
from answers.request import Answer, Request
from calc.record.batch_record import batch_record as told_of

# Older sheets lack some of these.
_TOLD = (
    "formula", "blocks", "batter_g", "superfat_stated_fraction", "rules_version", "reference_digest", "vessel", "mould", "scales",
)  # fmt: skip


def batch_record(request: Request) -> Answer:
    """The batch of `state.record` with all `state.events` about it; nothing where the page names none."""
    record = request.state.record
    if not isinstance(record, Mapping):
        return Answer({"batch_record": ""})
    told = told_of(record, cast(Any, request.state.events), today_of(request))
    alkalis = (record.get("chemistry") or {}).get("alkalis", ())
    shop: Mapping[str, str] = next(iter((record.get("inputs") or {}).get("shop", {}).values()), {})
    html = render(
        "batch_record.html",
        record={name: record.get(name) for name in _TOLD},
        told=told,
        shop=shop.get("name", ""),
        alkalis=[(alkali, _lot_of(record, alkali["pour"])) for alkali in alkalis],
        planned=record.get("planned") or {},
        units=request.state.units,
    )
    return Answer({"batch_record": html})


def _lot_of(record: Mapping[str, Any], pour: str) -> str:
    return next((str(each.get("lot") or "") for each in record.get("pours") or () if each["key"] == pour), "")
