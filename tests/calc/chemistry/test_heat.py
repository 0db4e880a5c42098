"""Mixing temperatures against an outside balance, published heat capacities and the library's own dilution.

Rows C9 to C15 are of physics_check_values.csv.
"""

import pytest

from calc.chemistry.heat import dilution_heat_kj, fat_heat_capacity, mix_temperature_c, naoh_lye_heat_capacity


# Row C13: CoolProp INCOMP::FoodFat (library).
@pytest.mark.parametrize(("at_c", "expected"), [(20.0, 2.0118), (40.0, 2.0355), (60.0, 2.0553)])
def test_heat_capacity_of_fat(at_c, expected):
    assert fat_heat_capacity(at_c) == pytest.approx(expected, abs=1e-4)


def test_heat_capacity_of_lye():
    # Row C12: absorptionlib dh/dT, mean of 25 to 100 °C for 33 %.
    assert naoh_lye_heat_capacity(0.33, 60.0) == pytest.approx(3.579, abs=0.05)
    # Between the table's rows: Laliberté and Cooper 2004 as in the library thermo, 25 % within 2 %.
    assert naoh_lye_heat_capacity(0.27, 25.0) == pytest.approx(3.633, abs=0.002)  # midpoint of 26 and 28 % by hand


def test_example_block_mixes_at_the_balance():
    # Row C14: cp 2.0310 and 3.576, derived by hand; the balance is the general one of two streams.
    by_hand = (34.98 * 2.0310 * 40.0 + 15.04 * 3.576 * 30.0) / (34.98 * 2.0310 + 15.04 * 3.576)
    found = mix_temperature_c(34_980.0, 40.0, 15_040.0, 30.0, 0.33)
    assert found == pytest.approx(35.69, abs=0.05)
    assert found == pytest.approx(by_hand, abs=0.05)
    # Row C15: oil for a 38 °C mix with lye at 30 °C.
    assert mix_temperature_c(34_980.0, 44.06, 15_040.0, 30.0, 0.33) == pytest.approx(38.0, abs=0.05)


def test_thinning_strong_lye_warms_it():
    # Row C9: 50 % to 33 % with water, all at 30 °C, ends at 62.6 °C (absorptionlib enthalpy), within 2 K.
    lye_g, water_g = 660.0, 340.0
    rise_k = 1000.0 * dilution_heat_kj(330.0, 0.50, 0.33) / (1000.0 * 3.577)
    assert 30.0 + rise_k == pytest.approx(62.6, abs=2.0)
    warmer = mix_temperature_c(2000.0, 30.0, lye_g, 30.0, 0.50, water_g)
    assert warmer > 30.0 + 10.0


@pytest.mark.parametrize("wrong", [(0.0, 40.0, 1.0, 30.0, 0.33), (1.0, 140.0, 1.0, 30.0, 0.33), (1.0, 40.0, 1.0, 30.0, 0.6)])
def test_outside_the_tables_is_refused(wrong):
    with pytest.raises(ValueError, match=r"must be|not at 60 %"):
        mix_temperature_c(*wrong)
