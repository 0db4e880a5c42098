"""The order of an ingredient list: by weight, then what is one per cent or less, colors last; and allergens by name.

The law lets what is one per cent or less stand in any order. Here it goes on by weight, which keeps to both laws: they
differ in whether one per cent itself is among it.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from calc.label.composition import Ingredient, merged
from calc.label.names import COLOUR, Name
from calc.tables.reference import constant


@dataclass(frozen=True)
class Listed:
    """One entry as printed. share_fraction: of the whole (0..1); None for an allergen whose share nobody kept."""

    name: Name
    share_fraction: float | None
    colour: bool = False
    allergen: bool = False


@dataclass(frozen=True)
class Listing:
    """A whole list in one of the two ways, "added" or "bar"."""

    way: str
    entries: tuple[Listed, ...]

    @property
    def text(self) -> str:
        """As it is printed, without its heading."""
        return ", ".join(each.name.text for each in self.entries)

    @property
    def one_percent_from(self) -> int:
        """The number of the first entry that may stand in any order."""
        line = constant("label_list_one_percent").value
        return next((n for n, each in enumerate(self.entries) if each.share_fraction is None or each.share_fraction <= line), len(self.entries))

    @property
    def unsure(self) -> tuple[Name, ...]:
        """Names that a person has to confirm or to find."""
        return tuple(dict.fromkeys(each.name for each in self.entries if not each.name.sure))


def listing(
    way: str, ingredients: Sequence[Ingredient], named: Callable[[Ingredient], Name], allergens: Mapping[str, float | None]
) -> Listing:
    """The list of one way. named: what the label calls an ingredient. allergens: by label name, their share of the whole."""
    total_g = math.fsum(each.mass_g for each in ingredients)
    by_name: dict[str, Listed] = {}
    for each in merged(ingredients):
        name, colour = named(each), each.kind == "extra" and each.key == COLOUR
        # Palm oil and its olein have one name, and so one place.
        before = by_name.get(name.text)
        share = each.mass_g / total_g + ((before.share_fraction or 0.0) if before else 0.0)
        by_name[name.text] = Listed(name, share, colour)
    for text, share_fraction in allergens.items():
        if text not in by_name:
            by_name[text] = Listed(Name(text, "read", ""), share_fraction, allergen=True)
    # Of a share that nobody kept only its being small is known.
    ordered = sorted(by_name.values(), key=lambda each: (each.colour, -(each.share_fraction or 0.0)))
    return Listing(way, tuple(ordered))
