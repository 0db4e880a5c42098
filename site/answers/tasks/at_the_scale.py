"""One block at the scale: live superfat, the choices after a reading outside its band, and the record at its end."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any, cast

from answers.rendering import render
from answers.request import Answer, Request
from answers.trained import EYEWASH_CHECKS, EYEWASH_STATES, trained
from calc.block.after_correction import moved_by_correction
from calc.block.chemistry import Block
from calc.block.events import Event, about_slip
from calc.block.recovery import recovery
from calc.block.recovery_steps import changed_targets
from calc.block.shape import can_be_weighed
from calc.block.steps_to_come import as_weighed_so_far
from calc.block.with_oils import asked
from calc.entry.language import later, tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import tenths, warmth
from calc.entry.units import show_unit
from calc.steps.frozen import scent_of
from calc.steps.keys import MADE
from calc.steps.pour_names import pour_name
from calc.steps.words import in_words
from calc.tables.reference import constant

# What was asked back about a check and gone on from, as its event keeps it.
NOTES = {
    "not-read": later("not read"),
    "outside-range": later("outside range"),
    "nothing-left": later("nothing left"),
}


def at_the_scale(request: Request) -> Answer:
    """The block of `state.record` with its `state.events`. A record made before steps were frozen can't be weighed."""
    record = request.state.record
    if not isinstance(record, Mapping) or "steps" not in record or "chemistry" not in record:
        raise InputProblems(
            Problem(
                "batch",
                "batch-missing",
                tr("This batch has no record to weigh by."),
                tr("Open the batch sheet and issue it again."),
            )
        )
    if not can_be_weighed(record, request.state.events):
        raise InputProblems(
            Problem(
                "batch",
                "record-damaged",
                tr("What is stored of this block can’t be read: it is damaged, or not from Tarewell."),
                tr("Weigh by the printed sheet, and take in a copy of the records from before, in Workshop."),
            )
        )
    units = request.state.units
    try:
        block = Block(record, cast(Sequence[Event], request.state.events))
    except ValueError as unreadable:
        if isinstance(unreadable, InputProblems):
            raise
        raise InputProblems(
            Problem(
                "reading",
                "reading-unreadable",
                tr("A stored reading can't be read: {why}.", why=unreadable),
                tr("Correct it."),
            )
        ) from unreadable
    closed, moved = block.events.closed, moved_by_correction(block)
    pending = block.events.pending if moved is None else moved.key
    replaced = as_weighed_so_far(block, changed_targets(block, block.lye_targets())) if pending is None else {}
    html = {"scale_live": _live(block, replaced, units), "scale_recovery": "", "scale_record": ""}
    choices: dict[str, Any] = {}
    if pending is not None and closed is None:
        found = recovery(block, pending, units)
        html["scale_recovery"] = render(
            "at_the_scale_recovery.html",
            found=found,
            step=in_words(block.events.done[pending].step),
            moved=moved,
            free_mm=constant("mould_free_height").value,
            mould=record["mould"],
            vessel=record["vessel"],
            units=units,
        )
        choices = {
            choice.key: {
                "text": choice.title,
                "steps": list(choice.steps),
                "replaced": dict(choice.replaced),
                "outcome": choice.outcome,
            }
            for choice in found.choices
        }
    closing = None
    if block.events.finished and pending is None:
        closing = _closing(block)
        html["scale_record"] = render(
            "at_the_scale_record.html",
            closing=closing,
            called={key: pour_name(pour["name"], scent_of(pour)) for key, pour in block.pours.items()},
            superfat=block.superfat(block.weighed),
            stated=record["superfat_stated_fraction"],
            batch=record["code"],
            units=units,
            checks=EYEWASH_CHECKS,
            states=EYEWASH_STATES,
        )
    answers = {"choices": choices, "replaced": replaced, "closing": closing, "pending": pending}
    question = asked(block, units) if pending is None and closed is None else None
    return Answer(html, record={**answers, "asked": None if question is None else asdict(question)})


def _live(block: Block, replaced: Mapping[str, Any], units: str) -> str:
    planned = block.record["superfat"]
    after = block.after_step()
    rows = [(tr("Planned"), planned["value"], planned["low"], planned["high"], "")]
    missing = []
    for called, found in (
        (tr("Now"), block.superfat(block.in_vessel)),
        (tr("After this step"), None if after is None else block.superfat(after)),
        (tr("At the end, if the rest goes to plan"), block.superfat(block.at_end(replaced=replaced))),
    ):
        if found is None:
            missing.append(called)
        else:
            average = tr("{mean} on average", mean=tenths(found.mean)) if tenths(found.mean) != tenths(found.value) else ""
            rows.append((called, found.value, found.low, found.high, average))
    mix_c = block.mix_c()
    return render(
        "at_the_scale_live.html",
        rows=rows,
        no_lye_yet=tr("Now") in missing,
        batter=block.batter(block.in_vessel),
        division_g=block.vessel_division_g,
        mix_text=None if mix_c is None else warmth(mix_c, units),
        units=units,
    )


def _closing(block: Block) -> dict[str, Any]:
    """What the block's record keeps: actual amounts, superfat, deviations, people, training, times and when to act next."""
    amounts, events = block.weighed, block.events
    superfat = block.superfat(amounts)
    batter = block.batter(amounts)
    poured = [
        {
            "pour": key,
            "name": pour["name"],
            "lot": events.lots.get(key, pour["lot"]),
            "planned_g": pour["target_g"],
            "actual_g": amounts[key].g,
            "unit": pour["unit"],
            "division_g": pour["division_g"],
        }
        for key, pour in block.pours.items()
        if key in amounts and key != MADE
    ]
    times = [str(event["local"]) for event in events.events if event.get("local")]
    people = dict.fromkeys(str(event["person"]) for event in events.events if event.get("person"))
    return {
        "amounts": poured,
        "superfat": None if superfat is None else asdict(superfat),
        "batter_g": batter.mass_g,
        "fill_height_mm": batter.fill_height_mm,
        "timed": _timed(block),
        "deviations": _deviations(block),
        "started": times[0] if times else None,
        "ended": times[-1] if times else None,
        "people": list(people),
        "trained": trained(events.events),
        "next": _next(block),
    }


def _deviations(block: Block) -> list[str]:
    found = []
    for done in block.events.weighings():
        title = in_words(done.step)["title"]
        for fix in done.corrections:
            found.append(
                tr(
                    "{step}: {was} put right to {reading}, {reason}, {person}.",
                    step=title,
                    was=fix.was,
                    reading=f"{fix.reading} {show_unit(fix.unit)}".strip(),
                    reason=fix.reason,
                    person=fix.person,
                )
            )
        if done.outside:
            found.append(tr("{step}: {reading}, outside its band.", step=title, reading=f"{done.reading} {show_unit(done.unit or '')}".strip()))
    titles = {step["key"]: in_words(step)["title"] for step in block.events.steps}
    unknown = tr("A step")
    for decision in (event for event in block.events.events if event["kind"] == "decided"):
        told = {
            "step": titles.get(str(decision.get("step")), unknown),
            "decided": decision.get("text") or decision.get("choice"),
            "person": decision.get("person"),
        }
        if about_slip(decision):
            line = tr("{step}: {decided}. Reason: {reason}. Decided by {person}.", **told, reason=decision.get("reason"))
        else:
            line = tr("{step}: {decided}. Decided by {person}.", **told)
        if decision not in block.events.decisions:
            line = tr("{decision} Dropped when a reading was corrected.", decision=line)
        found.append(line)
    for event in block.events.events:
        if event["kind"] == "checked" and event.get("note"):
            note = str(event["note"])
            said = tr(NOTES[note]) if note in NOTES else note.replace("-", " ")
            found.append(tr("{step}: {note}.", step=titles.get(str(event.get("step")), unknown), note=said))
    for key, lot in block.events.lots.items():
        pour = block.pours.get(key)
        if pour is not None and lot != pour["lot"]:
            found.append(
                tr(
                    "{pour}: lot {lot}; the superfat is reckoned with the values of lot {planned}.",
                    pour=pour_name(pour["name"], scent_of(pour)),
                    lot=lot,
                    planned=pour["lot"],
                )
            )
    return found


def _timed(block: Block) -> list[dict[str, Any]]:
    """What was timed and is over: how long it ran [s], how long it was to run, when it ended and by whose word."""
    found = []
    for step in block.events.steps:
        done = block.events.done.get(step["key"])
        if step["kind"] == "timer" and done is not None:
            ran, meant = int(done.event.get("seconds") or 0), int(step["seconds"] or 0)
            ended = str(done.event["local"])[:16].replace("T", " ")
            found.append(
                {"what": in_words(step)["title"], "ran": ran, "meant": meant, "ended": ended, "person": done.event["person"]}
            )
    return found


def _next(block: Block) -> dict[str, str] | None:
    last = block.events.steps[-1]
    if last["kind"] != "timer" or last["key"] in block.events.done:
        return None
    started = next(
        (e for e in block.events.events if e["kind"] == "timed" and e.get("step") == last["key"]), None
    )
    if started is None:
        return None
    due = datetime.fromisoformat(str(started["local"])) + timedelta(seconds=int(last["seconds"] or 0))
    return {"what": str(in_words(last)["title"]), "at": f"{due:%Y-%m-%d %H:%M}"}
