"""A tank as its form reads it."""

import pytest

from calc.entry.fields import check, read
from calc.entry.problems import InputProblems
from calc.workshop.tanks import Tank

LYE = {
    "name": "Lye tank", "holds": "lye", "volume_ml": "200", "volume_ml.unit": "l", "dead_ml": "5", "dead_ml.unit": "l",
    "material": "polypropylene", "lagging": "none",
}  # fmt: skip


def test_liters_and_gallons_are_read_as_milliliters():
    assert (read(Tank, LYE).value.volume_ml, read(Tank, LYE).value.dead_ml) == (200_000.0, 5_000.0)
    # A US gallon is 3.785411784 l (NIST Handbook 44, Appendix C).
    gallons = LYE | {"volume_ml": "50", "volume_ml.unit": "gal"}
    assert read(Tank, gallons).value.volume_ml == pytest.approx(50 * 3785.411784)


def test_a_tank_has_neither_heater_nor_timer_where_none_is_named():
    tank = read(Tank, LYE).value
    assert (tank.heater_w, tank.thermostat, tank.timer, tank.lagging_mm) == (None, None, None, None)


@pytest.mark.parametrize("dead", ["200", "250"])
def test_a_tank_that_gives_nothing_is_told(dead: str):
    with pytest.raises(InputProblems, match="as much as the whole tank"):
        check(read(Tank, LYE | {"dead_ml": dead}).value)


def test_what_lye_eats_is_not_offered():
    # Aluminum and zinc give hydrogen with caustic (shared/reference/safety_and_records.md, A3).
    with pytest.raises(InputProblems):
        read(Tank, LYE | {"material": "aluminum"})
