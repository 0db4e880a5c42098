"""How long a tank of a day takes to be warm, against the lumped equation reckoned anew here."""

import math
from datetime import datetime, time, timedelta

import pytest

from calc.chemistry.heat import fat_heat_capacity
from calc.entry.problems import InputProblems
from calc.tables.reference import oils
from calc.tanks.fold import Contents, Measured, Part
from calc.tanks.heat_plan import heat_plan
from calc.tanks.questions import HeatQuestion
from calc.tanks.readings import Read
from calc.tanks.standing import standing
from calc.tanks.warm_up import as_told, warm_up
from calc.tanks.warming import Around
from calc.workshop.tanks import Tank

NOW = datetime(2026, 11, 30, 18, 0)
SEVEN = datetime(2026, 12, 1, 7, 0)
OLIVE = Contents("t", left_g=120_000.0, parts=(Part("Olive oil", 120_000.0, oil="olive"),))
PALM = Contents("t", left_g=120_000.0, parts=(Part("Palm oil", 60_000.0, oil="palm"), Part("Olive oil", 60_000.0, oil="olive")))
# 120 kg of oil at 2.036 kJ/(kg K) (Choi and Okos 1986, 40 °C), and a steel wall of about 8 kJ/(m² K) of some 2 m².
HEAT_J_PER_K = 120.0 * 2036.0 + 2.0 * 8000.0
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
    # By hand: 45 °C in a room of 20 °C fall in 13 hours to 20 + 25 e^(-13 h · loss / C), with a loss of 1.1 to 3 W/K (50 mm of foam, row
    # C16 and its sheet), and 2 kW less what is lost take C times what is missing of 40 °C.
    fewest, most = (
        HEAT_J_PER_K * (40.0 - 20.0 - 25.0 * math.exp(-13.0 * 3600.0 * loss / HEAT_J_PER_K)) / (2000.0 - 20.0 * loss) / 60.0 for loss in (1.1, 3.0)
    )
    assert max(fewest, 0.0) < warm.before(SEVEN).used < most


def test_what_the_day_says_of_a_tank_the_page_of_its_heat_says_too() -> None:
    of = tank(lagging="none", lagging_mm=None)
    told = [Read(NOW - timedelta(hours=6), 45.0), Read(NOW - timedelta(hours=2), 41.0)]
    stands = standing(of, PALM, (), NOW.date(), oils())
    day = warm_up(stands, told, NOW, 40.0, oils(), AROUND)
    page = heat_plan(HeatQuestion(wanted_c=40.0, ready_at=time(7, 0)), of, as_told(stands, told, oils(), AROUND))
    assert day is not None and day.switch_at(SEVEN) == NOW + timedelta(seconds=page.switch_s)
    # And it is no other than the one time that anybody is told: on a step of five minutes, before seven.
    assert page.switches and day.switch_at(SEVEN).minute % 5 == 0 and day.switch_at(SEVEN) < SEVEN


def test_a_tank_read_while_it_heats_counts_from_then_on() -> None:
    on = NOW - timedelta(hours=1)
    warm = found(tank(), OLIVE, [Read(NOW, 36.0)])
    assert warm is not None
    # By hand: an hour that has passed, and 4 degrees at 2 kW less some 40 W.
    assert warm.after(on).used == pytest.approx(60.0 + HEAT_J_PER_K * 4.0 / 1960.0 / 60.0, rel=0.05)
    cold = found(tank(), OLIVE, [])
    # Where nobody read it, it was cold when it was switched on.
    assert cold is not None and cold.after(on).used == cold.after(NOW).used


def test_nobody_read_it_it_counts_as_cold_as_the_room() -> None:
    warm = found(tank(), OLIVE, [])
    read = found(tank(), OLIVE, [Read(NOW, 30.0)])
    assert warm is not None and read is not None and warm.read is None
    assert warm.heated.start_c == warm.heated.room_c
    assert warm.before(SEVEN).used > read.before(SEVEN).used


def test_a_reading_from_after_now_is_none() -> None:
    warm = found(tank(), OLIVE, [Read(NOW + timedelta(hours=1), 50.0)])
    assert warm is not None and warm.read is None


def test_fat_that_set_between_two_temperatures_fits_no_loss() -> None:
    # Palm oil sets below 39 °C (oils.csv) and gives heat back: it would pass for a tank that hardly loses any.
    of = [Read(NOW - timedelta(hours=10), 45.0), Read(NOW, 36.0)]
    warm, clear = found(tank(), PALM, of), found(tank(), OLIVE, of)
    assert warm is not None and not warm.fitted and clear is not None and clear.fitted


def test_so_little_that_its_element_may_be_bare_is_refused_however_warm_it_is() -> None:
    # By hand: 3 kg of oil are some 3.3 L, and 4 L stay below the valve.
    little = Contents("t", left_g=3_000.0, parts=(Part("Olive oil", 3_000.0, oil="olive"),))
    with pytest.raises(InputProblems):
        found(tank(), little, [Read(NOW, 60.0)])


def test_no_heater_or_nothing_in_it_is_no_warming() -> None:
    assert found(tank(heater_w=None), OLIVE, []) is None
    assert found(tank(), Contents("t"), []) is None


def test_two_temperatures_fit_its_loss_only_where_a_tank_can_lose_so_much() -> None:
    # In a room of 20 °C: what a loss of 2 W/K leaves of 45 degrees after ten hours, by Newton's law of cooling.
    left_c = 20.0 + 25.0 * math.exp(-2.0 / HEAT_J_PER_K * 36_000.0)
    warm = found(tank(), OLIVE, [Read(NOW - timedelta(hours=10), 45.0), Read(NOW, left_c)])
    assert warm is not None and warm.fitted
    assert warm.heated.loss.used == pytest.approx(2.0, rel=0.1) and warm.heated.loss.low < 2.0 < warm.heated.loss.high
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
