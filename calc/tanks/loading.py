"""What goes into a tank for so many blocks of these formulas, on top of what is in it.

Lye: as much as the blocks' hydroxide takes at the strength wanted; a formula with weaker lye gets its water at the pot. Oils: the
blend that is common to all formulas, which is of each oil the least share that any of them has; the rest is weighed at the pot.
What stays below the valve comes on top.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from calc.scales.display import Display
from calc.tables.reference import constant
from calc.tanks.dilution import TopUp, top_up

# Of what a blend has of an oil, in grams a gram: less is the rounding of shares.
SAME_SHARE = 0.005


@dataclass(frozen=True)
class Recipe:
    """One formula and how many blocks of it: of one block its oils out of the tank [g] by key, its pure hydroxide [g], its lye's strength."""

    name: str
    blocks: int
    oils_g: Mapping[str, float]
    hydroxide_g: float = 0.0
    lye_fraction: float = 0.0


@dataclass(frozen=True)
class LyeLoad:
    """Lye for some blocks: what they take of it, what has to be in the tank, and what goes in for that [g]."""

    per_block_g: tuple[tuple[str, int, float], ...]
    blocks_g: float
    total_g: float
    added: TopUp


@dataclass(frozen=True)
class AtThePot:
    """What one block of a formula takes of the blend, and what it gets besides, by oil [g]."""

    name: str
    blocks: int
    blend_g: float
    rest_g: Mapping[str, float]


@dataclass(frozen=True)
class OilLoad:
    """A blend: what has to be in the tank, what goes in of each oil, and what is weighed at the pot [g]."""

    blocks_g: float
    total_g: float
    shares: Mapping[str, float]
    added_g: Mapping[str, float]
    pots: tuple[AtThePot, ...]


def lye_load(
    recipes: Sequence[Recipe], wanted_fraction: float, source_fraction: float, have_g: float, have_fraction: float, dead_g: float,
    near_fraction: float = 0.0,
) -> LyeLoad:  # fmt: skip
    """Lye of a strength for some blocks.

    wanted_fraction: its hydroxide [g/g], at least that of every formula's lye. source_fraction: of the caustic or the bought lye,
    above it. have_g, have_fraction: what is in the tank and how strong it is. dead_g: what won't run out. near_fraction: so near the
    strength wanted what is there will do, where it is enough.
    Raises ValueError for a formula whose lye is stronger, and CannotReach as `dilution.top_up` does.

    Three blocks of 4.96 kg of hydroxide at 33 %, 5 kg below the valve, from flake of 98.5 %:

    >>> load = lye_load([Recipe("Plain", 3, {}, 4963.2, 0.33)], 0.33, 0.985, 0.0, 0.0, 5000.0)
    >>> [round(each) for each in (load.blocks_g, load.total_g, *load.added)]
    [45120, 50120, 16791, 33329]
    """
    for recipe in recipes:
        if recipe.lye_fraction > wanted_fraction + 1e-9:
            raise ValueError(f"{recipe.name} takes stronger lye than that.")
    rows = tuple((recipe.name, recipe.blocks, recipe.hydroxide_g / wanted_fraction) for recipe in recipes)
    blocks_g = math.fsum(blocks * each_g for _, blocks, each_g in rows)
    total_g = max(blocks_g + dead_g, have_g)
    if have_g >= total_g and abs(have_fraction - wanted_fraction) <= near_fraction:
        return LyeLoad(rows, blocks_g, total_g, TopUp(0.0, 0.0))
    return LyeLoad(rows, blocks_g, total_g, top_up(have_g, have_fraction, total_g, wanted_fraction, source_fraction))


def oil_load(recipes: Sequence[Recipe], have_g: Mapping[str, float], dead_g: float) -> OilLoad:
    """The blend common to some formulas. have_g: what is in the tank by oil. dead_g: what won't run out.

    Raises ValueError where the formulas have no oil in common.
    More of an oil in the tank than the blend has of it makes more of all the others: what is there is never taken out again.

    Two formulas, of which one has 45 % olive and 30 % palm and the other 50 % and 20 %:

    >>> load = oil_load([Recipe("A", 2, {"olive": 450, "palm": 300, "coconut": 250}),
    ...                  Recipe("B", 1, {"olive": 500, "palm": 200, "coconut": 250, "castor": 50})], {}, 0.0)
    >>> {oil: round(grams) for oil, grams in load.added_g.items()}
    {'olive': 1350, 'palm': 600, 'coconut': 750}
    >>> [(pot.name, round(pot.blend_g), {oil: round(g) for oil, g in pot.rest_g.items()}) for pot in load.pots]
    [('A', 900, {'palm': 100}), ('B', 900, {'olive': 50, 'castor': 50})]
    """
    wholes_g = [math.fsum(recipe.oils_g.values()) for recipe in recipes]
    least = {
        oil: min(recipe.oils_g.get(oil, 0.0) / whole_g for recipe, whole_g in zip(recipes, wholes_g, strict=True))
        for oil in (recipes[0].oils_g if recipes else {})
    }
    common = {oil: share for oil, share in least.items() if share > 0.0}
    all_common = math.fsum(common.values())
    if all_common <= 0.0:
        raise ValueError("These formulas have no oil in common.")
    shares = {oil: share / all_common for oil, share in common.items()}
    pots = tuple(
        AtThePot(recipe.name, recipe.blocks, all_common * whole_g, _rest(recipe, whole_g, common))
        for recipe, whole_g in zip(recipes, wholes_g, strict=True)
    )
    blocks_g = math.fsum(pot.blocks * pot.blend_g for pot in pots)
    total_g = max(blocks_g + dead_g, *(have_g.get(oil, 0.0) / share for oil, share in shares.items()))
    return OilLoad(blocks_g, total_g, shares, {oil: max(share * total_g - have_g.get(oil, 0.0), 0.0) for oil, share in shares.items()}, pots)


def _rest(recipe: Recipe, whole_g: float, common: Mapping[str, float]) -> dict[str, float]:
    rest = {oil: grams - common.get(oil, 0.0) * whole_g for oil, grams in recipe.oils_g.items()}
    return {oil: grams for oil, grams in rest.items() if grams > 1e-9 * whole_g}


def foreign(shares: Mapping[str, float], have_g: Mapping[str, float]) -> tuple[str, ...]:
    """The oils in a tank that a blend has nothing of, as far as they matter: more than 0.5 % of what is in it.

    shares: of the blend, by oil [g/g]. have_g: what is in the tank, by oil [g, 0 or more]; nothing in it gives none. Raises nothing.
    """
    all_g = math.fsum(have_g.values())
    return tuple(oil for oil, grams in have_g.items() if oil not in shares and grams > SAME_SHARE * all_g)


def blocks_that_fit(recipes: Sequence[Recipe], per_block_g: Sequence[float], fits_g: float) -> tuple[tuple[str, int], ...]:
    """How many blocks of each formula fit, in their order. per_block_g: what one takes; fits_g: what there is room for, less what stays."""
    found = []
    left_g = fits_g
    for recipe, each_g in zip(recipes, per_block_g, strict=True):
        blocks = min(recipe.blocks, int(max(left_g, 0.0) / each_g + 1e-9)) if each_g > 0.0 else recipe.blocks
        left_g -= blocks * each_g
        found.append((recipe.name, blocks))
    return tuple(found)


def portions(mass_g: float, display: Display, capacity_g: float, *, on_scale: bool, least: int = 1) -> tuple[int, ...]:
    """An amount [g, above 0] in counts of a display, in as few equal portions as its scale carries; the last one makes it whole.

    capacity_g: what the scale carries [g], at least a step of its display. on_scale: the tank stands on it; else a pail does, whose
    weight needs room too. least: in no fewer portions than these, 1 or more. Raises ZeroDivisionError for a scale that carries
    less than a step.
    """
    whole = display.counts(mass_g)
    most = display.counts(capacity_g if on_scale else capacity_g / constant("jug_room").value)
    number = max(math.ceil(whole / most), least)
    each = display.counts(mass_g / number)
    return (*([each] * (number - 1)), whole - each * (number - 1))
