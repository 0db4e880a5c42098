"""Stand-ins for an oil: against every blend of two oils in whole percents, and their figures reckoned by hand."""

import math
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.formula.stand_in import BEST, MOST_CHANGES, is_comparable, points_per_value, profile, shelf_of, stand_ins
from calc.tables.reference import fatty_acid_names, oils
from calc.workshop.lots import OilLot

KNOWN = sorted(key for key, oil in oils().items() if is_comparable(oil))
PROFILES = {key: profile(oils()[key]) for key in KNOWN}
MARSH = {"olive": Fraction(45), "palm": Fraction(30), "coconut": Fraction(25)}


def blend(shares):
    """The figures of a blend [points of fatty acid], oil by oil."""
    rows = [[float(share) / 100.0 * figure for figure in PROFILES[oil]] for oil, share in shares.items()]
    return [math.fsum(column) for column in zip(*rows, strict=True)]


def apart(shares, others):
    return math.dist(blend(shares), blend(others))


def after(shares, way, missing, kept):
    return {**shares, missing: kept, **{each.oil: each.after for each in way.changes}}


@st.composite
def lacking(draw):
    """A formula in whole percents that lacks one of its oils, whole or in part, and a shelf with or without amounts."""
    own = draw(st.lists(st.sampled_from(KNOWN), min_size=2, max_size=4, unique=True))
    cuts = sorted(draw(st.lists(st.integers(1, 99), min_size=len(own) - 1, max_size=len(own) - 1, unique=True)))
    shares = {oil: Fraction(b - a) for oil, a, b in zip(own, [0, *cuts], [*cuts, 100], strict=True)}
    missing = own[0]
    kept = Fraction(draw(st.integers(0, int(shares[missing]) - 1)))
    others = draw(st.lists(st.sampled_from(KNOWN), min_size=1, max_size=4, unique=True))
    here = sorted({*others, *own[1:]} - {missing})
    most = {oil: Fraction(draw(st.integers(0, 400)), 4) for oil in here if draw(st.booleans())}
    return shares, missing, kept, {oil: PROFILES[oil] for oil in (*here, missing)}, most


def every_way(shares, missing, kept, profiles, most):
    """Distances of all ways by brute force: for one oil and for each pair, every whole percent."""
    gone = shares[missing] - kept
    best = {}
    free = sorted(profiles.keys() - {missing})
    for number in (1, 2):
        for pair in combinations(free, number):
            before = [shares.get(oil, Fraction(0)) for oil in pair]
            total = sum(before, gone)
            firsts = range(int(total) + 1) if number == 2 else [int(total)]
            for first in firsts:
                parts = [Fraction(first)] if number == 1 else [Fraction(first), total - first]
                if all(part <= most.get(oil, 100) for oil, part in zip(pair, parts, strict=True)) and all(
                    part != old for part, old in zip(parts, before, strict=True)
                ):
                    found = apart(shares, {**shares, missing: kept, **dict(zip(pair, parts, strict=True))})
                    best[pair] = min(best.get(pair, math.inf), found)
    return best


@settings(max_examples=60, deadline=None)
@given(lacking())
def test_the_best_three_are_the_best_of_every_pair_in_whole_percents(problem):
    shares, missing, kept, _profiles, most = problem
    ways = stand_ins(*problem)
    for way in ways:
        new = after(shares, way, missing, kept)
        assert sum(new.values()) == 100
        assert 1 <= len(way.changes) <= MOST_CHANGES
        for each in way.changes:
            assert 0 <= each.after <= most.get(each.oil, 100) and each.oil != missing
            assert each.after != each.before == shares.get(each.oil, 0)
        assert way.apart == pytest.approx(apart(shares, new), abs=1e-9)
    brute = every_way(*problem)
    # A pair whose nearest point leaves one of the two as it was is the other one alone; the rest are the pairs' own best.
    by_pair = {tuple(sorted(each.oil for each in way.changes)): way.apart for way in ways}
    assert all(by_pair[pair] == pytest.approx(brute[pair], abs=1e-9) for pair in by_pair)
    told, best = [way.apart for way in ways[:BEST]], sorted(brute.values())[:BEST]
    assert told[:1] == pytest.approx(best[:1], abs=1e-9)
    for pair, distance in brute.items():
        if pair not in by_pair and len(ways) >= BEST:
            # It is left out because one of its oils alone, or what is told, is as near.
            alone = [way.apart for key, way in zip(by_pair, ways, strict=True) if set(key) < set(pair)]
            assert alone and min(alone) <= distance + 1e-9


def test_palm_out_is_told_by_tallow_first_where_tallow_is_there():
    ways = stand_ins(MARSH, "palm", Fraction(0), {key: PROFILES[key] for key in ("palm", "olive", "coconut", "tallow", "palm_kernel")}, {})
    assert ways[0].changes[0].oil == "tallow"
    # With 20 kg of tallow for 100 kg of oils no more than 20 % of it.
    ways = stand_ins(MARSH, "palm", Fraction(0), {key: PROFILES[key] for key in ("palm", "olive", "tallow", "lard")}, {"tallow": Fraction(20)})
    assert all(each.after <= 20 for way in ways for each in way.changes if each.oil == "tallow")


def test_shares_that_are_no_whole_percents_keep_their_sum():
    third = Fraction(100, 3)
    shares = {"olive": third, "palm": third, "coconut": third}
    for way in stand_ins(shares, "palm", Fraction(0), {key: PROFILES[key] for key in ("palm", "olive", "tallow", "lard")}, {}):
        assert sum(after(shares, way, "palm", Fraction(0)).values()) == 100
        whole = [each.after.denominator == 1 for each in way.changes]
        assert any(whole) or len(whole) == 1


def test_points_of_fatty_acid_are_those_of_pure_fats():
    # Triolein: iodine value 86.0 (AOCS Cd 1c-85, from memory); trilaurin and tripalmitin: saponification values 263.5 and 208.5
    # (from molar masses 639.0 and 807.3 g/mol: 3·56105.3/M).
    per_iodine, per_saponification = points_per_value()
    assert per_iodine == pytest.approx(100.0 / 86.0, rel=1e-3)
    assert per_saponification == pytest.approx(100.0 / (3 * 56105.3 / 639.0 - 3 * 56105.3 / 807.3), rel=2e-3)


def test_a_profile_holds_acids_in_points_and_adds_up_by_mass():
    olive = dict(zip(fatty_acid_names(), PROFILES["olive"], strict=False))
    assert sum(olive.values()) == pytest.approx(100.0)
    # Codex CXS 33: oleic acid of olive oil 55 to 83 %.
    assert 55.0 <= olive["C18:1"] <= 83.0


def test_waxes_and_acids_are_compared_with_nothing():
    assert not {"beeswax", "jojoba", "lanolin", "stearic_acid_50"} & set(KNOWN)


def lot(code, oil, left_g):
    return OilLot(code=code, oil=oil, in_use="no", left_g=left_g)


def test_the_shelf_sums_lots_and_leaves_out_empty_ones():
    shelf = shelf_of([lot("A", "olive", 5000.0), lot("B", "olive", 2500.0), lot("C", "palm", 0.0), lot("D", "tallow", None), lot("E", "tallow", 100.0)])
    assert shelf["olive"].left_g == 7500.0 and shelf["olive"].lots == ("A", "B")
    assert "palm" not in shelf
    assert shelf["tallow"].left_g is None
