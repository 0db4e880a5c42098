"""Net quantity and the height of its letters, against 16 CFR 500.19 and 500.21 and the EU's heights of figures."""

import math
import random

import pytest

from calc.label.quantity import Panel, letters, net_quantity

OZ_G = 28.349523125  # NIST Handbook 44, Appendix C, exact
INCH_MM = 25.4


# What is printed for a weight, rounded down: worked by hand from the factors 28.3495 and 0.0352740 of 16 CFR 500.19(a).
@pytest.mark.parametrize(
    ("ounces", "printed"), [(3.5, "99 g"), (4.0, "113 g"), (4.5, "127 g"), (5.0, "141 g"), (16.0, "453 g")]
)
def test_grams_follow_from_ounces_rounded_down(ounces: float, printed: str) -> None:
    found = net_quantity(ounces * OZ_G, "oz")
    assert found.metric == printed
    assert found.inch_pound.startswith(f"{ounces:g} oz")


@pytest.mark.parametrize(
    ("grams", "printed"),
    [(100.0, "3.52 oz"), (110.0, "3.88 oz"), (113.0, "3.98 oz"), (120.0, "4.23 oz"), (125.0, "4.4 oz")],
)
def test_ounces_follow_from_grams_rounded_down(grams: float, printed: str) -> None:
    found = net_quantity(grams, "g")
    assert (found.metric, found.inch_pound) == (f"{grams:g} g", printed)


def test_neither_figure_says_more_than_there_is() -> None:
    chance = random.Random(19)
    for _ in range(2000):
        net_g = chance.uniform(5.0, 900.0)
        for leads in ("oz", "g"):
            found = net_quantity(net_g, leads)
            grams = float(found.metric.split()[0])
            ounces = float(found.inch_pound.split()[0])
            assert grams <= net_g + 1e-6 and ounces * OZ_G <= net_g * (1 + 2e-6)
            # Never more than a hundredth of an ounce and a gram off, or it would give soap away.
            assert net_g - grams < 1.3 and net_g - ounces * OZ_G < 0.3 + 1.0
            assert math.isclose(found.binding_g, max(grams, ounces * 28.3495))
    with pytest.raises(ValueError, match="gram"):
        net_quantity(0.5, "g")


def test_a_pound_is_told_in_pounds_too() -> None:
    assert net_quantity(16.0 * OZ_G, "oz").inch_pound == "16 oz (1 lb)"
    assert net_quantity(15.9 * OZ_G, "oz").inch_pound == "15.9 oz"


# 16 CFR 500.21: 1/16, 1/8, 3/16, 1/4 and 1/2 in; up to 5, 25, 100 and 400 square inches, and over.
@pytest.mark.parametrize(
    ("high_in", "wide_in", "sixteenths"), [(2.0, 2.5, 1), (2.0, 3.0, 2), (5.0, 5.0, 2), (5.1, 5.0, 3), (10.0, 10.0, 3), (10.0, 11.0, 4), (20.0, 20.0, 4), (20.0, 21.0, 8)]
)
def test_letters_by_the_area_of_the_front(high_in: float, wide_in: float, sixteenths: int) -> None:
    (found,) = letters(Panel("flat", high_in * INCH_MM, wide_in * INCH_MM), 100.0, ("us",))
    assert found.height_mm == pytest.approx(sixteenths / 16 * INCH_MM)


def test_of_a_round_pack_four_tenths_count() -> None:
    # Worked by hand: 2.5 in high, 9 in around; 0.4 x 22.5 = 9 square inches, so 1/8 in.
    panel = Panel("round", 2.5 * INCH_MM, 9.0 * INCH_MM)
    assert panel.area_in2 == pytest.approx(9.0)
    assert letters(panel, 100.0, ("us",))[0].height_mm == pytest.approx(INCH_MM / 8)
    assert Panel("other", 1.0, 1.0, 25.0 * INCH_MM**2).area_in2 == pytest.approx(10.0)


# Figures by the nominal quantity: 2, 3, 4 and 6 mm; up to 50, 200 and 1000 g, and over.
@pytest.mark.parametrize(("net_g", "height"), [(50.0, 2.0), (50.1, 3.0), (200.0, 3.0), (201.0, 4.0), (1000.0, 4.0), (1001.0, 6.0)])
def test_figures_by_the_quantity_in_the_european_union(net_g: float, height: float) -> None:
    assert [each.height_mm for each in letters(Panel("flat", 50.0, 50.0), net_g, ("eu",))] == [height]
