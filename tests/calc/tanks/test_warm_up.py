"""How long a tank of a day takes to be warm, against the lumped equation reckoned anew here."""

import math
from datetime import datetime, timedelta

import pytest

from calc.chemistry.heat import fat_heat_capacity
from calc.entry.problems import InputProblems
from calc.tables.reference import oils
from calc.tanks.fold import Contents, Measured, Part
from calc.tanks.heat_plan import Around
from calc.tanks.readings import Read
from calc.tanks.standing import standing
from calc.tanks.warm_up import warm_up
from calc.workshop.tanks import Tank

NOW = datetime(2026, 11, 30, 18, 0)
SEVEN = datetime(2026, 12, 1, 7, 0)
OLIVE = Contents("t", left_g=120_000.0, parts=(Part("Olive oil", 120_000.0, oil="olive"),))
AROUND = Around(NOW, "metric")


def tank(**more: object) -> Tank:
    told = {"name": "Oil tank", "holds": "oils", "volume_ml": 200_000.0, "dead_ml": 4_000.0, "material": "stainless_steel",
            "heater_w": 2000.0, "thermostat": "yes", "lagging": "lagged", "lagging_mm": 50.0}  # fmt: skip
    return Tank(**(told | more))  # type: ignore[arg-type]


def found(of: Tank, contents: Contents, told: list[Read], wanted_c: float = 40.0):
    return warm_up(standing(of, contents, (), NOW.date(), oils()), told, NOW, wanted_c, oils(), AROUND)


def test_what_it_takes_is_its_heat_by_its_heater_and_a_little_more() -> None:
    read = Read(NOW, 30.0)
    warm = found(tank(), OLIVE, [read])
    assert warm is not None
    minutes = warm.after(NOW)
    # Without any loss, 120 kg of oil by 10 degrees with 2 kW (heat capacity by Choi and Okos); the wall and the loss add a little.
    least = 120_000.0 * fat_heat_capacity(35.0) * 10.0 / 2000.0 / 60.0
    assert least < minutes.used < 1.15 * least
    assert minutes.low < minutes.used < minutes.high


def test_it_cools_until_it_is_switched_on_so_a_night_costs_more_than_the_evening() -> None:
    warm = found(tank(), OLIVE, [Read(NOW, 45.0)])
    assert warm is not None
    # In the evening it is warm enough already; by seven it has cooled.
    assert warm.after(NOW).used == 0.0
    assert warm.before(SEVEN).used > 0.0
    # Switched on so long before, it is warm just then: what the one says, the other says too.
    lead = warm.before(SEVEN).used
    assert math.isclose(warm.after(SEVEN - timedelta(minutes=lead)).used, lead, abs_tol=0.5)


def test_nobody_read_it_it_counts_as_cold_as_the_room() -> None:
    warm = found(tank(), OLIVE, [])
    read = found(tank(), OLIVE, [Read(NOW, 30.0)])
    assert warm is not None and read is not None and warm.read is None
    assert warm.heated.start_c == warm.heated.room_c
    assert warm.before(SEVEN).used > read.before(SEVEN).used


def test_a_reading_from_after_now_is_none() -> None:
    warm = found(tank(), OLIVE, [Read(NOW + timedelta(hours=1), 50.0)])
    assert warm is not None and warm.read is None


def test_no_heater_or_nothing_in_it_is_no_warming() -> None:
    assert found(tank(heater_w=None), OLIVE, []) is None
    assert found(tank(), Contents("t"), []) is None


def test_two_temperatures_fit_its_loss_only_where_a_tank_can_lose_so_much() -> None:
    plain = found(tank(), OLIVE, [Read(NOW, 40.0)])
    assert plain is not None
    # In a room of 20: what a loss in the middle of its range leaves of 45 degrees after ten hours, by Newton's law of cooling.
    loss, heat, room = plain.heated.loss_w_per_k, plain.heated.heat_j_per_k.used, plain.heated.room_c.used
    left_c = room + (45.0 - room) * math.exp(-loss.used / heat * 36_000.0)
    warm = found(tank(), OLIVE, [Read(NOW - timedelta(hours=10), 45.0), Read(NOW, left_c)])
    assert warm is not None and warm.fitted and loss.low < warm.heated.loss.used < loss.high
    # A heater that held it meanwhile: it hardly cooled, and no such tank loses so little.
    held = found(tank(), OLIVE, [Read(NOW - timedelta(hours=10), 45.0), Read(NOW, 44.5)])
    assert held is not None and not held.fitted


def test_a_heater_too_weak_never_gets_there() -> None:
    weak = found(tank(heater_w=10.0), OLIVE, [Read(NOW, 20.0)])
    assert weak is not None
    assert math.isinf(weak.before(SEVEN).used) and math.isinf(weak.after(NOW).used)


def test_lye_is_counted_by_its_strength_and_too_hot_is_refused() -> None:
    lye = Contents("t", left_g=68_000.0, parts=(Part("Lye", 68_000.0, alkali="naoh"),), alkali="naoh", strength=Measured(0.33))
    of = tank(holds="lye", material="polypropylene", heater_w=500.0, lagging="none", lagging_mm=None)
    warm = found(of, lye, [Read(NOW, 15.0)], 30.0)
    assert warm is not None
    # 68 kg by 15 degrees at 3.58 kJ/(kg K), row C17 of physics_check_values.csv, with 500 W and no loss: 2 h 2 min at least.
    assert warm.after(NOW).used > 68.0 * 3580.0 * 15.0 / 500.0 / 60.0
    with pytest.raises(InputProblems):
        found(of, lye, [Read(NOW, 15.0)], 89.0)
