"""What stands on the display before each step to come: by what was weighed, no longer by the sheet's plan."""

from functools import partial
from math import fsum

from calc.block.chemistry import Block
from calc.block.recovery_steps import changed_targets, planned_on_g
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
from calc.steps.keys import MADE, goes_on
from calc.steps.words import going_on_from, in_each_language, in_words


def changed_by_now(block: Block) -> dict[str, Step]:
    """The steps to come that must now be asked for in another way.

    The lye has another target, or words and questions rest on another load of the scale than planned.
    """
    found = changed_targets(block, block.lye_targets())
    on_g, page_g, last_g = block.on_scale_g, planned_on_g(block), _last_g(block)
    for old in block.events.steps:
        key = old["key"]
        if key in block.events.done:
            continue
        if key == MADE:
            last_g = _made_g(block)
            on_g, page_g = on_g + last_g, page_g + last_g
        step = found.get(key, old)
        if step["kind"] != "weigh" or _into_pail(block, step):
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


def _into_pail(block: Block, step: Step) -> bool:
    return step["pour"] is not None and is_made_apart(block.pours[step["pour"]])


def _made_g(block: Block) -> float:
    """All of the lye made apart [g]. What is still to be weighed for it counts at its target."""
    weighed = (amount.g for key, amount in block.weighed.items() if is_made_apart(block.pours[key]))
    return fsum((*weighed, *(block.to_add_g(step) for step in block.undone() if _into_pail(block, step))))


def _last_g(block: Block) -> float | None:
    """What the display showed of the last pour into the vessel [g]; None while it is empty."""
    last_g = None
    for step in (done.step for done in block.events.in_time()):
        if step["key"] in block.net and not _into_pail(block, step):
            last_g = block.shown_g[step["key"]]
        elif step["key"] == MADE:
            last_g = _made_g(block)
    return last_g
