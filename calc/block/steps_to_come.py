"""What stands on the display before each step to come: by what was weighed, no longer by the sheet's plan."""

from collections.abc import Mapping
from functools import partial
from math import fsum

from calc.block.chemistry import Block
from calc.block.recovery_steps import changed_targets, planned_on_g
from calc.entry.shown import level
from calc.scales.questions import Expected, not_tared
from calc.steps.frozen import (
    Step,
    Weighing,
    asked_back,
    display_of_step,
    gross,
    gross_before,
    is_made_apart,
    with_gross,
)
from calc.steps.keys import INTO_MOULD, MADE, MOULD_READY, goes_on, puts_in
from calc.steps.mould import into_mould_words
from calc.steps.words import done_so, going_on_from, in_each_language, in_words


def changed_by_now(block: Block, units: str = "metric") -> dict[str, Step]:
    """The steps to come that must now be asked for in another way.

    The lye has another target, words and questions rest on another load of the scale than planned, or the mould fills to
    another level.
    """
    found = changed_targets(block, block.lye_targets())
    found |= _filled_otherwise(block, found, units)
    on_g, page_g, last_g = block.on_scale_g, planned_on_g(block), _last_g(block)
    for old in block.events.steps:
        key = old["key"]
        if key in block.events.done:
            continue
        if _puts_in(key):
            last_g = _put_in_g(block, key)
            on_g, page_g = on_g + last_g, page_g + last_g
        step = found.get(key, old)
        if step["kind"] != "weigh" or block.stands_by(step):
            continue
        added_g, shows = block.to_add_g(step), gross(step)
        if shows is not None and not goes_on(key):
            stands = partial(_standing, block, step, on_g, page_g, last_g)
            if stands() != in_words(step):
                found[key] = in_each_language(stands)
        on_g, last_g = on_g + added_g, added_g
        # The page moves its planned figure by as much as the last reading missed its own.
        page_g = display_of_step(step).grams(shows) if goes_on(key) and shows is not None else page_g + added_g
    return found


def _standing(block: Block, step: Weighing, on_g: float, page_g: float, last_g: float | None) -> Weighing:
    step, display, planned = in_words(step), display_of_step(step), gross_before(step)
    new = with_gross(step, display.counts(page_g) + step["target"])
    if not block.tares:
        return new if planned is None else {**new, "how": going_on_from(step, planned, display.counts(on_g))}
    untared = tuple(display.counts(mass_g) for mass_g in (last_g, on_g) if mass_g is not None)
    expected = Expected(step["low"], step["target"], step["high"], untared)
    questions = [question for question in step["questions"] if question["code"] != "not-tared"]
    at = next((n for n, question in enumerate(step["questions"]) if question["code"] == "not-tared"), len(questions))
    asked = [asked_back(question) for question in not_tared(display, expected)]
    return {**new, "questions": [*questions[:at], *asked, *questions[at:]]}


def _filled_otherwise(block: Block, changed: Mapping[str, Step], units: str) -> dict[str, Step]:
    """The pour into the mould, where it now stands at another level than the sheet says.

    Sheets from before the mould had a step of its own keep their words, and so does a pour that a way back has changed.
    """
    record, steps = block.record, {step["key"]: step for step in block.events.steps}
    pour, planned_mm = steps.get(INTO_MOULD), record.get("fill_height_mm")
    if planned_mm is None or pour is None or MOULD_READY not in steps or pour not in record["steps"]:
        return {}
    filled = level(block.batter(block.at_end(replaced=changed)).fill_height_mm, units)
    if INTO_MOULD in block.events.done or filled == level(planned_mm, units):
        return {}
    mould = record["mould"]["name"]
    return {INTO_MOULD: in_each_language(lambda: done_so(pour, into_mould_words(mould, filled)))}


def _puts_in(key: str) -> bool:
    """Whether a step weighs nothing, and yet more stands on the vessel's scale after it."""
    return key == MADE or puts_in(key) is not None


def _put_in_g(block: Block, key: str) -> float:
    """All that such a step puts in [g]: the lye made apart, or what was weighed ahead. What is still to be weighed for it
    counts at its target.
    """
    pours = [puts_in(key)] if key != MADE else [pour for pour, row in block.pours.items() if is_made_apart(row)]
    weighed = (amount.g for pour, amount in block.weighed.items() if pour in pours)
    return fsum((*weighed, *(block.to_add_g(step) for step in block.undone() if step["pour"] in pours)))


def _is_ahead(block: Block, step: Step) -> bool:
    """Whether what a step weighs goes in by a step of its own, be that done or not."""
    pour = step["pour"]
    return pour is not None and (pour in block.put_in_later or is_made_apart(block.pours[pour]))


def _last_g(block: Block) -> float | None:
    """What the display showed of the last pour into the vessel [g]; None while it is empty."""
    last_g = None
    for step in (done.step for done in block.events.in_time()):
        if _puts_in(step["key"]):
            last_g = _put_in_g(block, step["key"])
        elif step["key"] in block.net and not _is_ahead(block, step):
            last_g = block.shown_g[step["key"]]
    return last_g
