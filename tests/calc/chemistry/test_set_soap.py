"""Old soap in new batter: the superfat of the whole against balances counted by hand."""

import random

import pytest

from calc.chemistry.set_soap import SoapAmount, brought_koh_g, with_soaps
from calc.chemistry.superfat import AlkaliAmount, OilAmount, superfat_interval

R = 56.1056 / 39.9971  # molar masses, CIAAW 2021


def batter(superfat, oils_g=10_000.0, sv=190.0, half=6.0, strength=0.33):
    lye_g = (1.0 - superfat) * oils_g * sv / 1000.0 / R / strength
    oils = [OilAmount("olive", oils_g, sv, sv - half, sv + half)]
    return superfat_interval(oils, [AlkaliAmount("lye", lye_g, strength, "naoh")]), oils_g * sv / 1000.0


def soap(mass_g, superfat, *, half=0.0, per_g=0.13, wet=0.0):
    return SoapAmount("old", mass_g, per_g * (1.0 - wet), per_g * (1.0 + wet), superfat, superfat - half, superfat + half)


def test_the_whole_is_balanced_for_random_soaps():
    rng = random.Random(13)
    for _ in range(50):
        aim, sv = rng.uniform(0.0, 0.15), rng.uniform(150.0, 250.0)
        fresh, demand_g = batter(aim, sv=sv)
        lots = [soap(rng.uniform(1.0, 4000.0), rng.uniform(-0.05, 0.2), per_g=rng.uniform(0.08, 0.18)) for _ in range(rng.randint(1, 4))]
        # All alkali there is, in the lye and bound in the soaps, against all that the oils of both could take.
        alkali_g = (1.0 - aim) * demand_g + sum((1.0 - each.superfat_fraction) * each.mass_g * each.demand_low_koh_per_g for each in lots)
        oils_g = demand_g + sum(each.mass_g * each.demand_low_koh_per_g for each in lots)
        assert with_soaps(fresh, demand_g, lots).value == pytest.approx(1.0 - alkali_g / oils_g, abs=1e-5)


def test_soap_like_the_batter_changes_neither_the_value_nor_the_low_end():
    fresh, demand_g = batter(0.05)
    same = soap(1500.0, fresh.value, half=0.02)
    found = with_soaps(fresh, demand_g, [same])
    assert found.value == pytest.approx(fresh.value)
    # Its own low end, 3 %, is above the batter's: the low end stays that of batter whose soap gives it nothing.
    assert found.low == pytest.approx(fresh.low)


def test_fat_in_the_soap_never_lifts_the_low_end_and_free_alkali_always_lowers_it():
    rng = random.Random(131)
    for _ in range(50):
        fresh, demand_g = batter(rng.uniform(0.0, 0.1))
        value, half, mass_g = rng.uniform(-0.05, 0.2), rng.uniform(0.0, 0.04), rng.uniform(1.0, 5000.0)
        found = with_soaps(fresh, demand_g, [soap(mass_g, value, half=half, wet=0.1)])
        assert found.low <= fresh.low + 1e-12
        assert found.low <= found.value <= found.high
        leached = max(half - value, 0.0) * mass_g * 0.13 * 1.1 / demand_g
        assert found.low <= fresh.low - leached + 1e-12
        assert found.chance_of_excess >= fresh.chance_of_excess


def test_errors_of_both_go_together_so_soap_never_narrows_below_either():
    fresh, demand_g = batter(0.05)
    half = (fresh.high - fresh.low) / 2.0
    found = with_soaps(fresh, demand_g, [soap(2000.0, fresh.value, half=half)])
    assert found.half_width >= min(half, fresh.half_width) - 1e-9
    shares = sum(part.share_of_variance for part in found.contributions)
    assert shares == pytest.approx(1.0)
    assert ("old", "its own superfat") in {(part.name, part.what) for part in found.contributions}


def test_less_superfat_takes_off_lye_and_more_adds_none():
    # By hand: (5 % - 2 %) of 1000 g at 0.13 g KOH/g is 3.9 g KOH; soap of 8 % brings none.
    assert brought_koh_g([soap(1000.0, 0.02)], 0.05) == pytest.approx(3.9)
    assert brought_koh_g([soap(1000.0, 0.08)], 0.05) == 0.0
    assert brought_koh_g([soap(1000.0, 0.02), soap(1000.0, 0.08)], 0.05) == pytest.approx(3.9)


def test_without_soap_nothing_changes_and_without_oils_there_is_no_superfat():
    fresh, demand_g = batter(0.05)
    assert with_soaps(fresh, demand_g, []) is fresh
    with pytest.raises(ValueError, match="demand"):
        with_soaps(fresh, 0.0, [soap(1.0, 0.05)])
