"""From the rack to the customer: whether a block's bars may be sold, what is packed of them, and where it went."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from answers.racks_read import not_to_come, read_with_who, today_of
from answers.rendering import render
from answers.request import Answer, Request
from answers.sale_read import NOT_YET, Sale, SaleBlock, asked_of, facts_of, sale_of
from answers.stock_read import packaging_lots
from calc.cure.declared import By
from calc.entry.fields import read
from calc.entry.language import ntr, tr
from calc.entry.problems import InputProblems, Problem, told_at_once
from calc.record.packed import PackedLot, next_code
from calc.record.release import KEYS, checked
from calc.record.sale_forms import AfterSale, PackQuestion, ReleaseQuestion, SendQuestion
from calc.stock import packaging
from calc.tables.reference import constant
from calc.workshop.selling import Outlet

# Of a long list so many stand there at once; a block has a page of its own by its code.
LISTED = 40
# What the law asks about adverse events [business days, years].
_LAW = {name: int(constant(f"adverse_event_{name}").value) for name in ("days", "years", "years_small")}


def release(request: Request) -> Answer:
    """The checks of one block and what may be decided; without one, the blocks that wait."""
    reading = read(ReleaseQuestion, request.values)
    values, today = reading.value, today_of(request)
    sale = sale_of(request.state, today)
    if values.block is None:
        return Answer({"release": render("release_list.html", **_lists(sale), asked=bool(request.state.stored("release_checks")))}, reading.cautions)
    block = sale.find(values.block)
    if block is None:
        raise InputProblems(Problem("block", "no-such-block", tr("There is no block {block} here.", block="/".join(values.block.rsplit(":", 1))), tr("Choose one of the list.")))
    asked = asked_of(request.state)
    found = facts_of(block, sale, request.state, values.look, today)
    checks = checked(asked, found)
    until = values.until or _in_years(today, asked.sample_years or int(constant("sample_years_usual").value))
    bars = values.bars or block.bars
    record = None
    if request.check:
        kept = values.sample_bars or asked.sample_bars or int(constant("sample_bars_usual").value)
        place = values.place or asked.sample_place
        # Who decides is asked with the rest: a second refusal behind the first takes the hand off the work twice.
        fields, _ = told_at_once(
            lambda: _sample(block, kept, place, until) if values.what == "sample" else _decided(values, block, checks, bars, sale),
            lambda: read(By, request.values),
        )
        kind = {"release": "released", "decide": "released", "rework": "reworked", "reject": "rejected", "sample": "sample_kept"}[values.what]
        record = _recorded(request, kind, f"release:{block.id}", fields, block.chosen)
    html = render(
        "release.html",
        block=block,
        checks=checks,
        # The label goes by the sheet: without it, it would name the formula's weight for the batch's.
        sheeted=any(sheet.get("code") == block.code for sheet in request.state.sheets),
        known=[(key, each) for key in KEYS if key not in {check.key for check in checks} and (each := found.get(key)) and (each.value is not None or each.holds is not None)],
        bars=bars,
        until=until,
        sample_assumed=asked.sample_years is None and values.until is None,
        sample_years=int(constant("sample_years_usual").value),
        what=values.what,
        subject=f"release:{block.id}",
        units=request.state.units,
    )
    return Answer({"release": html}, reading.cautions, record)


def _lists(sale: Sale) -> dict[str, Any]:
    """The blocks by what is to be done with them, in the order in which the page hands them over."""
    blocks = [block for block in sale.blocks.values() if block.state not in NOT_YET]
    waiting = [block for block in blocks if block.release.last is None and block.state not in ("ended", "apart")]
    return {
        "waiting": waiting[:LISTED],
        "to_pack": [block for block in blocks if block.left > 0][:LISTED],
        "decided": [block for block in blocks if block.release.last is not None][:LISTED],
    }


def _decided(values: ReleaseQuestion, block: SaleBlock, checks: Any, bars: int | None, sale: Sale) -> dict[str, Any]:
    """What a decision stores. Problems where it may not be taken, or not without a reason."""
    open_ = [check for check in checks if check.state != "passed"]
    if block.state in NOT_YET:
        raise InputProblems(Problem("block", "not-cut", tr("This block isn't cut yet."), tr("Tell the bars at the cutter, or put it on a rack first.")))
    if values.what in ("release", "decide"):
        _not_given_up(block)
    if values.what == "release" and open_:
        message = ntr("{number} check has not passed.", "{number} checks have not passed.", len(open_))
        raise InputProblems(
            Problem("what", "checks-open", message, tr("Test again, send it to rework, reject it, or release it all the same with your reason."))
        )
    if values.what != "release" and values.reason is None:
        raise InputProblems(Problem("reason", "reason-missing", tr("Nobody has said why."), tr("Write the reason down: it stays with the record.")))
    packed = sale.packed.bars_of(block.code, block.block)
    if values.what in ("rework", "reject") and packed > 0:
        message = ntr("{number} bar of it is packed.", "{number} bars of it are packed.", packed)
        raise InputProblems(Problem("what", "packed-already", message, tr("Take the packing back first, or trace the block and get the bars back.")))
    fields: dict[str, Any] = {"of_formula": block.soap, "checks": [check.record() for check in checks], "bars": bars, "reason": values.reason}
    if values.what in ("release", "decide"):
        if bars is None:
            raise InputProblems(Problem("bars", "bars-unknown", tr("Nobody has counted its bars."), tr("Type how many good bars there are.")))
        if block.bars is not None and bars > block.bars:
            message = ntr("This block has {number} good bar.", "This block has {number} good bars.", block.bars)
            raise InputProblems(Problem("bars", "more-than-block", message, tr("Correct the number, or count again at the rack.")))
        if bars < packed + block.release.kept:
            message = ntr("{number} bar of it is packed or kept as a sample.", "{number} bars of it are packed or kept as samples.", packed + block.release.kept)
            raise InputProblems(Problem("bars", "fewer-than-packed", message, tr("Release that many at least, or take the packing back first.")))
        racked = sale.racks.find(f"{block.code}:{block.block}")
        fields["net_g"] = racked.racked.label_g if racked else None
    return fields


def _not_given_up(block: SaleBlock) -> None:
    if block.apart is not None or block.state == "apart":
        message = tr("This block was set apart at the scale: do not use, cut or sell it. {why}", why=block.apart or "").strip()
        raise InputProblems(Problem("block", "set-apart", message, tr("Reject it, or send it to rework.")))
    if block.state == "ended":
        raise InputProblems(Problem("block", "ended-before-rack", tr("This block was ended before the rack."), tr("Put its bars on a rack first.")))


def _sample(block: SaleBlock, bars: int, place: str | None, until: date) -> dict[str, Any]:
    there = block.in_store
    if there is None and block.bars is not None:
        there = block.bars - block.packed - block.release.kept
    if there is not None and bars > there:
        message = ntr("{number} bar of this block is left.", "{number} bars of this block are left.", max(there, 0))
        raise InputProblems(Problem("sample_bars", "more-than-left", message, tr("Keep fewer.")))
    return {"bars": bars, "place": place, "until": until.isoformat()}


def _in_years(today: date, years: int) -> date:
    """The same day of a later year; of February 29, where that year has none, the day before."""
    try:
        return today.replace(year=today.year + years)
    except ValueError:
        return today.replace(year=today.year + years, day=28)


def pack(request: Request) -> Answer:
    """What a packed lot is made of; and the packed lots there are."""
    reading = read_with_who(PackQuestion, request)
    values, today = reading.value, today_of(request)
    sale = sale_of(request.state, today)
    wanted: dict[str, int] = {}
    parts = []
    for n, row in enumerate(values.parts):
        block = sale.find(row.block)
        if block is None or not block.release.released:
            message = tr("{block} is not released.", block="/".join(row.block.rsplit(":", 1)))
            raise InputProblems(Problem(f"parts.{n}.block", "not-released", message, tr("Release it first, or choose another block.")))
        wanted[block.id] = wanted.get(block.id, 0) + row.bars
        if wanted[block.id] > block.left:
            message = ntr("{number} good bar of {block} is left.", "{number} good bars of {block} are left.", block.left, block=block.id)
            raise InputProblems(Problem(f"parts.{n}.bars", "more-than-left", message, tr("Pack fewer, or count again.")))
        parts.append({"code": block.code, "block": block.block, "bars": row.bars})
    taken = [lot.code for lot in sale.packed.lots]
    code = values.code or next_code(str(parts[0]["code"]), taken)
    if values.code and sale.packed.named(values.code):
        raise InputProblems(Problem("code", "code-taken", tr("There is a packed lot {code} already.", code=code), tr("Use another code, like {code}.", code=next_code(str(parts[0]["code"]), taken))))
    wraps = packaging.taken((lot for _, lot in packaging_lots(request.state)), sum(wanted.values()))
    record = _recorded(request, "packed", "packed:{new}", {"code": code, "parts": parts, **({"packaging": wraps} if wraps else {})}, code) if request.check else None
    html = render("pack.html", code=code, parts=parts, bars=sum(wanted.values()), left={id_: sale.blocks[id_].left - bars for id_, bars in wanted.items()}, lots=sale.packed.lots[:LISTED], wraps=wraps, over=[block for block in sale.blocks.values() if block.over])
    return Answer({"pack": html}, reading.cautions, record)


def send(request: Request) -> Answer:
    """What is here and what is out of a packed lot, once bars of it have gone out or come back."""
    reading = read_with_who(SendQuestion, request)
    values, state, today = reading.value, request.state, today_of(request)
    sale = sale_of(state, today)
    lot = sale.packed.find(values.packed)
    if lot is None:
        raise InputProblems(Problem("packed", "packed-lot-missing", tr("No packed lot is chosen."), tr("Choose one, or pack bars first.")))
    outlet = state.read_item("outlet", Outlet, values.outlet, "outlet", "outlet")
    not_to_come("on", values.on, today)
    there = lot.in_store if values.what == "sent" else lot.out.get(values.outlet, 0)
    if values.bars > there:
        raise InputProblems(Problem("bars", "more-than-there", _too_many(values.what, there, lot, outlet), tr("Correct the number.")))
    record = None
    if request.check:
        fields: dict[str, Any] = {"outlet": values.outlet, "outlet_name": outlet.name, "bars": values.bars, "on": (values.on or today).isoformat()}
        if values.what == "back" and values.reason:
            fields["reason"] = values.reason
        record = _recorded(request, "sent" if values.what == "sent" else "came_back", f"packed:{lot.id}", fields, lot.code)
    sign = 1 if values.what == "sent" else -1
    html = render("send.html", lot=lot, outlet=outlet, bars=values.bars, back=values.what == "back", in_store=lot.in_store - sign * values.bars, out=lot.out.get(values.outlet, 0) + sign * values.bars)
    return Answer({"send": html}, reading.cautions, record)


def _too_many(what: str, there: int, lot: PackedLot, outlet: Outlet) -> str:
    if what == "sent":
        return ntr("{number} bar of {lot} is here.", "{number} bars of {lot} are here.", max(there, 0), lot=lot.code)
    return ntr("{number} bar of {lot} is at {outlet}.", "{number} bars of {lot} are at {outlet}.", max(there, 0), lot=lot.code, outlet=outlet.name)


def after_sale(request: Request) -> Answer:
    """A complaint or a recall, as it is kept; and what is kept already."""
    reading = read_with_who(AfterSale, request)
    values, today = reading.value, today_of(request)
    not_to_come("on", values.on, today)
    record = None
    if request.check:
        kind = {"complaint": "complaint", "recall": "recall_begun", "done": "recall_done"}[values.what]
        fields: dict[str, Any] = {"about": values.about}
        if values.what == "complaint":
            fields |= {"said": values.said, "on": (values.on or today).isoformat()} | ({"serious": values.serious} if values.serious else {})
        else:
            fields["reason"] = values.said
        record = _recorded(request, kind, "after_sale:{new}", fields, values.about)
    html = render("after_sale.html", values=values, told=_told(request.state.after_sale), **_LAW)
    return Answer({"after_sale": html}, reading.cautions, record)


@dataclass(frozen=True)
class _Told:
    kind: str
    about: str
    said: str
    person: str
    day: date
    serious: bool


def _told(events: Any) -> list[_Told]:
    found = []
    for event in sorted(events, key=lambda each: str(each.get("at")), reverse=True)[:LISTED]:
        day = str(event.get("on") or event.get("local") or "")[:10]
        found.append(_Told(str(event.get("kind")), str(event.get("about")), str(event.get("said") or event.get("reason") or ""), str(event.get("person")), date.fromisoformat(day), event.get("serious") == "yes"))
    return found


def _recorded(request: Request, kind: str, subject: str, fields: Mapping[str, Any], id_: str) -> dict[str, Any]:
    """An event for the page to store: who did it, and the form as it was typed."""
    person = read(By, request.values).value.person
    typed = {name: text for name, text in request.values.items() if text != "" and name != "person"}
    told = {"person": person, "values": typed, **{name: value for name, value in fields.items() if value is not None}}
    return {"kind": kind, "subject": subject, "id": id_, "fields": told}
