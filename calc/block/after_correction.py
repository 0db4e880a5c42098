"""Whether a decision still holds when a reading is corrected after lye was poured."""

from dataclasses import dataclass

from calc.block.chemistry import NEAR_FRACTION, Block
from calc.block.events import about_slip
from calc.tables.reference import constant

MOVED_FRACTION = constant("superfat_move_asked").value


@dataclass(frozen=True)
class Moved:
    """The step whose reading was corrected, with the superfat at the end: as reckoned now, and as told before."""

    key: str
    now_fraction: float
    told_fraction: float


def moved_by_correction(block: Block) -> Moved | None:
    """How far a corrected reading inside its band moved the superfat: from the last decision, else from the plan.

    None when it moved little. None too while no lye was weighed: the lye then follows the oils by itself.
    """
    events = block.events
    corrections = events.corrections_since_decision()
    if not corrections or events.pending is not None or events.closed is not None:
        return None
    last = corrections[-1]
    key = next((key for key, done in events.done.items() if done.event["id"] == last["corrects"]), None)
    before = Block(block.record, events.events[: events.events.index(last)])
    now = block.superfat(block.at_end(block.lye_targets()))
    if key is None or now is None or not any(pour in before.weighed for pour in block.alkalis):
        return None
    planned = block.record["superfat"]
    told_fraction, told_low = float(planned["value"]), float(planned["low"])
    decisions = [decision for decision in events.decisions if about_slip(decision)]
    if decisions:
        told_by = Block(block.record, events.events[: events.events.index(decisions[-1]) + 1])
        told = told_by.superfat(told_by.at_end(told_by.lye_targets()))
        if told is not None:
            told_fraction, told_low = told.value, told.low
    if abs(now.value - told_fraction) <= MOVED_FRACTION and now.low >= min(0.0, told_low) - NEAR_FRACTION:
        return None
    return Moved(key, now.value, told_fraction)
