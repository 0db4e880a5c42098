"""Scent that comes into a batch with soap made before: what it leaves of a scent's limit, and what it puts on the label.

What it is made of is known only as its own sheet froze it: its limit as a whole, and how much of it each allergen is. Each
scent uses up a part of what may be in the bar, its load divided by its own limit. As long as the parts come to at most one,
no constituent passes its limit, whichever it is: the loads of a constituent add up to at most the sum of those parts.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from calc.scent.batch import BatchScent
from calc.scent.label import allergen_shares
from calc.scent.limits import Bound, Market, ScentLimits
from calc.tables.fragrance import fragrance_allergens


@dataclass(frozen=True)
class CarriedScent:
    """A scent that soap brings. load_fraction: its share of the finished bar (0..1), or of a gram of the soap that holds it.

    limit_fraction: the most of it in a finished bar; None where nothing known limits it. allergens: their shares of the scent
    by label name; None where the sheet it comes from kept only the names on its own label.
    """

    name: str
    load_fraction: float
    limit_fraction: float | None
    allergens: Mapping[str, float] | None
    named: tuple[str, ...]
    incomplete: tuple[str, ...]
    unknown: tuple[str, ...]

    @classmethod
    def of_record(cls, told: Mapping[str, Any]) -> "CarriedScent":
        """As a sheet froze it. Raises TypeError for what no sheet has frozen."""
        return cls(**{**told, **{key: tuple(told[key]) for key in ("named", "incomplete", "unknown")}})

    def in_bar(self, soap_g: float, cured_g: float) -> "CarriedScent":
        """In finished bars of so much in all [g] that hold so much soap [g] of which this is the scent in a gram."""
        return replace(self, load_fraction=min(soap_g * self.load_fraction, cured_g) / cured_g)


@dataclass(frozen=True)
class CarriedLabel:
    """The allergens that a label must name with all scents in the bar, and what is missing to be certain of them."""

    names: tuple[str, ...]
    incomplete: tuple[str, ...]


def taken_fraction(scents: Sequence[CarriedScent]) -> float:
    """How much of a bar's room for scent these use up: 1 where nothing is left for any other."""
    return math.fsum(scent.load_fraction / scent.limit_fraction for scent in scents if scent.limit_fraction)


def left_by(limits: ScentLimits, taken: float) -> ScentLimits:
    """The limits of a scent beside others that use up a part of them (0 or more)."""
    if taken <= 0.0:
        return limits
    left = max(1.0 - taken, 0.0)

    def lower(bound: Bound) -> Bound:
        return replace(bound, load_fraction=left * bound.load_fraction)

    def lowered(market: Market) -> Market:
        return replace(market, bounds=tuple(map(lower, market.bounds)))

    asked = None if limits.asked is None else lower(limits.asked)
    laxer = None if limits.laxer is None else lower(limits.laxer)
    return replace(limits, markets=tuple(map(lowered, limits.markets)), asked=asked, laxer=laxer)


def label_with(scent: BatchScent | None, scents: Sequence[CarriedScent]) -> CarriedLabel:
    """What the label names of a batch's own scent and of those that its soap brings.

    Where the sheet of one kept no shares, all names of its own label stay, and the list is incomplete for its sake.
    """
    shares: dict[str, float] = {}
    loads = [(each.load_fraction, each.allergens) for each in scents if each.allergens is not None]
    if scent is not None:
        loads.append((scent.load_fraction, allergen_shares(scent.chosen.parts)))
    for load, allergens in loads:
        for name, share in allergens.items():
            shares[name] = shares.get(name, 0.0) + load * share
    own = () if scent is None else tuple(each.allergen.label_name for each in scent.label.names if each.named)
    kept = [name for each in scents if each.allergens is None for name in each.named]
    # Above means above: at the line none is named. A share typed in per cent can lie a hair above its decimal value.
    above = [
        each.label_name
        for each in fragrance_allergens()
        if shares.get(each.label_name, 0.0) > each.above_fraction * (1.0 + 1e-9)
    ]
    missing = [] if scent is None else [*scent.label.incomplete]
    for each in scents:
        missing += [*each.incomplete, *((each.name,) if each.allergens is None else ())]
    return CarriedLabel(tuple(dict.fromkeys((*own, *above, *kept))), tuple(dict.fromkeys(missing)))
