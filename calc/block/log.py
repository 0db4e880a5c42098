"""What was done at a block, line by line in the order of time: what was planned, what was read, by whom, what deviated."""

from collections.abc import Iterator, Mapping
from typing import Any, TypedDict

from calc.block.chemistry import Block
from calc.block.events import Done, Event, about_slip
from calc.block.lots import lot_of, weighed_by_lot
from calc.entry.language import later, tr
from calc.entry.shown import counted, duration
from calc.entry.units import show_unit
from calc.scales.display import display_of
from calc.steps.frozen import FrozenPour, kind_of, scent_of
from calc.steps.keys import MADE, is_blend
from calc.steps.pour_names import pour_name
from calc.steps.words import in_words

CHECKED_BEFORE = "checked-before"
# What was asked back about a check and gone on from, as its event keeps it, and what a check rests on.
NOTES = {
    "not-read": later("not read"),
    "outside-range": later("outside range"),
    "too-warm": later("too warm"),
    "by-clock": later("not read, by the clock"),
    "nothing-left": later("nothing left"),
    CHECKED_BEFORE: later("checked earlier that day"),
}


class Line(TypedDict):
    """One deed. day, time: local, of who did it. planned, read: with their units; note: what is told of it and is no
    deviation; "" where there is none. decided: whether it is a decision."""

    day: str
    time: str
    what: str
    lot: str | None
    scale: str  # that it was weighed on
    planned: str
    read: str
    person: str
    note: str
    decided: bool
    deviations: list[str]


def log(block: Block) -> list[Line]:
    """Every step that is done, every decision, and every phone that went on with it, as they came."""
    place = {event["id"]: n for n, event in enumerate(block.events.events)}
    found = [(place[done.event["id"]], line_of(block, done)) for done in block.events.in_time()]
    found += [(place[event["id"]], _decided(block, event)) for event in block.events.events if event["kind"] == "decided"]
    found += [(place[event["id"]], _taken_over(event)) for event in block.events.events if event["kind"] == "taken_over"]
    return [line for _, line in sorted(found, key=lambda pair: pair[0])]


def totals(block: Block) -> list[Line]:
    """In all, by lot: each pour that no one line of the log says the whole of; of several lots, then how much was of each."""
    found, by_lot = [], weighed_by_lot(block)
    for key, pour in block.pours.items():
        if key not in block.weighed or key == MADE or _is_whole(block, key):
            continue
        lots = by_lot[key]
        named = ", ".join(lot for lot in lots if lot) or None
        found.append(_line({}, what=_called(pour), lot=named, planned=_on_display(pour, pour["target_g"]), read=_on_display(pour, block.weighed[key].g)))
        if len(lots) > 1:
            found += [_line({}, what=_called(pour), lot=lot, read=_on_display(pour, grams)) for lot, grams in lots.items()]
    return found


def decision_text(block: Block, decision: Event) -> str:
    """What was decided about which step, why, and by whom."""
    titles = {step["key"]: in_words(step)["title"] for step in block.events.steps}
    told = {
        "step": titles.get(str(decision.get("step")), tr("A step")),
        "decided": decision.get("text") or decision.get("choice"),
        "person": decision.get("person"),
    }
    if about_slip(decision):
        line = tr("{step}: {decided}. Reason: {reason}. Decided by {person}.", **told, reason=decision.get("reason"))
    else:
        line = tr("{step}: {decided}. Decided by {person}.", **told)
    return line if decision in block.events.decisions else tr("{decision} Dropped when a reading was corrected.", decision=line)


def deviates(event: Event) -> bool:
    """Whether something was gone on from at a check. An earlier check of the day is as good as one made there."""
    return bool(event.get("note")) and event.get("note") != CHECKED_BEFORE


def note_text(event: Event) -> str:
    """What was gone on from at a check, or what it rests on."""
    note = str(event["note"])
    return tr(NOTES[note]) if note in NOTES else note.replace("-", " ")


def other_lots(block: Block) -> Iterator[tuple[str, str]]:
    """The pours that another lot was weighed for, or is chosen for, than planned, and what that means."""
    by_lot = weighed_by_lot(block)
    for key, pour in block.pours.items():
        for lot in dict.fromkeys((*by_lot.get(key, {}), block.events.lots.get(key))):
            if lot is None or lot == pour["lot"]:
                continue
            told = {"pour": _called(pour), "lot": lot, "planned": pour["lot"] or tr("none")}
            if kind_of(pour) == "scent":
                yield key, tr("{pour}: lot {lot}; its limit and the label still go by lot {planned}.", **told)
            else:
                yield key, tr("{pour}: lot {lot}; the superfat still goes by the values of lot {planned}.", **told)


def line_of(block: Block, done: Done) -> Line:
    """A step of the weighing that is done."""
    step, event = in_words(done.step), done.event
    deviations = [
        tr(
            "{was} corrected to {reading} at {time}: {reason}, {person}.",
            was=fix.was,
            reading=_with_unit(fix.reading, fix.unit),
            time=fix.local[11:16],
            reason=fix.reason,
            person=fix.person,
        )
        for fix in done.corrections
    ]
    planned = read = ""
    if event["kind"] == "weighed":
        planned, read = _asked(event), _with_unit(done.reading, done.unit)
        if done.outside:
            deviations.insert(0, tr("outside its band"))
        sheets = block.pours.get(step["pour"] or "")
        if sheets is not None and _is_whole(block, sheets["key"]) and _on_display(sheets, sheets["target_g"]) != planned:
            deviations.append(tr("the sheet said {planned}", planned=_on_display(sheets, sheets["target_g"])))
    elif step["kind"] == "timer":
        ran, meant = int(event.get("seconds") or 0), int(step["seconds"] or 0)
        planned, read = duration(meant), duration(ran)
        if ran < meant:
            deviations.append(tr("ended early"))
    elif step["kind"] == "temperature":
        planned, read = step["band_text"] or "", _with_unit(done.reading, done.unit)
    if deviates(event):
        deviations.append(note_text(event))
    deviations += [text for key, text in other_lots(block) if key == step["pour"] and event["kind"] == "weighed"]
    notes = [note_text(event)] if event.get("note") and not deviates(event) else []
    notes += _weighed_again(block, event)
    return _line(
        event, what=step["title"], lot=_lots(block, done), scale=step["scale"] or "", planned=planned, read=read, note="; ".join(notes), deviations=deviations
    )


def _weighed_again(block: Block, event: Event) -> Iterator[str]:
    """What another phone weighed for the same step without knowing of this reading. The earliest counts; whether it was poured
    twice, only people can say."""
    for other in block.events.events:
        if event["kind"] == other["kind"] == "weighed" and other["id"] != event["id"] and other.get("step") == event.get("step"):
            yield tr(
                "also weighed on another phone: {reading}, {person}, {time}",
                reading=_with_unit(other.get("reading"), other.get("unit")),
                person=other.get("person") or "",
                time=str(other.get("local") or "")[11:16],
            )


def _decided(block: Block, event: Event) -> Line:
    """What was decided about is a deviation where it stands; the decision is none of its own."""
    return _line(event, what=tr("Decided"), note=decision_text(block, event), decided=True)


def _taken_over(event: Event) -> Line:
    """Another phone went on from here; its steps say the rest."""
    phone = event.get("phone")
    return _line(event, what=tr("Taken over from “{phone}”", phone=phone) if phone else tr("Taken over from another phone"))


def _lots(block: Block, done: Done) -> str | None:
    """The lot of what a step weighs; of a blend, its oils'."""
    if done.event["kind"] != "weighed":
        return None
    step = done.step
    keys = block.vessel_oils if is_blend(step["key"]) else [step["pour"]] if step["pour"] else []
    lots = [lot_of(block, done, key) for key in keys]
    return ", ".join(dict.fromkeys(lot for lot in lots if lot)) or None


def _is_whole(block: Block, pour: str) -> bool:
    """Whether one reading, of a tared display, is all of a pour."""
    own = [done for done in block.events.weighings() if pour in block.parts.get(done.step["key"], {})]
    return len(own) == 1 and own[0].step["pour"] == pour and own[0].event.get("mode") != "gross"


def _asked(event: Event) -> str:
    asked = event.get("asked")
    if not asked:
        return ""
    return _with_unit(counted(asked["target"], asked["decimals"]), asked["unit"])


def _with_unit(text: str | None, unit: str | None) -> str:
    return f"{text or ''} {show_unit(unit or '')}".strip()


def _on_display(pour: FrozenPour, mass_g: float) -> str:
    display = display_of(pour["division_g"], pour["unit"])
    return display.said(display.counts(mass_g))


def _called(pour: FrozenPour) -> str:
    return pour_name(pour["name"], scent_of(pour))


def _line(
    event: Mapping[str, Any],
    *,
    what: str,
    lot: str | None = None,
    scale: str = "",
    planned: str = "",
    read: str = "",
    note: str = "",
    decided: bool = False,
    deviations: list[str] | None = None,
) -> Line:
    local = str(event.get("local") or "")
    return {
        "day": local[:10],
        "time": local[11:16],
        "what": what,
        "lot": lot,
        "scale": scale,
        "planned": planned,
        "read": read,
        "person": str(event.get("person") or ""),
        "note": note,
        "decided": decided,
        "deviations": deviations or [],
    }
