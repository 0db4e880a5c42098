"""What of a scent irritates skin, by the rule for mixtures of Regulation (EC) 1272/2008, Annex I, table 3.2.3.

A mixture burns from a share of corrosive substances on; it irritates once ten times those and the irritant ones together
reach a share. For a bar that is no limit of the law, but no rule of scent says it either.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.entry.language import tr
from calc.scent.material import Part, shares_of
from calc.scent.sources import as_recalled, cautious
from calc.tables.fragrance import skin_irritants
from calc.tables.reference import constant

CORROSIVE_WEIGHT = constant("skin_corrosive_weight").value


@dataclass(frozen=True)
class Irritation:
    """What a scent does to skin. names: what does it, most first; from_load_fraction: of the finished bar (0..1)."""

    names: tuple[str, ...]
    burns: bool  # undiluted; otherwise it irritates
    from_load_fraction: float  # from this share on the bar itself counts as irritating
    from_memory: bool

    def of_bar(self, load_fraction: float) -> bool:
        """Whether a bar with so much of the scent counts as irritating."""
        return load_fraction >= self.from_load_fraction * (1.0 - 1e-9)


def irritation(parts: Sequence[Part]) -> Irritation | None:
    """What the scent itself, undiluted, does to skin by what is known or recalled of it; None where that is nothing."""
    found: dict[str, tuple[float, bool, bool]] = {}
    for part in shares_of(parts):
        for content in as_recalled(cautious(part.material)).counted:
            each = next((irritant for irritant in skin_irritants() if irritant.cas & content.cas), None)
            if each is None or content.whole:
                continue
            before, _, memory = found.get(each.name, (0.0, False, False))
            amount = before + part.share_fraction * content.high_fraction
            found[each.name] = (amount, each.corrosive, memory or content.recalled or each.how == "memory")
    corrosive = math.fsum(amount for amount, burns, _ in found.values() if burns)
    weights = {name: amount * (CORROSIVE_WEIGHT if burns else 1.0) for name, (amount, burns, _) in found.items()}
    line = constant("skin_irritant_sum").value
    weight = math.fsum(weights.values())
    if weight < line:
        return None
    # Those that contribute little are not named.
    names = [name for name in sorted(weights, key=lambda name: -weights[name]) if weights[name] >= 0.1 * weight]
    return Irritation(
        tuple(tr(name) for name in names),
        corrosive >= constant("skin_corrosive_sum").value,
        line / weight,
        any(found[name][2] for name in names),
    )
