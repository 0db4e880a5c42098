"""What goes into a batch and what is in its bars: two lists of one soap that are never mixed on a label.

As added: oils, water and hydroxide as weighed. As in the bar: each oil that the lye took is its salts, with the glycerin
that this sets free; what the lye left stays oil. Every oil reacts to the same share, as the lye can't tell them apart. Free
acids give water in place of glycerin, and a wax neither. Saponification values count free acids too, so the glycerin is an
upper figure. Both lists weigh the same, but for the water that the bars have lost.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from calc.chemistry.lye import koh_equivalent_g, koh_per_g
from calc.tables.reference import constant

ALKALIS = ("naoh", "koh")
SALTS = {"naoh": "sodium_salt", "koh": "potassium_salt"}
HYDROXIDES = {"naoh": "caustic_soda", "koh": "caustic_potash"}


@dataclass(frozen=True)
class OilAdded:
    """An oil of the batch: its mass [g] and what it takes in full [g KOH]. kind: "triglyceride", "wax" or "free_acid"."""

    key: str
    name: str
    mass_g: float
    demand_koh_g: float
    kind: str


@dataclass(frozen=True)
class ExtraAdded:
    """An additive: its mass [g]; of an acid, the pure acid and the water in it [g], and what it takes [g KOH].

    nth: which one of its kind it is in the formula, from 1 on: two colors are two things, under one kind.
    """

    key: str
    name: str
    mass_g: float
    acid_g: float = 0.0
    takes_koh_g: float = 0.0
    nth: int = 1


@dataclass(frozen=True)
class Mixture:
    """All that goes into the vessel [g]. Hydroxide is pure; what else is in caustic and lye counts as water."""

    oils: tuple[OilAdded, ...]
    naoh_g: float
    koh_g: float
    water_g: float
    extras: tuple[ExtraAdded, ...]
    scent_g: float

    @property
    def total_g(self) -> float:
        solids = (*(oil.mass_g for oil in self.oils), *(extra.mass_g for extra in self.extras))
        return math.fsum((*solids, self.naoh_g, self.koh_g, self.water_g, self.scent_g))

    @property
    def supplied_koh_g(self) -> float:
        """The alkali in it [g KOH]."""
        return koh_equivalent_g(self.naoh_g, self.koh_g)

    @property
    def demand_koh_g(self) -> float:
        """What its oils take in full [g KOH]."""
        return math.fsum(oil.demand_koh_g for oil in self.oils)

    @property
    def makes_soap(self) -> bool:
        """Whether there is alkali in it, and oils that take some."""
        return self.supplied_koh_g > 0.0 and self.demand_koh_g > 0.0 and math.isfinite(self.total_g)


@dataclass(frozen=True)
class Ingredient:
    """One entry of a list: what it is by the table of names, what the maker calls it, how much [g]; of an additive, which one of its kind."""

    key: str
    kind: str  # "raw", "sodium_salt", "potassium_salt", or "extra" for what an additive's label must say
    name: str
    mass_g: float
    nth: int = 1


@dataclass(frozen=True)
class Bar:
    """What the bars of a mixture hold [g], and the water that has left them."""

    ingredients: tuple[Ingredient, ...]
    lost_g: float
    salts_g: float  # alkali salts of fatty acids
    water_g: float

    @property
    def total_g(self) -> float:
        return math.fsum(each.mass_g for each in self.ingredients)

    @property
    def salts_of_solids_fraction(self) -> float:
        """How much of what doesn't evaporate is alkali salts of fatty acids (0..1)."""
        return self.salts_g / (self.total_g - self.water_g)


def as_added(mixture: Mixture) -> tuple[Ingredient, ...]:
    """What was put together, in no order."""
    found = [Ingredient(oil.key, "raw", oil.name, oil.mass_g) for oil in mixture.oils]
    found.append(_water(mixture.water_g + math.fsum(e.mass_g - e.acid_g for e in mixture.extras if e.takes_koh_g > 0.0)))
    for alkali, mass_g in (("naoh", mixture.naoh_g), ("koh", mixture.koh_g)):
        found.append(Ingredient(HYDROXIDES[alkali], "raw", "", mass_g))
    found += [Ingredient(e.key, "raw" if e.takes_koh_g > 0.0 else "extra", e.name, e.acid_g or e.mass_g, e.nth) for e in mixture.extras]
    found.append(Ingredient("fragrance", "raw", "", mixture.scent_g))
    return tuple(each for each in found if each.mass_g > 0.0)


def in_bar(mixture: Mixture, lost_fraction: float) -> Bar:
    """What is in the bars, in no order, once they have lost a share of all that was put together (0 to below 1), as far as there is water.

    ValueError for another share, and for what is no soap: without oils that take alkali, or without alkali.
    """
    if not 0.0 <= lost_fraction < 1.0:
        raise ValueError("A bar loses from nothing to below all of its weight.")
    if not mixture.makes_soap:
        raise ValueError("A soap is made of oils and lye.")
    supplied_koh_g, demand_koh_g = mixture.supplied_koh_g, mixture.demand_koh_g
    # By equivalents: of every molecule that reacts, this part is of the one alkali and the rest of the other.
    parts = {"naoh": koh_equivalent_g(mixture.naoh_g, 0.0) / supplied_koh_g, "koh": mixture.koh_g / supplied_koh_g}
    acids_koh_g = math.fsum(extra.takes_koh_g for extra in mixture.extras)
    for_acids = min(supplied_koh_g / acids_koh_g, 1.0) if acids_koh_g > 0.0 else 0.0
    left_koh_g = max(supplied_koh_g - acids_koh_g, 0.0)
    taken = min(left_koh_g / demand_koh_g, 1.0)

    salts = [each for oil in mixture.oils for each in _salts(oil, taken, parts)]
    glycerin_g = taken * math.fsum(_glycerin_g(oil) for oil in mixture.oils)
    open_oil = [Ingredient(oil.key, "raw", oil.name, (1.0 - taken) * oil.mass_g) for oil in mixture.oils]
    found = [*salts, *open_oil, Ingredient("glycerin", "raw", "", glycerin_g)]
    for extra in mixture.extras:
        found += _extra(extra, for_acids, parts)
    for alkali in ALKALIS:
        spare_koh_g = parts[alkali] * max(left_koh_g - demand_koh_g, 0.0)
        found.append(Ingredient(HYDROXIDES[alkali], "raw", "", spare_koh_g / koh_per_g(alkali, 1.0)))
    found.append(Ingredient("fragrance", "raw", "", mixture.scent_g))
    # Whatever is not accounted for is water: what was poured, what acids brought, what reactions made.
    water_g = max(mixture.total_g - math.fsum(each.mass_g for each in found), 0.0)
    lost_g = min(lost_fraction * mixture.total_g, water_g)
    found.append(_water(water_g - lost_g))
    # What rounding leaves of a thing that has wholly reacted is none of it.
    present = tuple(each for each in found if each.mass_g > 1e-9 * mixture.total_g)
    return Bar(present, lost_g, math.fsum(each.mass_g for each in salts), water_g - lost_g)


def _water(mass_g: float) -> Ingredient:
    return Ingredient("water", "raw", "", mass_g)


def _glycerin_g(oil: OilAdded) -> float:
    """What all of an oil sets free [g]: one molecule for every three of alkali."""
    if oil.kind != "triglyceride":
        return 0.0
    return oil.demand_koh_g / constant("molar_mass_koh").value / 3.0 * constant("molar_mass_glycerol").value


def _salts(oil: OilAdded, taken: float, parts: dict[str, float]) -> Iterator[Ingredient]:
    """The oil that reacted and its alkali, less the glycerin or water that this makes."""
    made_g = _glycerin_g(oil) if oil.kind != "free_acid" else _water_made_g(oil.demand_koh_g)
    for alkali, part in parts.items():
        alkali_g = oil.demand_koh_g / koh_per_g(alkali, 1.0)
        yield Ingredient(oil.key, SALTS[alkali], oil.name, taken * part * (oil.mass_g + alkali_g - made_g))


def _water_made_g(koh_g: float) -> float:
    """One molecule of water for each of alkali [g]."""
    return koh_g / constant("molar_mass_koh").value * constant("molar_mass_water").value


def _extra(extra: ExtraAdded, taken: float, parts: dict[str, float]) -> Iterator[Ingredient]:
    """An additive as it is; an acid as its salts, as far as there is alkali."""
    if extra.takes_koh_g <= 0.0:
        yield Ingredient(extra.key, "extra", extra.name, extra.mass_g, extra.nth)
        return
    yield Ingredient(extra.key, "raw", extra.name, (1.0 - taken) * extra.acid_g)
    for alkali, part in parts.items():
        alkali_g = extra.takes_koh_g / koh_per_g(alkali, 1.0)
        salt_g = extra.acid_g + alkali_g - _water_made_g(extra.takes_koh_g)
        yield Ingredient(extra.key, SALTS[alkali], extra.name, taken * part * salt_g)


def merged(ingredients: Sequence[Ingredient]) -> tuple[Ingredient, ...]:
    """Entries of one thing together: an oil that is added in two rows."""
    found: dict[tuple[str, str, int], Ingredient] = {}
    for each in ingredients:
        of = (each.key, each.kind, each.nth if each.kind == "extra" else 1)
        before = found.get(of)
        found[of] = each if before is None else replace(each, mass_g=before.mass_g + each.mass_g)
    return tuple(found.values())
