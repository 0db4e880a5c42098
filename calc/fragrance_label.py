"""What a scent asks of a label in the EU: allergens by name above their share of the rinsed-off product."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.fragrance_material import ANALYSIS, Part, shares_of
from calc.reference_fragrance import Allergen, Content, fragrance_allergens

# From this part of the line on an allergen is told as just under it; common practice, no source.
NEAR = 0.5


@dataclass(frozen=True)
class Named:
    """One allergen, its share of the finished product (0..1), and whether the label must name it."""

    allergen: Allergen
    share_fraction: float
    named: bool
    materials: tuple[str, ...]
    from_memory: bool


def label_names(parts: Sequence[Part], load_fraction: float) -> tuple[Named, ...]:
    """Allergens above the line, then those just under it, most of it first.

    load_fraction: share of the scent in the finished product (0..1). Above means above: at the line none is named.
    """
    if not 0.0 <= load_fraction <= 1.0:
        raise ValueError("A load lies between 0 and 1.")
    found = []
    for allergen in fragrance_allergens():
        held = [
            (part.material.name, part.share_fraction * fraction, how)
            for part in shares_of(parts)
            for fraction, how in _held(allergen, part)
        ]
        share = load_fraction * math.fsum(amount for _, amount, _ in held)
        if share > NEAR * allergen.above_fraction:
            names = tuple(dict.fromkeys(name for name, amount, _ in sorted(held, key=lambda each: -each[1]) if amount > 0.0))
            found.append(Named(allergen, share, share > allergen.above_fraction, names, any(how == "memory" for _, _, how in held)))
    return tuple(sorted(found, key=lambda each: (not each.named, -each.share_fraction)))


def _held(allergen: Allergen, part: Part) -> list[tuple[float, str]]:
    """How much of the material the allergen is (0..1): the oil itself where the list names it, else its constituents."""
    if part.material.oil_key in allergen.oil_keys:
        return [(1.0, allergen.how)]
    return [(c.high_fraction, c.how) for c in part.material.counted if _is(allergen, c)]


def _is(allergen: Allergen, content: Content) -> bool:
    if content.whole:
        return False  # two oils of one plant can share a CAS number: a whole oil goes by the list's own oils
    if content.name == allergen.label_name or (allergen.limit_key and allergen.limit_key == content.limit_key):
        return True
    named_by_label = content.source == ANALYSIS and not content.limit_key
    return not named_by_label and bool(allergen.cas & content.cas)
