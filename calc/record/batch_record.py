"""One batch as its record tells it: what was planned beside what was done, for every block; what deviated, what was put right.

The groups are those of a production record by good manufacturing practice (ISO 22716: 7.2 weighing and making, 13 deviations,
17.3.4 entries that stay readable when they are put right). Everything is read from the issued record and the events, as stored.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, cast

from calc.block.after_pour import Yield, yield_of
from calc.block.chemistry import Block
from calc.block.closings import closing_of
from calc.block.events import BlockEvents, Done, Event, done_by, fold_after
from calc.block.log import Line, decision_text, deviates, line_of, note_text, totals
from calc.block.shape import can_be_weighed
from calc.cure.rack import AT_CUTTER, RackBatch, racks
from calc.entry.language import tr
from calc.entry.shown import counted, duration
from calc.entry.taken_back import standing, takes_back
from calc.entry.units import show_unit
from calc.record.set_aside import water_fraction
from calc.steps.words import in_words
from calc.workshop.in_the_mould import COVERS, GELS

ROOMS = ("block", "cure", "aside", "release")
# What is a deviation also where nobody gave a reason; rules/log.mjs has the same rule.
_ALWAYS = ("corrected", "ended", "rejected", "reworked")


@dataclass(frozen=True)
class LotUsed:
    """A lot that went in, as it was entered when the sheet was issued. Days as they were typed, "" where none were."""

    code: str
    what: str
    supplier: str
    received: str
    opened: str
    expires: str


@dataclass(frozen=True)
class Deviation:
    """What went otherwise than the sheet has it. local: by the clock there; block: 0 for the whole batch."""

    local: str
    block: int
    what: str
    said: str
    decided: str
    person: str


@dataclass(frozen=True)
class Edit:
    """An entry that was put right or taken back: both readings stay."""

    local: str
    block: int
    what: str
    was: str
    now: str
    reason: str
    person: str


@dataclass(frozen=True)
class Decided:
    """What was decided about a block's bars: released, rejected, reworked; or a sample that was kept. passed of asked checks."""

    kind: str
    local: str
    person: str
    reason: str
    bars: int | None
    place: str
    until: str
    passed: int
    asked: int


@dataclass(frozen=True)
class BlockTold:
    """One block, as far as it is told. batter_g: what was in the vessel at the pour [g]."""

    n: int
    readable: bool
    weighed: tuple[Line, ...]
    totals: tuple[Line, ...]
    checks: tuple[Line, ...]
    process: tuple[Line, ...]
    after: tuple[Line, ...]
    gave: Yield | None
    batter_g: float | None
    outcome: str  # of the closing: "poured", "quarantined"; "" while it is open
    ended: Event | None
    cure: RackBatch | None
    decided: tuple[Decided, ...]

    @property
    def begun(self) -> bool:
        """Whether anything is told of it."""
        return bool(self.weighed or self.checks or self.process or self.after or self.cure or self.decided or self.outcome)

    @property
    def unaccounted_g(self) -> float | None:
        """Batter less all bars at the weight of the first one, and trim [g]: water lost in the mould, and what stuck; None
        where a part is not told.
        """
        gave = self.gave
        if gave is None or self.batter_g is None or gave.first_bar_g is None or gave.good is None:
            return None
        return self.batter_g - (gave.good + (gave.set_aside or 0)) * gave.first_bar_g - (gave.trim_g or 0.0)


@dataclass(frozen=True)
class BatchRecord:
    """All of it."""

    lots: tuple[LotUsed, ...]
    blocks: tuple[BlockTold, ...]
    people: tuple[str, ...]
    deviations: tuple[Deviation, ...]
    edits: tuple[Edit, ...]


def batch_record(record: Mapping[str, Any], events: Sequence[Event], today: date) -> BatchRecord:
    """A batch. record: as issued, with its `local` and `code`; events: all about it, of every room, in order."""
    of: dict[int, list[Event]] = {n: [] for n in range(1, int(record.get("blocks") or 1) + 1)}
    for event in events:
        room, _, named = str(event.get("subject", "")).partition(":")
        _, _, number = named.rpartition("/")
        if room in ROOMS and number.isdigit():
            of.setdefault(int(number), []).append(event)
    blocks: list[BlockTold] = []
    deviations, edits = list(_of_issuing(record)), list[Edit]()
    for n, told in sorted(of.items()):
        block = _block(record, told)
        after = fold_after(record.get("after") or () if block else (), _of_room(told, "block"))
        blocks.append(_told(record, n, told, block, after, today))
        deviations += _deviations(record, n, told, block)
        edits += _edits(record, n, told, block)
    people = [str(record.get("issued_by") or ""), *(str(event.get("person") or "") for event in events)]
    return BatchRecord(
        tuple(_lots(record, events)),
        tuple(blocks),
        tuple(dict.fromkeys(filter(None, people))),
        tuple(sorted(deviations, key=lambda each: each.local)),
        tuple(sorted(edits, key=lambda each: each.local)),
    )


def _of_room(events: Sequence[Event], room: str) -> list[Event]:
    return [event for event in events if str(event.get("subject", "")).startswith(f"{room}:")]


def _block(record: Mapping[str, Any], events: Sequence[Event]) -> Block | None:
    """What can be reckoned of it; None of a sheet from before steps were frozen, and of what can't be read."""
    own = _of_room(events, "block")
    if not can_be_weighed(record, own):
        return None
    try:
        return Block(record, own)
    except ValueError:
        return None


def _told(
    record: Mapping[str, Any], n: int, events: Sequence[Event], block: Block | None, after: BlockEvents, today: date
) -> BlockTold:
    own = _of_room(events, "block")
    groups: dict[str, list[Line]] = {"weighed": [], "checks": [], "process": []}
    for done in () if block is None else block.events.in_time():
        groups[_group(done)].append(line_of(cast(Block, block), done))
    closed = closing_of(own)
    cure = _cure(record, events, today)
    return BlockTold(
        n=n,
        readable=block is not None or not own,
        weighed=tuple(groups["weighed"]),
        totals=() if block is None else tuple(totals(block)),
        checks=tuple(groups["checks"]),
        process=tuple(groups["process"]),
        after=tuple(_after_line(done) for done in after.in_time()),
        gave=_yield(record, own) if record.get("after") else None,
        batter_g=None if block is None or closed is None else block.batter(block.weighed).mass_g,
        outcome="" if closed is None else str(cast(Mapping[str, Any], closed).get("outcome") or "poured"),
        ended=next((event for event in own if event["kind"] == "ended"), None),
        cure=cure,
        decided=tuple(_decided(events)),
    )


def _group(done: Done) -> str:
    step = done.step
    if step["kind"] == "weigh":
        return "weighed"
    return "checks" if step.get("safety") or step["key"].startswith("check:") else "process"


def _after_line(done: Done) -> Line:
    """A step after the pour."""
    step, event = in_words(done.step), done.event
    planned = read = ""
    if step["kind"] == "cover":
        read = tr(COVERS[str(event.get("cover"))]) if event.get("cover") in COVERS else ""
    elif step["kind"] == "gel":
        read = tr(GELS[str(event.get("gel"))]) if event.get("gel") in GELS else ""
    elif step["kind"] == "lift":
        planned, read = duration(int(step["seconds"] or 0)), duration(int(event.get("seconds") or 0))
    elif step["kind"] == "measure":
        if step.get("target") is not None:
            planned = _with_unit(counted(int(step["target"] or 0), int(step["decimals"] or 0)), step.get("unit"))
        read = _with_unit(done.reading, done.unit)
    elif step["kind"] == "rack":
        read = tr("Trays: {n}", n=event.get("trays")) + (f", {event['place']}" if event.get("place") else "")
    local = str(event.get("local") or "")
    reason = str(event.get("reason") or "")
    return {
        "day": local[:10], "time": local[11:16], "what": step["title"], "lot": None, "scale": "", "planned": planned, "read": read,
        "person": str(event.get("person") or ""), "note": "", "decided": False, "deviations": [reason] if reason else [],
    }  # fmt: skip


def _with_unit(reading: str | None, unit: str | None) -> str:
    """As it was read; what is counted in bars stands without a unit."""
    sign = "" if not unit or unit == "bars" else show_unit(unit)
    return f"{reading or ''} {sign}".strip()


def _yield(record: Mapping[str, Any], events: Sequence[Event]) -> Yield | None:
    try:
        return yield_of(record, events)
    except ValueError:
        return None


def _cure(record: Mapping[str, Any], events: Sequence[Event], today: date) -> RackBatch | None:
    about = [event for event in events if event["kind"].startswith("cure_") or event["kind"] == AT_CUTTER]
    water = water_fraction(record)
    found = racks(cast(Any, about), today, {} if water is None else {str(record["code"]): water}).batches
    return found[0] if found else None


def _decided(events: Sequence[Event]) -> Iterator[Decided]:
    for event in standing(cast(Sequence[Mapping[str, Any]], _of_room(events, "release"))):
        checks = event.get("checks") or ()
        yield Decided(
            event["kind"],
            str(event.get("local") or ""),
            str(event.get("person") or ""),
            str(event.get("reason") or ""),
            event.get("bars"),
            str(event.get("place") or ""),
            str(event.get("until") or ""),
            len([check for check in checks if check.get("state") == "passed"]),
            len(checks),
        )


def _lots(record: Mapping[str, Any], events: Sequence[Event]) -> Iterator[LotUsed]:
    """By pour, each lot that was planned or taken, with what its own form said at issue."""
    inputs = record.get("inputs") or {}
    entered = {
        str(values.get("code")): values
        for kind in ("oil_lot", "alkali_lot", "scent_lot", "additive_lot")
        for values in (inputs.get(kind) or {}).values()
    }
    taken: dict[str, list[str]] = {}
    for event in events:
        for pour, lot in (event.get("lots") or {}).items() if event["kind"] == "lots" else ():
            taken.setdefault(str(pour), []).append(str(lot))
    told = set()
    for pour in record.get("pours") or ():
        for code in dict.fromkeys([str(pour.get("lot") or ""), *taken.get(pour["key"], [])]):
            if not code or code in told:
                continue
            told.add(code)
            values = entered.get(code, {})
            yield LotUsed(
                code, str(pour["name"]), str(values.get("supplier") or ""), str(values.get("received_on") or ""),
                str(values.get("opened_on") or ""), str(values.get("expires_on") or ""),
            )  # fmt: skip


def _of_issuing(record: Mapping[str, Any]) -> Iterator[Deviation]:
    if record.get("reason"):
        yield Deviation(
            str(record.get("local") or ""), 0, tr("Issued all the same"), str(record["reason"]), "", str(record.get("issued_by") or "")
        )


def _titles(record: Mapping[str, Any], block: Block | None) -> dict[str, str]:
    steps = [*(record.get("steps") or () if block is None else block.events.steps), *(record.get("after") or ())]
    return {step["key"]: in_words(step)["title"] for step in steps}


def _deviations(record: Mapping[str, Any], n: int, events: Sequence[Event], block: Block | None) -> Iterator[Deviation]:
    """Of one block, by the same rule as the log's count (rules/log.mjs)."""
    titles = _titles(record, block)
    stand = standing(cast(Sequence[Mapping[str, Any]], events))
    decisions = {} if block is None else {str(e.get("step")): decision_text(block, e) for e in block.events.events if e["kind"] == "decided"}
    for event in stand:
        kind, reason, key = event["kind"], str(event.get("reason") or ""), str(event.get("step") or "")
        said = ""
        if kind == "weighed":
            # Of a step only its kind is asked here.
            done = done_by(cast(Any, {"key": key, "kind": "weigh"}), cast(Event, event), cast(Any, stand))
            if done.outside:
                said = tr("{reading}, outside its band", reading=_with_unit(done.reading, done.unit))
        elif kind == "checked":
            said = note_text(cast(Event, event)) if deviates(cast(Event, event)) else ""
        elif kind == "closed":
            said = tr("Set apart: {reason}", reason=reason or tr("no reason given")) if event.get("outcome") == "quarantined" else ""
        elif kind == "decided":
            continue
        elif kind in _ALWAYS or reason:
            said = reason or tr("no reason given")
        if said:
            what = titles.get(key) or _named(kind)
            decided = decisions.get(key, "") if kind == "weighed" else ""
            yield Deviation(str(event.get("local") or ""), n, what, said, decided, str(event.get("person") or ""))
    planned = {pour["key"]: pour for pour in record.get("pours") or ()}
    for key, (lot, event) in _chosen(events).items():
        if key in planned and planned[key].get("lot") != lot:
            said = tr("lot {lot} instead of {planned}", lot=lot, planned=planned[key].get("lot") or tr("none"))
            yield Deviation(str(event.get("local") or ""), n, planned[key]["name"], said, "", str(event.get("person") or ""))


def _named(kind: str) -> str:
    return {
        "corrected": tr("A reading put right"),
        "closed": tr("Closing"),
        "trained": tr("Training for the lye"),
        "ended": tr("Ended before the rack"),
        "released": tr("Released against a check"),
        "rejected": tr("Rejected"),
        "reworked": tr("Sent to rework"),
    }.get(kind, tr("A step"))


def _chosen(events: Sequence[Event]) -> dict[str, tuple[str, Event]]:
    """The lot that stands for a pour, and the event that chose it."""
    return {str(pour): (str(lot), event) for event in events if event["kind"] == "lots" for pour, lot in (event.get("lots") or {}).items()}


def _edits(record: Mapping[str, Any], n: int, events: Sequence[Event], block: Block | None) -> Iterator[Edit]:
    titles = _titles(record, block)
    own = {str(event["id"]): event for event in events}
    stood: dict[str, str] = {}
    for event in events:
        if event["kind"] == "corrected":
            about = str(event.get("corrects"))
            first = own.get(about, cast(Event, {}))
            unit = event.get("unit") or first.get("unit")
            was = stood.get(about) or _with_unit(first.get("reading"), first.get("unit"))
            stood[about] = _with_unit(event.get("reading"), unit)
            yield Edit(
                str(event.get("local") or ""), n, titles.get(str(first.get("step")), tr("A step")), was, stood[about],
                str(event.get("reason") or ""), str(event.get("person") or ""),
            )  # fmt: skip
        elif takes_back(cast(Mapping[str, Any], event)):
            taken = own.get(str(cast(Mapping[str, Any], event).get("takes")), cast(Event, {}))
            at = str(taken.get("local") or "")[:16].replace("T", " ")
            yield Edit(
                str(event.get("local") or ""), n, tr("An entry of {at}", at=at), tr("stood"), tr("taken back"),
                str(event.get("reason") or ""), str(event.get("person") or ""),
            )  # fmt: skip
