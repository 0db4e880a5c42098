"""What a scent asks of a label in the EU: allergens by name above their share of the rinsed-off product.

A list is complete when no name can be missing. Each material then meets one of three: an analysis of the whole oil was
read, and nothing recalled adds a name at this load; the supplier's allergen statement is in; or there is too little of
the material to matter.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.scent.material import ANALYSIS, Part, shares_of
from calc.scent.sources import as_recalled, cautious
from calc.tables.fragrance import Allergen, Content, fragrance_allergens
from calc.tables.reference import constant

# From this part of the line upward an allergen is listed as just under it.
NEAR = constant("allergen_near").value


@dataclass(frozen=True)
class Named:
    """One allergen, its share of the finished product (0..1), and whether the label must name it."""

    allergen: Allergen
    share_fraction: float
    named: bool
    materials: tuple[str, ...]


@dataclass(frozen=True)
class LabelList:
    """The names for a label at one load, and what is missing to be certain of them."""

    names: tuple[Named, ...]  # above the line, then just under it, most of it first
    may_hold: tuple[Named, ...]  # would be named if what is only recalled were so
    unstated: tuple[str, ...]  # named by the tables, though a statement that is in does not name them
    incomplete: tuple[str, ...]  # materials whose allergen statement has to be got

    @property
    def complete(self) -> bool:
        """Whether no name can be missing."""
        return not self.incomplete

    @property
    def new_dates(self) -> tuple[tuple[str, str], ...]:
        """From when the names that came with Regulation (EU) 2023/1545 are due: on new packs, and on all packs."""
        new = [each.allergen for each in self.names if each.named and each.allergen.since_2023]
        return tuple(dict.fromkeys((each.placing_until, each.available_until) for each in new))


def label_list(parts: Sequence[Part], load_fraction: float) -> LabelList:
    """The label's names for a scent. load_fraction: its share in the finished product (0..1)."""
    if not 0.0 <= load_fraction <= 1.0:
        raise ValueError("A load lies between 0 and 1.")
    parts = [Part(cautious(part.material), part.share_fraction) for part in shares_of(parts)]
    asking = [part for part in parts if not part.material.statement]
    recalled = [Part(as_recalled(p.material), p.share_fraction) if p in asking else p for p in parts]
    names = _named(parts, load_fraction)
    sure = {each.allergen for each in names if each.named}
    may_hold = tuple(each for each in _named(recalled, load_fraction) if each.named and each.allergen not in sure)
    line = min(allergen.above_fraction for allergen in fragrance_allergens())
    asked_of = {name for each in may_hold for name in _asked_of(each.allergen, parts, recalled, load_fraction)}
    incomplete = [
        part.material.name
        for part in asking
        if part.share_fraction * load_fraction > line and (not part.material.analyses or part.material.name in asked_of)
    ]
    return LabelList(names, may_hold, _unstated(parts, names), tuple(dict.fromkeys(incomplete)))


def allergen_shares(parts: Sequence[Part]) -> dict[str, float]:
    """How much of a scent each of the label's allergens is (0..1), by its label name; those it holds nothing of are left out."""
    counted = [Part(cautious(part.material), part.share_fraction) for part in shares_of(parts)]
    shares = {
        allergen.label_name: math.fsum(_share(allergen, part) for part in counted) for allergen in fragrance_allergens()
    }
    return {name: share for name, share in shares.items() if share > 0.0}


def _asked_of(allergen: Allergen, parts: Sequence[Part], recalled: Sequence[Part], load_fraction: float) -> list[str]:
    """The materials whose statements would settle it, without those that together could not lift it over the line."""
    more = [(_share(allergen, theirs) - _share(allergen, part), part.material.name) for part, theirs in zip(parts, recalled, strict=True)]
    at = math.fsum(_share(allergen, part) for part in parts)
    asked = []
    for amount, name in sorted(each for each in more if each[0] > 0.0):
        at += amount
        if load_fraction * at > allergen.above_fraction:
            asked.append(name)
    return asked


def _named(parts: Sequence[Part], load_fraction: float) -> tuple[Named, ...]:
    """Allergens above the line, then those just under it. Above means above: at the line none is named."""
    found = []
    for allergen in fragrance_allergens():
        held = [(part.material.name, _share(allergen, part)) for part in parts]
        share = load_fraction * math.fsum(amount for _, amount in held)
        if share > NEAR * allergen.above_fraction:
            names = tuple(dict.fromkeys(name for name, amount in sorted(held, key=lambda each: -each[1]) if amount > 0.0))
            # A share typed in per cent can lie a hair above its decimal value.
            found.append(Named(allergen, share, share > allergen.above_fraction * (1.0 + 1e-9), names))
    return tuple(sorted(found, key=lambda each: (not each.named, -each.share_fraction)))


def _unstated(parts: Sequence[Part], names: Sequence[Named]) -> tuple[str, ...]:
    """What a statement in hand should have named, going by the tables: perhaps it knows the older names alone."""
    stated = [part for part in parts if part.material.statement and part.material.oil_key]
    return tuple(
        each.allergen.label_name
        for each in names
        if each.named
        and any(
            any(_is(each.allergen, c) and c.source != ANALYSIS and c.high_fraction > 0.0 for c in part.material.counted)
            for part in stated
        )
    )


def _share(allergen: Allergen, part: Part) -> float:
    """How much of the scent the allergen is by one of its parts (0..1).

    The oil itself where the list names it, else its constituents.
    """
    if part.material.oil_key in allergen.oil_keys:
        return part.share_fraction
    return part.share_fraction * math.fsum(c.high_fraction for c in part.material.counted if _is(allergen, c))


def _is(allergen: Allergen, content: Content) -> bool:
    if content.whole:
        return False  # two oils of one plant can share a CAS number: a whole oil goes by the list's own oils
    if content.name == allergen.label_name or (allergen.limit_key and allergen.limit_key == content.limit_key):
        return True
    named_by_label = content.source == ANALYSIS and not content.limit_key
    return not named_by_label and bool(allergen.cas & content.cas)
