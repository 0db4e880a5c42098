"""How long lye waits that nobody can read: against the cooling of a drum reckoned apart, and what must hold for any vessel."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.chemistry.enthalpy import Part
from calc.tables.reference import constant
from calc.tanks.dissolving import additions
from calc.tanks.heating import tank_loss_w_per_k
from calc.tanks.spread import exactly
from calc.tanks.unread import unread_waits_s

ROOM_C = 20.0


def waits(water_g, lye_g, caustic_g, most_c, loss, *, solid=True):
    start = [Part(lye_g, 0.33, 25.0), Part(water_g, 0.0, ROOM_C)]
    added = Part(caustic_g, 0.98 if solid else 0.50, ROOM_C, solid)
    planned = additions(start, added, most_c, ROOM_C, loss.used)
    return planned, unread_waits_s(start, added, most_c, planned, loss, 200_000.0)


def test_it_waits_as_long_as_a_drum_takes_from_what_it_bears_to_what_its_portion_may_find():
    loss = exactly(10.0)
    planned, found = waits(15_920.0, 68_000.0, 7_960.0, 80.0, loss)
    assert found[0] is None and len(found) == len(planned.portions) == 2
    # By hand: tau = m·cp / UA with 87.9 kg, 3.614 kJ/(kg K) for lye of 30 % at 80 °C (naoh_thermal.csv) and 2 % more, and the wall of
    # 200 L (0.2 to the 2/3 are 0.342) by its rows; from 80 °C to the gate in a room of 27 °C (25, and 2 that it may move).
    wall = 1000.0 * constant("tank_wall_heat_high").value * constant("tank_surface_high").value * 0.342
    tau_s = (87_900 * 3.614 * 1.02 + wall) / 10.0
    wanted_s = tau_s * math.log((80.0 - 27.0) / (planned.portions[1].gate_c - 27.0))
    assert found[1] == pytest.approx(wanted_s, rel=0.01)


def test_the_first_portions_into_cold_water_need_no_more_than_the_wait_that_each_has():
    planned, found = waits(60_000.0, 0.0, 30_000.0, 80.0, tank_loss_w_per_k(70_000.0, 200_000.0, "polypropylene", "none"))
    # Water of 30 °C and two portions of 15 K at most end below 60 °C: 66 °C is what the third may find. Five minutes: common practice.
    assert found[:3] == (None, 300.0, 300.0)
    assert all(wait is not None and wait > 3600.0 for wait in found[4:])
    # At its slowest it never waits shorter than the plan does, which reckons with the usual.
    assert all(wait >= portion.wait_s for wait, portion in zip(found[1:], planned.portions[1:], strict=True))


def test_lye_that_was_there_or_was_bought_may_be_as_warm_as_the_vessel_bears():
    loss = tank_loss_w_per_k(90_000.0, 200_000.0, "polypropylene", "none")
    cold, warm = waits(60_000.0, 0.0, 8_000.0, 80.0, loss)[1], waits(50_000.0, 10_000.0, 8_000.0, 80.0, loss)[1]
    assert cold[1] == 300.0 and warm[1] > 3600.0
    planned, bought = waits(40_000.0, 0.0, 80_000.0, 60.0, loss, solid=False)
    # Forty kilograms of cold water, and the second ten of bought lye: 30 °C of water could not come to 60, which is what it counts as.
    assert len(planned.portions) > 1 and bought[1] > 3600.0


def test_in_a_room_that_is_too_warm_no_time_is_told():
    """A vessel that bears 35 °C: its portions have to find lye of about 25 °C, and a warm room is no cooler."""
    start, added = [Part(60_000.0, 0.0, 5.0)], Part(12_000.0, 0.98, 5.0, True)
    planned = additions(start, added, 35.0, 5.0, 10.0)
    assert len(planned.portions) > 1
    assert unread_waits_s(start, added, 35.0, planned, exactly(10.0), 200_000.0)[-1] is None


@given(st.floats(20_000.0, 150_000.0), st.floats(0.05, 0.5), st.floats(55.0, 90.0), st.floats(1.0, 20.0), st.floats(1.0, 3.0))
def test_a_tank_that_loses_less_never_waits_shorter(water_g, share, most_c, loss, less):
    start, added = [Part(water_g, 0.0, ROOM_C)], Part(share * water_g, 0.98, ROOM_C, True)
    planned = additions(start, added, most_c, ROOM_C, loss)
    slow, quick = (unread_waits_s(start, added, most_c, planned, exactly(each), 300_000.0) for each in (loss / less, loss))
    assert all(a is None or (b is not None and a >= b - 1e-6) for a, b in zip(slow, quick, strict=True))
    assert [wait for wait in slow if wait is not None and wait < 300.0] == []
