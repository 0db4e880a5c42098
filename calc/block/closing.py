"""What the record of a block keeps at its end: amounts, superfat, deviations, people, training, times, what is next."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any

from calc.block.chemistry import Block
from calc.block.log import decision_text, deviates, note_text, other_lots
from calc.block.lots import weighed_by_lot
from calc.entry.language import later, tr
from calc.entry.units import show_unit
from calc.steps.keys import MADE
from calc.steps.words import in_words

EYEWASH_CHECKS = {"weekly": later("weekly run"), "yearly": later("yearly inspection")}
EYEWASH_STATES = {"never": later("no check recorded"), "faulty": later("problem found"), "over": later("overdue")}


def closing(block: Block) -> dict[str, Any]:
    """All of it as plain values, as the block's closing event stores them. Masses in g, height in mm; superfat as a fraction.

    An amount is the sum of a pour's weighings, by lot in `lots` where there were several; `lot` is then the last of them.
    `superfat` is None while there are no oils or no lye.
    """
    amounts, events, by_lot = block.weighed, block.events, weighed_by_lot(block)
    superfat = block.superfat(amounts)
    batter = block.batter(amounts)
    poured = [
        {
            "pour": key,
            "name": pour["name"],
            "lot": list(by_lot[key])[-1],
            "planned_g": pour["target_g"],
            "actual_g": amounts[key].g,
            "unit": pour["unit"],
            "division_g": pour["division_g"],
            **({"lots": [{"lot": lot, "actual_g": grams} for lot, grams in by_lot[key].items()]} if len(by_lot[key]) > 1 else {}),
        }
        for key, pour in block.pours.items()
        if key in amounts and key != MADE
    ]
    # A record that is made anew is still that of the day of the pour.
    first = next((n for n, event in enumerate(events.events) if event["kind"] == "closed"), len(events.events))
    times = [str(event["local"]) for event in events.events[:first] if event.get("local")]
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
        "trained": _trained(events.events),
        "next": _next(block),
    }


def _deviations(block: Block) -> list[str]:
    """In words: corrections, readings outside their band, decisions, notes on checks, lots other than planned."""
    found = []
    for done in block.events.weighings():
        title = in_words(done.step)["title"]
        for fix in done.corrections:
            found.append(
                tr(
                    "{step}: {was} corrected to {reading}, {reason}, {person}.",
                    step=title,
                    was=fix.was,
                    reading=f"{fix.reading} {show_unit(fix.unit)}".strip(),
                    reason=fix.reason,
                    person=fix.person,
                )
            )
        if done.outside:
            found.append(tr("{step}: {reading}, outside its band.", step=title, reading=f"{done.reading} {show_unit(done.unit or '')}".strip()))
    found += [decision_text(block, event) for event in block.events.events if event["kind"] == "decided"]
    titles = {step["key"]: in_words(step)["title"] for step in block.events.steps}
    for event in block.events.events:
        if event["kind"] == "checked" and deviates(event):
            step = titles.get(str(event.get("step")), tr("A step"))
            found.append(tr("{step}: {note}.", step=step, note=note_text(event)))
    return [*found, *(text for _, text in other_lots(block))]


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
    """What the last step's time is for and when it ends, by the clock of who started it; None where it doesn't run."""
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


def _trained(events: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Whose training covered the lye: each answer to the question, as stored.

    `stopped`: whether a stop of the safety walk was open, of who gave it or of the place; `eyewash`: what did not hold on that
    day, empty where nothing is known; `unchecked`: whether the daily check was missing, as far as it was asked for.
    """
    return [
        {
            "helper": event.get("helper"),
            "until": event.get("until"),
            "reason": event.get("reason"),
            "stopped": bool(event.get("stopped")),
            "unchecked": event.get("daily") == "missing",
            "person": str(event["person"]),
            "at": str(event["local"])[:16].replace("T", " "),
            "eyewash": {
                which: state
                for which, state in (event.get("eyewash") or {}).items()
                if which in EYEWASH_CHECKS and state in EYEWASH_STATES
            },
        }
        for event in events
        if event["kind"] == "trained"
    ]
