"""Where another source finds more: each such row told, and what it would let in, by hand from the rows."""

import csv
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scents import analysis, lot, mixed, oil

from calc.scent.limits import scent_limits
from calc.scent.material import Part
from calc.scent.sources import as_recalled, cautious, higher
from calc.shared import REFERENCE
from calc.tables.fragrance import essential_oils

ROWS = REFERENCE / "essential_oil_constituents.csv"


# Figures of essential_oil_constituents.csv, in per cent: the rows not summed, and the sum of the rows that are.
@pytest.mark.parametrize(
    ("key", "names", "more", "counted"),
    [
        ("anise", "anisaldehyde", 1.4, 0.43),
        ("anise", "estragole", 5.0, 2.39),
        ("fennel_bitter", "anisaldehyde", 2.0, 0.3),
        ("citronella_java", "citronellol", 15.0, 11.0),
        ("citronella_ceylon", "citronellal", 7.0, 4.5),  # states a minimum alone
        ("cinnamon_leaf", "cinnamal", 3.0, 1.5),
        ("sweet_orange", "geranial, neral", 0.2 + 0.1, 0.15),
        ("lemon", "neral, geranial", 1.5 + 2.3, 3.5),
        ("lemongrass_east_indian", "geranial, neral", 47.0 + 35.0, 41.42 + 30.54),
        ("geranium", "citronellol, total by the older chemical method", 58.0, 21.1),
        ("peppermint", "carvone", 1.0, 0.1),
        ("sage_dalmatian", "alpha-thujone, beta-thujone", 43.0 + 8.5, 25.0 + 8.0),
    ],
)
def test_a_source_that_gives_more_is_told(key, names, more, counted):
    told = [(each.high_fraction, each.counted_fraction) for each in higher(oil(key)) if ", ".join(each.names) == names]
    assert (pytest.approx(more / 100.0), pytest.approx(counted / 100.0)) in told


def test_no_row_that_gives_more_goes_untold():
    with ROWS.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    told = {key: {name for each in higher(oil(key)) for name in each.names} for key in essential_oils()}
    missing = []
    for row in rows:
        stated = row["max_percent"] or row["min_percent"]
        if row["use_in_sum"] != "no" or not stated:
            continue
        of_it = [
            float(each["max_percent"] or 100.0)
            for each in rows
            if (each["oil_key"], each["use_in_sum"]) == (row["oil_key"], "yes")
            and (each["limit_key"] == row["limit_key"] if row["limit_key"] else each["cas"] == row["cas"])
        ]
        if float(stated) > math.fsum(of_it) + 1e-9 and row["constituent"] not in told[row["oil_key"]]:
            missing.append((row["oil_key"], row["constituent"]))
    assert missing == []


def test_the_highest_source_read_is_the_headline_and_the_laxer_stands_beside_it():
    # Clove bud 40 %: methyl eugenol up to 0.13 % of the oil (EFSA Journal 2023, 21(7), 8183), 0.052 % of the scent: EU
    # 0.001/0.00052 = 1.923 %, IFRA 0.0017/0.00052 = 3.269 %. By the IFRA annex, 0.10 %, 2.5 and 4.25 %.
    both, ifra = (scent_limits(mixed(clove_bud=0.4, sweet_orange=0.6), rules) for rules in ("both", "ifra"))
    assert (both.binding.load_fraction, both.laxer.load_fraction) == (pytest.approx(0.01923, abs=1e-5), pytest.approx(0.025))
    assert (ifra.binding.load_fraction, ifra.laxer.load_fraction) == (pytest.approx(0.03269, abs=1e-5), pytest.approx(0.0425))
    # Clove bud alone: 0.001/0.0013 = 0.769 %, by the annex 1 %.
    clove = scent_limits(mixed(clove_bud=1.0))
    assert (clove.binding.load_fraction, clove.laxer.load_fraction) == (pytest.approx(0.00769, abs=1e-5), pytest.approx(0.01))
    # May Chang: citral 45 + 35 = 80 % (Commission Implementing Regulation (EU) 2022/593) against the annex's 69 %;
    # IFRA_STD_021 1.2 %: 1.5 and 1.739 %.
    litsea = scent_limits(mixed(litsea_cubeba=1.0), "ifra")
    assert (litsea.binding.load_fraction, litsea.laxer.load_fraction) == (pytest.approx(0.015), pytest.approx(0.01739, abs=1e-5))


def test_what_is_recalled_against_the_annex_changes_no_limit():
    # Anise: estragole 2.39 % by the annex, IFRA_STD_099 0.0041 %: 0.1715 %; up to 5 % is recalled.
    anise = scent_limits(mixed(anise=1.0), "ifra")
    assert (anise.binding.load_fraction, anise.asked) == (pytest.approx(0.001715, abs=1e-6), None)


def test_what_is_recalled_and_stands_nowhere_else_is_asked():
    # Jasmine sambac absolute: methyl salicylate up to 3 % is recalled, nothing was read; EU 0.06 %: 2 % of the bar.
    held = of_lot_without("jasmine_sambac_absolute", "methyl_salicylate")
    asked = scent_limits([Part(held, 1.0)], "eu").asked
    assert (asked.what, asked.load_fraction, asked.from_memory) == ("methyl salicylate", pytest.approx(0.02), True)


def of_lot_without(key, *kept):
    """The oil with what is recalled of these keys alone."""
    whole = oil(key)
    return replace(whole, contents=tuple(c for c in whole.contents if c.limit_key in kept and c.recalled))


def test_an_analysis_settles_it():
    clove = lot(material="essential", essential_oil="clove_bud", analysis=analysis(methyl_eugenol=0.001))
    limits = scent_limits([Part(clove, 1.0)])
    # 0.001/0.001 = 1 % of the bar.
    assert (limits.binding.load_fraction, limits.laxer, limits.asked) == (pytest.approx(0.01), None, None)


@given(st.sampled_from(sorted(essential_oils())), st.sampled_from(["both", "eu", "ifra"]))
def test_a_higher_source_never_lets_in_more(key, rules):
    steps = (oil(key), cautious(oil(key)), as_recalled(cautious(oil(key))))
    first, second, third = (found for material in steps for found in [_first_load(material, rules)])
    assert third <= second * (1.0 + 1e-9) <= first * (1.0 + 1e-9) ** 2


def _first_load(material, rules):
    """The tightest bound of what is counted in a material, by the rules alone."""
    counted = replace(material, contents=material.counted)
    binding = scent_limits([Part(counted, 1.0)], rules).binding
    return math.inf if binding is None else binding.load_fraction
