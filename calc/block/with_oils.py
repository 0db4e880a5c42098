"""The oils missed their plan: shall water, an additive or the scent follow? It is asked, never done unasked."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from calc.block.chemistry import Block
from calc.block.events import AS_PLANNED, SCALED
from calc.block.mould_room import aside_text, overflow_g
from calc.block.recovery_steps import into_mould, named, shifted, with_target
from calc.entry.language import tr
from calc.entry.shown import weight
from calc.steps.frozen import Step, Weighing, display_of_step, is_made_apart
from calc.tables.reference import constant

TOO_LITTLE_TO_ASK_FRACTION = constant("follow_oils_asked").value


@dataclass(frozen=True)
class OilQuestion:
    """The question about the step in hand. Its answers, and their words in the record, stand by the key of the choice."""

    key: str
    text: str
    answers: Mapping[str, str]
    recorded: Mapping[str, str]
    replaced: Mapping[str, Step]  # what a yes puts in the place of steps to come


def asked(block: Block, units: str) -> OilQuestion | None:
    """The question, while the step in hand weighs such an amount; None where the oils ask for nearly the same.

    An acid keeps its amount: the lye was reckoned with it. A late oil keeps it too: it is one of the oils. So does set-aside
    soap: there is no more of it.
    """
    step = next((step for step in block.events.steps if step["key"] == block.events.current), None)
    if step is None or step["kind"] != "weigh" or step["pour"] != step["key"] or not _goes_by_oils(block, step["key"]):
        return None
    key = pour = step["key"]
    wanted_g, display = _by_oils_g(block, pour), display_of_step(step)
    wanted = display.counts(wanted_g)
    if wanted <= 0 or _near(step, wanted - step["target"]) or _answered(block, step, pour, wanted):
        return None
    new = with_target(block, step, wanted_g)
    more_g = _oils_g(block) - _planned_oils_g(block)
    parts = {
        "mass": weight(abs(more_g), units, block.vessel_division_g),
        "pour": named(block, pour),
        "before": display.text(step["target"]),
        "after": display.said(wanted),
    }
    replaced = shifted(block, 0.0, key, {key: new})
    end = block.at_end(block.lye_targets(), replaced=replaced)
    return OilQuestion(
        key,
        tr("{mass} more oil: {pour} from {before} to {after}?", **parts)
        if more_g > 0.0
        else tr("{mass} less oil: {pour} from {before} to {after}?", **parts),
        {
            SCALED: tr("Yes, {mass}", mass=display.said(wanted)),
            AS_PLANNED: tr("No, leave it at {mass}", mass=display.said(step["target"])),
        },
        {
            SCALED: tr("Changed with the oil, from {before} to {after}", before=parts["before"], after=parts["after"]),
            AS_PLANNED: tr(
                "Left at {before}, not changed with the oil to {after}",
                before=display.said(step["target"]),
                after=parts["after"],
            ),
        },
        {**replaced, **into_mould(block, aside_text(block, overflow_g(block, end)))},
    )


def _goes_by_oils(block: Block, pour: str) -> bool:
    acids = {acid["pour"] for acid in block.chemistry["acids"]}
    fixed = {*block.oils, *block.alkalis, *block.soaps, *acids}
    return pour not in fixed and not is_made_apart(block.pours[pour])


def _planned_oils_g(block: Block) -> float:
    return math.fsum(block.pours[key]["target_g"] for key in block.oils)


def _oils_g(block: Block) -> float:
    end = block.at_end()
    return math.fsum(end[key].g for key in block.oils if key in end)


def _by_oils_g(block: Block, pour: str) -> float:
    """What a pour should weigh by the oils there and still to come [g]."""
    return block.pours[pour]["exact_g"] * _oils_g(block) / _planned_oils_g(block)


def _answered(block: Block, step: Weighing, pour: str, wanted: int) -> bool:
    """Whether it was left as planned when the oils asked for about as much as now."""
    for decision in reversed(block.events.decisions):
        if decision.get("step") == step["key"] and decision.get("choice") == AS_PLANNED:
            then = Block(block.record, block.events.events[: block.events.events.index(decision)])
            moved = wanted - display_of_step(step).counts(_by_oils_g(then, pour))
            return _near(step, moved)
    return False


def _near(step: Weighing, counts: int) -> bool:
    """Whether a change of so many counts is too small to ask about: within the band, or under a hundredth."""
    return abs(counts) <= max(step["high"] - step["target"], TOO_LITTLE_TO_ASK_FRACTION * step["target"])
