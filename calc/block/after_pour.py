"""What a block gave after the pour: its weight at the hoist, bars against the plan, trim, and the density of its set soap."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from calc.block.chemistry import Block
from calc.block.events import BlockEvents, Done, fold_after
from calc.cut.block import Spread
from calc.steps.keys import FIRST_BAR, GOOD, SET_ASIDE, TRIM


@dataclass(frozen=True)
class Lift:
    """What hangs on the hoist [g]. over: more than its stated limit; None where that is not known."""

    batter_g: float
    mould_g: float | None
    limit_g: float | None

    @property
    def total_g(self) -> float:
        """Batter and, where it is known, mould [g]."""
        return self.batter_g + (self.mould_g or 0.0)

    @property
    def over(self) -> bool | None:
        """Whether it is more than the hoist may lift; without the mould's weight only a "yes" is sure."""
        if self.limit_g is None:
            return None
        return True if self.total_g > self.limit_g else None if self.mould_g is None else False


def lift_of(block: Block, limit_g: float | None) -> Lift:
    """The load by what was weighed; nothing has left the block since. limit_g: by the hoist's tag, above 0."""
    return Lift(block.batter(block.weighed).mass_g, block.record["mould"].get("tare_g"), limit_g)


@dataclass(frozen=True)
class Yield:
    """What was told of a block at the cutter; None of what was not. Masses in g."""

    planned: int | None
    planned_bar_g: Spread | None
    planned_trim_g: float | None
    good: int | None
    set_aside: int | None
    why: str | None
    first_bar_g: float | None
    trim_g: float | None
    density_g_per_ml: float | None  # of the first bar, at the size from wire to wire
    trays: int | None
    place: str | None

    @property
    def good_fraction(self) -> float | None:
        """Good bars of those planned."""
        return None if not self.planned or self.good is None else self.good / self.planned


def yield_of(record: Mapping[str, Any], events: Sequence[Any]) -> Yield:
    """The second part of a block, as far as it is told. record: with `after`; ValueError where a reading can't be read."""
    after = fold_after(record["after"], events)
    bars = record.get("planned")
    first_bar_g = _mass(after, FIRST_BAR)
    aside = after.done.get(SET_ASIDE)
    racked = next((event for event in after.events if event["kind"] == "racked"), None)
    return Yield(
        planned=None if bars is None else bars["total"],
        planned_bar_g=None if bars is None or "bar_g" not in bars else Spread(*bars["bar_g"]),
        planned_trim_g=None if bars is None else bars.get("trim_g"),
        good=_count(after, GOOD),
        set_aside=_count(after, SET_ASIDE),
        why=None if aside is None else aside.event.get("reason") or None,
        first_bar_g=first_bar_g,
        trim_g=_mass(after, TRIM),
        density_g_per_ml=None if bars is None or not first_bar_g else first_bar_g / (math.prod(bars["bar_mm"]) / 1000.0),
        trays=None if racked is None else racked["trays"],
        place=None if racked is None else racked.get("place"),
    )


def _mass(after: BlockEvents, key: str) -> float | None:
    done = _read(after, key)
    return None if done is None else done.reading_g


def _count(after: BlockEvents, key: str) -> int | None:
    done = _read(after, key)
    return None if done is None else done.counted


def _read(after: BlockEvents, key: str) -> Done | None:
    """What was read there; None where it was left out."""
    done = after.done.get(key)
    return None if done is None or not done.reading else done
