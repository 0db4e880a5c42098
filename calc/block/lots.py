"""Which lot each weighing of a block was of: what stood on its screen then, not the choice that stood at the end."""

import math

from calc.block.chemistry import Block
from calc.block.events import Done
from calc.steps.keys import is_blend, is_ladled


def lot_of(block: Block, done: Done, pour: str) -> str | None:
    """The lot of a pour that a weighing put in. A blend, and a weighing from before each kept its lot, go by what was chosen last."""
    own = None if is_blend(done.step["key"]) else done.event.get("lot")
    return own or block.events.lots.get(pour, block.pours[pour]["lot"])


def weighed_by_lot(block: Block) -> dict[str, dict[str | None, float]]:
    """Grams weighed of each pour by lot, in the order of their first weighing. What was ladled out comes off all lots by their share."""
    found: dict[str, dict[str | None, float]] = {}
    for done in block.events.weighings():
        key = done.step["key"]
        for pour, amount in block.parts.get(key, {}).items():
            lots = found.setdefault(pour, {})
            whole_g = math.fsum(lots.values())
            if is_ladled(key) and whole_g > 0.0:
                found[pour] = {lot: grams + amount.g * grams / whole_g for lot, grams in lots.items()}
            else:
                lot = lot_of(block, done, pour)
                lots[lot] = lots.get(lot, 0.0) + amount.g
    return found
