"""One block at the scale: live superfat, the choices after a reading outside its band, and the record at its end."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, cast

from answers.rendering import render
from answers.request import Answer, Request
from calc.block.after_correction import moved_by_correction
from calc.block.after_pour import lift_of, yield_of
from calc.block.chemistry import Block
from calc.block.closing import EYEWASH_CHECKS, EYEWASH_STATES, closing
from calc.block.events import Event
from calc.block.log import log, totals
from calc.block.recovery import recovery
from calc.block.shape import can_be_weighed
from calc.block.steps_to_come import changed_by_now
from calc.block.with_oils import asked
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import tenths, warmth
from calc.steps.keys import MOULD_READY
from calc.steps.words import in_words
from calc.tables.reference import constant


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
                tr("What’s stored for this block can’t be read. It’s damaged, or not from Tarewell."),
                tr("Weigh by the printed sheet, and load an earlier copy of the records, in Records."),
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
    replaced = changed_by_now(block, units) if pending is None else {}
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
    closed_with = None
    # Of what lies in its mould nothing is decided any more: what was put right since is told in its record.
    if block.events.finished and (pending is None or closed is not None):
        closed_with = closing(block)
        html["scale_record"] = render(
            "at_the_scale_record.html",
            closing=closed_with,
            log=log(block),
            totals=totals(block),
            superfat=block.superfat(block.weighed),
            stated=record["superfat_stated_fraction"],
            batch=record["code"],
            units=units,
            checks=EYEWASH_CHECKS,
            states=EYEWASH_STATES,
        )
    answers: dict[str, Any] = {"choices": choices, "replaced": replaced, "closing": closed_with, "pending": pending}
    if closed is not None and record.get("after"):
        after = _after(request, block)
        html |= after.html
        answers["after"] = after.record
    question = asked(block, units) if pending is None and closed is None else None
    return Answer(html, record={**answers, "asked": None if question is None else asdict(question)})


def _after(request: Request, block: Block) -> Answer:
    """The load on the hoist, and what the cutter gave: beside earlier blocks of this formula."""
    lift, told = lift_of(block, request.state.hoist_g()), yield_of(block.record, block.events.events)
    formula = block.record.get("formula")
    earlier = request.state.own_soap(str(formula.get("name"))) if isinstance(formula, Mapping) else None
    units = request.state.units
    html = {
        "scale_lift": render("at_the_scale_lift.html", lift=lift, units=units),
        "scale_yield": render("at_the_scale_yield.html", told=told, earlier=earlier, units=units),
    }
    return Answer(html, record={"over": lift.over is True, "density_g_per_ml": told.density_g_per_ml})


def _readies_mould(block: Block) -> bool:
    return any(step["key"] == MOULD_READY for step in block.record["steps"])


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
        mould=block.record["mould"]["name"],
        # Sheets from before the mould had a step of its own are told as they were.
        end_mm=block.batter(block.at_end(replaced=replaced)).fill_height_mm if _readies_mould(block) else None,
        mix_text=None if mix_c is None else warmth(mix_c, units),
        units=units,
    )
