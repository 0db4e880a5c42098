"""Making lye against rows C of the check values, the sheet behind them, and what must hold for any vessel."""

import csv
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.chemistry.enthalpy import Part, end_temperature_c
from calc.shared import REFERENCE
from calc.tables.reference import constant
from calc.tanks.dissolving import MATERIALS, additions, material_bears_c, peak, usable_after
from calc.tanks.heating import tank_loss_w_per_k
from calc.tanks.spread import exactly

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}


def batch(strength: float, at_c: float, mass_g: float = 200_000.0) -> tuple[list[Part], Part]:
    return [Part(mass_g * (1.0 - strength), 0.0, at_c)], Part(mass_g * strength, 1.0, at_c, solid=True)


def test_the_peak_of_33_percent_is_the_sheets_range() -> None:
    # physics.md C: 33 % from 20 °C, 104 to 110 °C adiabatic; 104.3 with the older heat of solution. Boils at 120.5 (row C10).
    found = peak("naoh", *batch(0.33, 20.0))
    assert found.low_c == pytest.approx(104.3, abs=0.5) and found.high_c == pytest.approx(110.0, abs=0.5)
    assert found.boils_c == pytest.approx(120.5, abs=1.5) and not found.boils
    # Row C6: from 5 °C water it stays below 95 °C by the middle of the heat.
    assert end_temperature_c([*batch(0.33, 5.0)[0], batch(0.33, 5.0)[1]]) < 95.0


def test_very_strong_lye_from_warm_water_is_told_to_come_near_boiling() -> None:
    # naoh_thermal.csv: from 30 °C water 33 % ends at 117.2 °C, boiling at 120.5.
    found = peak("naoh", *batch(0.33, 34.0))
    assert found.boils


def test_thinning_bought_lye_is_hot_too() -> None:
    # Row C9: 50 % to 33 %, all at 30 °C, ends at 62.6 °C.
    found = peak("naoh", [Part(340.0, 0.0, 30.0)], Part(660.0, 0.50, 30.0))
    assert found.low_c is not None and found.high_c is not None
    assert found.low_c < float(CHECKS["C9"]["value"]) < found.high_c
    assert found.high_c - found.low_c < 4.0


def test_potash_has_a_bound_and_no_more() -> None:
    found = peak("koh", [Part(700.0, 0.0, 20.0)], Part(300.0, 1.0, 20.0, solid=True))
    assert found.low_c is None and found.high_c is not None and found.boils_c is None and not found.boils
    assert peak("koh", [Part(500.0, 0.0, 20.0)], Part(500.0, 1.0, 20.0, solid=True)) == (None, None, None)


def test_what_materials_bear_is_what_the_sheet_says() -> None:
    # safety_and_records.md A3: HDPE about 60, polypropylene about 80 (charts, memory), stainless cracks from 121 °C (read).
    assert [material_bears_c(each) for each in MATERIALS] == [80.0, 60.0, 121.0]


def test_a_tank_that_bears_less_than_the_peak_makes_the_lye_wait() -> None:
    start, flake = batch(0.33, 20.0)
    bare = additions(start, flake, 80.0, 20.0, 17.0)
    assert not bare.never and bare.cools_between
    assert max(portion.to_c for portion in bare.portions) <= 80.0 + 1e-6
    assert sum(portion.mass_g for portion in bare.portions) == pytest.approx(flake.mass_g)
    assert bare.takes_s is not None
    # By the sheet, C16: at 17 W/K from 107 to 40 °C takes 17.2 h; the heat of some 28 K over 80 °C leaves in less.
    assert 2.0 < bare.takes_s / 3600.0 < 17.2
    # Ten times the loss, and no more than a tenth of the waiting for it to cool.
    open_air = additions(start, flake, 80.0, 20.0, 170.0)
    assert open_air.takes_s is not None and open_air.takes_s < bare.takes_s / 2.0
    # Where nobody knows the vessel, nobody knows the waits; the temperatures stand.
    unknown = additions(start, flake, 80.0, 20.0, None)
    assert unknown.takes_s is None and max(portion.to_c for portion in unknown.portions) <= 80.0 + 1e-6


def test_the_waits_go_by_what_the_lye_and_its_vessel_lose() -> None:
    start, flake = batch(0.33, 20.0)
    found = additions(start, flake, 80.0, 20.0, 17.0)
    now = found.portions[-2]
    # Newton's law by hand: from as hot as the portion before left it to as cool as the next one wants it, 200 kg less the last portion
    # at about 3.55 kJ/(kg K) (33 %: 3.579, row C12).
    last = found.portions[-1]
    heat = (200_000.0 - last.mass_g) * 3.55
    hand_s = heat / 17.0 * math.log((now.to_c - 20.0) / (last.from_c - 20.0))
    assert last.wait_s == pytest.approx(hand_s, rel=0.05)
    # What must be waited for is never less than the lye needs to the gate that is told for it.
    assert last.from_c == pytest.approx(last.gate_c, abs=0.3)
    # A vessel's wall cools with it: 4 to 12 kJ/(m² K) of about 2 m² are 16 of 700 kJ/K.
    walled = additions(start, flake, 80.0, 20.0, 17.0, volume_ml=200_000.0).portions[-1]
    assert 1.0 < (walled.wait_s or 0.0) / (last.wait_s or 1.0) < 1.06


def test_a_vessel_that_bears_the_peak_waits_no_longer_than_between_any_two_portions() -> None:
    found = additions(*batch(0.33, 5.0), 121.0, 20.0, 17.0)
    assert not found.cools_between
    assert {portion.wait_s for portion in found.portions} == {0.0, constant("portion_wait_usual").value}


def test_a_room_as_warm_as_the_vessel_bears_lets_it_never_cool() -> None:
    found = additions(*batch(0.45, 35.0), 60.0, 52.0, 17.0)
    assert found.never and len(found.portions) < 10
    # Not even a first portion goes into water that is nearly as warm as the vessel bears.
    assert additions(*batch(0.33, 59.0), 60.0, 20.0, 17.0).never


def test_lye_cools_as_long_as_the_check_values_say() -> None:
    # Row C16: 200 kg of 33 % from 107 to 40 °C at 20 °C, UA 17, 3 and 1 W/K; the vessel's wall (4 to 12 kJ/m²K of some 2 m²)
    # takes about 2 % more, the middle of the heat capacity 3.58.
    for loss, hours in zip((17.0, 3.0, 1.0), CHECKS["C16"]["value"].split(" / "), strict=True):
        found = usable_after(200_000.0, 0.33, 107.0, 40.0, 20.0, exactly(loss), 200_000.0)
        assert found.used / 3600.0 == pytest.approx(float(hours), rel=0.03)


def test_insulation_never_makes_it_usable_sooner() -> None:
    times = [
        usable_after(200_000.0, 0.33, 80.0, 30.0, 20.0, tank_loss_w_per_k(150_000.0, 200_000.0, "polypropylene", lagging, thick), 200_000.0).used
        for lagging, thick in (("none", None), ("lagged", 20.0), ("lagged", 50.0))
    ]
    assert times == sorted(times)
    assert math.isinf(usable_after(200_000.0, 0.33, 80.0, 20.0, 30.0, exactly(10.0), 200_000.0).used)


@given(st.floats(0.10, 0.48), st.floats(5.0, 30.0), st.floats(60.0, 90.0), st.floats(5.0, 25.0), st.floats(1.0, 60.0))
def test_no_portion_passes_what_the_vessel_bears_and_all_of_it_goes_in(
    strength: float, at_c: float, most_c: float, room_c: float, loss: float
) -> None:
    start, flake = batch(strength, at_c, 50_000.0)
    found = additions(start, flake, most_c, room_c, loss)
    assert all(portion.to_c <= most_c + 1e-6 for portion in found.portions)
    if not found.never:
        assert sum(portion.mass_g for portion in found.portions) == pytest.approx(flake.mass_g)
        assert all(portion.wait_s is not None and math.isfinite(portion.wait_s) for portion in found.portions)
