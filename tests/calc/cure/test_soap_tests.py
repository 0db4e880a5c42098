"""Free alkali and moisture by the published arithmetic of the methods."""

import pytest

from calc.cure.soap_tests import free_caustic, moisture_fraction, total_free_alkali


def test_free_caustic_alkali():
    # Physics sheet, G1: 1.25 mL of 0.1002 mol/L, 5.02 g: 0.0998 % NaOH, 0.1400 % KOH (V c M / (10 m)).
    assert free_caustic(1.25, 0.1002, 5.02, "naoh").fraction == pytest.approx(0.000998, abs=5e-7)
    assert free_caustic(1.25, 0.1002, 5.02, "koh").fraction == pytest.approx(0.001400, abs=5e-7)


def test_the_figure_of_a_handbook_of_1908():
    # Simmons and Appleton, Handbook of Soap Manufacture (1908): 2 g of soap, N/10 acid, mL x 0.0031 x 50 = % Na2O; 1 mL is 0.2000 % NaOH.
    assert free_caustic(1.0, 0.1, 2.0, "naoh").fraction == pytest.approx(0.155 / 100 * 2 * 39.997 / 61.979, abs=2e-6)


def test_total_free_alkali_by_back_titration():
    # Physics sheet, G3: 10 mL of 0.1 acid, 8.35 mL of 0.1 back, 5.02 g: 0.1315 % NaOH.
    assert total_free_alkali(10, 0.1, 8.35, 0.1, 5.02, "naoh").fraction == pytest.approx(0.001315, abs=5e-7)
    assert total_free_alkali(10, 0.1, 10.5, 0.1, 5.02, "naoh").fraction < 0


def test_a_drop_tells_four_thousandths_of_a_per_cent():
    # Physics sheet, G: a drop of 0.05 mL of 0.1 mol/L in 5 g is 0.004 %.
    assert free_caustic(1, 0.1, 5, "naoh").drop_fraction == pytest.approx(0.00004, abs=2e-7)


def test_moisture():
    # Physics sheet, G5 (ISO 672): 10.012 g to 8.651 g is 13.594 %.
    assert moisture_fraction(10.012, 8.651) == pytest.approx(0.13594, abs=5e-6)
