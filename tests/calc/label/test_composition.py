"""The two lists of ingredients: what they weigh, and what stoichiometry makes of oils and lye."""

import math
import random

import pytest

from calc.label.composition import ExtraAdded, Mixture, OilAdded, as_added, in_bar

# Molar masses by the CIAAW's atomic weights, rounded: as 1 triglyceride + 3 hydroxide -> 3 soap + 1 glycerol asks.
NAOH, KOH, GLYCEROL, WATER = 39.997, 56.106, 92.094, 18.015


def by_chance(chance: random.Random) -> Mixture:
    oils = []
    for n in range(chance.randint(1, 6)):
        kind = chance.choice(["triglyceride", "triglyceride", "triglyceride", "wax", "free_acid"])
        mass_g = chance.uniform(10.0, 900.0)
        oils.append(OilAdded(f"oil{n}", f"Oil {n}", mass_g, mass_g * chance.uniform(90.0, 265.0) / 1000.0, kind))
    extras = []
    if chance.random() < 0.5:
        # Citric acid: 192.124 g/mol, three groups.
        mass_g = chance.uniform(1.0, 30.0)
        extras.append(ExtraAdded("citric_anhydrous", "Citric acid", mass_g, mass_g, mass_g * 3.0 * KOH / 192.124))
    if chance.random() < 0.5:
        extras.append(ExtraAdded("clay", "Clay", chance.uniform(1.0, 40.0)))
    taken = math.fsum(oil.demand_koh_g for oil in oils) * chance.uniform(0.8, 1.02) + sum(e.takes_koh_g for e in extras)
    potash = chance.choice([0.0, 0.0, 1.0, chance.random()])
    return Mixture(tuple(oils), (1.0 - potash) * taken * NAOH / KOH, potash * taken, chance.uniform(100.0, 700.0), tuple(extras), chance.choice([0.0, 25.0]))


@pytest.mark.parametrize("seed", range(200))
def test_nothing_is_lost_but_water(seed: int) -> None:
    chance = random.Random(seed)
    mixture = by_chance(chance)
    lost = chance.uniform(0.0, 0.3)
    bar = in_bar(mixture, lost)
    added_g = math.fsum(each.mass_g for each in as_added(mixture))
    assert added_g == pytest.approx(mixture.total_g, rel=1e-12)
    assert bar.total_g + bar.lost_g == pytest.approx(added_g, rel=1e-9)
    assert all(each.mass_g > 0.0 for each in bar.ingredients)
    assert bar.lost_g <= lost * added_g + 1e-9
    # The water by its own reckoning: what was poured, and one molecule for each that an acid takes.
    supplied = mixture.naoh_g * KOH / NAOH + mixture.koh_g
    acids = sum(e.takes_koh_g for e in mixture.extras)
    demand = sum(oil.demand_koh_g for oil in mixture.oils)
    taken = min((supplied - acids) / demand, 1.0)
    free = taken * sum(oil.demand_koh_g for oil in mixture.oils if oil.kind == "free_acid")
    made = (acids + free) / KOH * WATER
    assert bar.water_g + bar.lost_g == pytest.approx(mixture.water_g + made, rel=2e-4)
    # Glycerin: 0.5471 of the potash, or 0.7675 of the soda, that triglycerides took.
    used = taken * sum(oil.demand_koh_g for oil in mixture.oils if oil.kind == "triglyceride")
    glycerin = sum(each.mass_g for each in bar.ingredients if each.key == "glycerin")
    assert glycerin == pytest.approx(0.5471 * used, rel=2e-4, abs=1e-6)


def test_a_hundred_grams_of_soda_set_free_glycerin() -> None:
    # 0.7675 of the NaOH consumed: 100 g give 76.75 g.
    oil = OilAdded("olive", "Olive oil", 750.0, 100.0 * KOH / NAOH, "triglyceride")
    bar = in_bar(Mixture((oil,), 100.0, 0.0, 200.0, (), 0.0), 0.0)
    held = {(each.key, each.kind): each.mass_g for each in bar.ingredients}
    assert held["glycerin", "raw"] == pytest.approx(76.75, abs=0.01)
    # Soap = oil saponified + alkali consumed - glycerol formed.
    assert held["olive", "sodium_salt"] == pytest.approx(750.0 + 100.0 - 76.75, abs=0.02)
    # All of it has reacted: neither oil nor soda is left, but for how the masses above are rounded.
    assert held.get(("caustic_soda", "raw"), 0.0) < 0.02 and held.get(("olive", "raw"), 0.0) < 0.02


def test_the_two_lists_are_of_different_things() -> None:
    oil = OilAdded("olive", "Olive oil", 1000.0, 190.0, "triglyceride")
    mixture = Mixture((oil,), 0.94 * 190.0 * NAOH / KOH, 0.0, 270.0, (), 20.0)
    added = {(each.key, each.kind) for each in as_added(mixture)}
    bar = in_bar(mixture, 0.1)
    held = {(each.key, each.kind): each.mass_g for each in bar.ingredients}
    assert added == {("olive", "raw"), ("water", "raw"), ("caustic_soda", "raw"), ("fragrance", "raw")}
    # Superfat of 6 %: so much of the oil stays oil.
    assert held["olive", "raw"] == pytest.approx(60.0, rel=1e-3)
    assert ("olive", "sodium_salt") in held and ("caustic_soda", "raw") not in held
    assert bar.salts_of_solids_fraction > 0.75
    with pytest.raises(ValueError, match="loses"):
        in_bar(mixture, 1.0)
