"""The set block and what its bars weigh, against the worked example of the reference."""

import math
from dataclasses import replace

import pytest
from scipy import stats
from workshops import EXAMPLE, EXAMPLE_LOTS, SHOP

from calc.cut.block import Soap, Spread, batter_g_per_ml, fresh_bar_g, remembered, set_block, soap_of, sold_bar_g
from calc.tables.reference import oils


def known(set_density: float = 1.04, loss: float = 0.12) -> Soap:
    return Soap(1.008, Spread(set_density, set_density, set_density), Spread(loss, loss, loss))


def test_a_block_weighs_what_its_batter_weighed() -> None:
    # Physics E2 and F: 50.02 kg of batter at 1.008 kg/L fill 49.6 L; set at 1.04 they are 48.1 L.
    soap = known()
    block = set_block(600.0, 400.0, 50.02 / 1.008 / 0.24, soap, soap.sinks_fraction(1.04))
    assert block.volume_ml / 1000.0 == pytest.approx(48.1, abs=0.05)
    assert block.mass_g(block.volume_ml) == pytest.approx(50_020.0)


def test_without_a_formula_or_with_light_soap_nothing_sinks() -> None:
    assert replace(known(), batter_g_per_ml=None).sinks_fraction(1.04) == 0.0
    assert known().sinks_fraction(1.0) == 0.0


def test_batter_is_as_dense_as_its_parts_by_ideal_mixing() -> None:
    # Physics E2: olive, palm and coconut 45, 30, 25 with 33 % lye at 38 °C are 1.008 kg/L, all oils taken at 0.9097; the
    # middles of their published ranges are up to 0.7 % lighter.
    assert batter_g_per_ml(EXAMPLE, oils(), EXAMPLE_LOTS) == pytest.approx(1.008, abs=0.006)


def test_a_bar_of_the_check_values_and_its_range() -> None:
    # Row F2: 25 x 90 x 60 mm at 1.04 is 140.4 g. By hand, wires half a millimetre off (common practice, no source):
    # 24.5 x 89.5 x 59.5 and 25.5 x 90.5 x 60.5 mm.
    fresh = fresh_bar_g((25.0, 90.0, 60.0), (True, True, True), known())
    assert fresh.used == pytest.approx(140.4)
    assert (fresh.low, fresh.high) == pytest.approx((24.5 * 89.5 * 59.5 * 1.04e-3, 25.5 * 90.5 * 60.5 * 1.04e-3))
    # A height that no wire cuts is off as the level of the fill is: 2 mm.
    slab = fresh_bar_g((25.0, 90.0, 60.0), (True, True, False), known())
    assert slab.high == pytest.approx(25.5 * 90.5 * 62.0 * 1.04e-3)


def test_a_bar_at_sale_is_lighter_by_the_loss() -> None:
    # Physics F: 100 g at 12 % loss is 113.6 g fresh.
    assert sold_bar_g(Spread(113.6, 113.6, 113.6), known()).used == pytest.approx(100.0, abs=0.05)
    unsure = replace(known(), loss_fraction=Spread(0.05, 0.125, 0.2))
    assert sold_bar_g(Spread(90.0, 100.0, 110.0), unsure) == pytest.approx((72.0, 87.5, 104.5))


def test_what_nobody_measured_stands_between_the_usual_ends() -> None:
    # Rows of constants.csv, common practice: 1.0 to 1.1 g/ml, 5 to 20 %.
    soap = soap_of(replace(SHOP, set_density_g_per_ml=None, cure_loss_fraction=None), None)
    assert soap.set_g_per_ml == pytest.approx((1.0, 1.05, 1.1)) and soap.loss_fraction == pytest.approx((0.05, 0.125, 0.2))
    assert not soap.set_g_per_ml.sure and not soap.loss_fraction.sure
    said = soap_of(replace(SHOP, set_density_g_per_ml=1.03, cure_loss_fraction=0.1), None, 0.14)
    assert said.set_g_per_ml == (1.03, 1.03, 1.03) and said.loss_fraction == (0.14, 0.14, 0.14)


def test_densities_are_remembered_with_their_spread() -> None:
    assert remembered([]) is None
    alone = remembered([1.03])
    assert alone is not None and alone.spread_g_per_ml is None
    # By hand: the mean of 1.02, 1.04 and 1.06 is 1.04, and their sample deviation is sqrt(0.0008 / 2) = 0.02.
    found = remembered([1.02, 1.04, 1.06])
    assert found is not None
    assert (found.mean_g_per_ml, found.spread_g_per_ml, found.blocks) == (pytest.approx(1.04), pytest.approx(0.02), 3)
    # A bar as light as cork or as heavy as brick is a slip of the keypad, no soap.
    assert remembered([1.02, 0.104, 1.04, 10.4, 1.06]) == found


def test_from_three_blocks_on_a_formula_is_counted_by_its_own_soap() -> None:
    # Row own_blocks_least of constants.csv, common practice: three.
    assert soap_of(SHOP, None, own=remembered([1.02, 1.04])) == soap_of(SHOP, None)
    found = soap_of(SHOP, None, own=remembered([1.02, 1.04, 1.06]))
    # Student's t of SciPy for nine in ten of further blocks: 1.04 ± t * 0.02 * sqrt(1 + 1/3).
    off = stats.t.ppf(0.95, 2) * 0.02 * math.sqrt(1.0 + 1.0 / 3.0)
    assert found.set_g_per_ml == pytest.approx((1.04 - off, 1.04, 1.04 + off), abs=1e-6) and found.own_blocks == 3
    # Nine more alike narrow it, whatever the workshop states for all its soap.
    more = soap_of(replace(SHOP, set_density_g_per_ml=1.09), None, own=remembered([1.02, 1.04, 1.06] * 4))
    assert more.set_g_per_ml.used == pytest.approx(1.04) and more.own_blocks == 12
    assert more.set_g_per_ml.high - more.set_g_per_ml.low < 0.55 * 2.0 * off


@pytest.mark.parametrize("sizes", [(0.0, 400.0, 200.0, 0.0), (600.0, 400.0, -1.0, 0.0), (600.0, 400.0, 200.0, 1.0), (600.0, 400.0, 200.0, -0.1)])
def test_impossible_blocks_are_refused(sizes: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="above zero"):
        set_block(*sizes[:3], known(), sizes[3])
