"""Superfat by drawing every unknown of the model itself (JCGM 101:2008, the Monte Carlo method), and random formulas.

Nothing of calc.chemistry.superfat is used but what an amount is: the model is written out here a second time, products and all.
"""

import math
import random
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from calc.chemistry.oils import saponification_used
from calc.chemistry.superfat import AcidAmount, AlkaliAmount, OilAmount
from calc.tables.reference import oils

Draws = NDArray[np.float64]
Formula = tuple[list[OilAmount], list[AlkaliAmount], list[AcidAmount]]

# M(NaOH)/M(KOH) from the CIAAW 2021 atomic weights.
NAOH_PER_KOH = 39.99677 / 56.1053
# KOH that a gram of an acid takes [mg]: groups · M(KOH) / M(acid), citric 192.123 and lactic 90.078 g/mol.
ACIDS = {"citric acid": 3 * 56105.3 / 192.123, "lactic acid": 56105.3 / 90.078}


def _rectangle(rng: np.random.Generator, half_width: float, draws: int) -> Draws:
    return rng.uniform(-half_width, half_width, draws) if half_width > 0.0 else np.zeros(draws)


def _net_g(rng: np.random.Generator, amount: OilAmount | AlkaliAmount | AcidAmount, draws: int) -> Draws:
    """Limit of error, and half a division for each of the two readings."""
    half = amount.division_g / 2.0
    return amount.mass_g + sum(
        (_rectangle(rng, width, draws) for width in (amount.mass_limit_g, half, half)), np.zeros(draws)
    )


def drawn_superfat(formula: Formula, draws: int, seed: int, taken: Mapping[str, tuple[float, float]] | None = None) -> Draws:
    """The superfat of so many draws; taken: other ends of what an oil of that name takes [mg KOH/g]."""
    rng = np.random.default_rng(seed)
    oil_rows, alkalis, acids = formula
    values: dict[str, Draws] = {}
    demand, net = np.zeros(draws), np.zeros(draws)
    for oil in oil_rows:
        low, high = (taken or {}).get(oil.name, (oil.sv_low, oil.sv_high))
        if oil.name not in values:
            values[oil.name] = rng.uniform(low, high, draws)
        demand += _net_g(rng, oil, draws) * values[oil.name] / 1000.0
    for alkali in alkalis:
        part = _net_g(rng, alkali, draws) * alkali.hydroxide_fraction / (NAOH_PER_KOH if alkali.alkali == "naoh" else 1.0)
        for _, half_width in alkali.relative_half_widths:
            part *= 1.0 + _rectangle(rng, half_width, draws)
        net += part
    for acid in acids:
        part = _net_g(rng, acid, draws) * acid.strength_fraction * acid.acid_value / 1000.0
        for _, half_width in acid.relative_half_widths:
            part *= 1.0 + _rectangle(rng, half_width, draws)
        net -= part
    found: Draws = 1.0 - net / demand
    return found


def random_formula(seed: int, waxes: bool = False) -> Formula:
    """A formula of one to seven oils of the table as a shop could weigh it, some lots with a certificate."""
    chance = random.Random(seed)
    known = [oil for oil in oils().values() if waxes or oil.kind != "wax"]
    oils_g = 10.0 ** chance.uniform(2.7, 4.7)
    shares = [chance.random() ** 2 + 0.01 for _ in range(chance.randint(1, 7))]
    rows = []
    for share, oil in zip(shares, chance.sample(known, len(shares)), strict=True):
        used = saponification_used(oil)
        low, high, value = used.low, used.high, used.used
        if chance.random() < 0.3:
            value = chance.uniform(low, high)
            low, high = value * 0.99, value * 1.01
        mass_g = oils_g * share / math.fsum(shares)
        rows.append(OilAmount(oil.name, mass_g, value, low, high, *_scale(chance, mass_g)))
    acids = []
    if chance.random() < 0.3:
        name = chance.choice(list(ACIDS))
        mass_g = oils_g * chance.uniform(0.002, 0.02)
        acids.append(AcidAmount(name, mass_g, ACIDS[name], chance.choice([0.8, 0.9, 1.0]), (), *_scale(chance, mass_g)))
    wanted_g = math.fsum(oil.mass_g * oil.saponification_value for oil in rows) / 1000.0 * (1.0 - chance.uniform(0.0, 0.12))
    wanted_g += math.fsum(acid.mass_g * acid.strength_fraction * acid.acid_value for acid in acids) / 1000.0
    koh_share = chance.choice([0.0, 0.0, 0.0, 0.1, 1.0])
    alkalis = []
    for alkali, part_g in (("naoh", wanted_g * (1.0 - koh_share) * NAOH_PER_KOH), ("koh", wanted_g * koh_share)):
        if part_g > 0.0:
            fraction = chance.choice([0.985, 0.9, 0.33, 0.5]) if alkali == "naoh" else 0.9
            doubts = (("assay", 0.005 / fraction), ("carbonate", chance.choice([0.0, 0.002])))
            alkalis.append(
                AlkaliAmount(f"{alkali} lot", part_g / fraction, fraction, alkali, doubts, *_scale(chance, part_g / fraction))
            )
    return rows, alkalis, acids


def _scale(chance: random.Random, mass_g: float) -> tuple[float, float]:
    """Limit of error and division of a scale of some 500 to 10 000 divisions at this load."""
    division_g = 10.0 ** math.ceil(math.log10(mass_g / 10_000.0)) * chance.choice([0.2, 0.5, 1.0])
    return division_g * chance.choice([0.5, 1.0, 1.5]), division_g


def cover(draws: Draws, ends: Sequence[float]) -> float:
    """Share of the draws between two ends."""
    return float(np.mean((draws >= ends[0]) & (draws <= ends[1])))
