"""When a tank is to be switched on, or has cooled, as the clock says it; and what is refused. Expected values by hand, or by the check values named."""

from dataclasses import replace
from datetime import datetime, time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.entry.fields import check
from calc.entry.problems import InputProblems
from calc.tables.reference import oils
from calc.tanks.heat_plan import Around, HeatPlan, heat_plan
from calc.tanks.questions import HeatQuestion, MixQuestion
from calc.workshop.tanks import Tank

EVENING = datetime(2026, 11, 25, 20, 0)
TANK = Tank(
    name="Oil tank", holds="oils", volume_ml=200_000.0, dead_ml=4000.0, material="stainless_steel", heater_w=2000.0,
    thermostat="yes", timer="yes", lagging="lagged", lagging_mm=50.0,
)  # fmt: skip
LYE_TANK = replace(TANK, name="Lye tank", holds="lye", material="polypropylene", heater_w=None, thermostat=None, timer=None, lagging="none", lagging_mm=None)
QUESTION = HeatQuestion(now_c=22.0, wanted_c=45.0, amount_g=150_000.0, ready_at=time(7, 0), room_c=18.0)


def plan(question: HeatQuestion = QUESTION, tank: Tank | None = TANK, now: datetime = EVENING, **around) -> HeatPlan:
    return heat_plan(question, tank, Around(now, "metric", **around))


def code(question: HeatQuestion, tank: Tank | None = TANK, **around) -> tuple[str, str]:
    with pytest.raises(InputProblems) as faults:
        plan(question, tank, **around)
    (problem,) = faults.value.problems
    return problem.field, problem.code


def test_a_tank_of_clear_oils_is_switched_on_as_the_balance_says():
    # By hand: 150 kg times 2.03 kJ/(kg K) and a wall of about 15 kJ/K make 320 kJ/K; by 7 the lagging (about 2 W/K, 18 °C)
    # has let 22 °C fall to about 21; 24 K at 2 kW less some 30 W take about 65 minutes.
    found = plan()
    assert found.wanted_s == 11 * 3600.0
    assert 7 * 60 - 75 < found.switch_s / 60 - 4 * 60 < 7 * 60 - 60
    assert found.local(found.switch_s)[:11] == "2026-11-26T" and found.local(found.switch_s)[-1] in "05"
    assert found.heats is not None and found.heats.on_s.low < found.switch_s < found.heats.on_s.high
    assert not found.late and found.cautions == ()


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 10), st.integers(1, 9))
def test_ready_later_is_switched_on_later(hour, more):
    early, late = (plan(replace(QUESTION, ready_at=time(each, 0))) for each in (hour, hour + more))
    assert early.heats is not None and late.heats is not None
    for first, second in zip(early.heats.on_s, late.heats.on_s, strict=True):
        assert first <= second


def test_melting_brings_the_switch_on_forward_and_widens_it():
    palm = (oils()["palm"], oils()["olive"])
    clear, hard = (plan(replace(QUESTION, oils_are=state), fats=palm) for state in ("clear", "hard"))
    assert clear.heats is not None and hard.heats is not None
    assert hard.heats.on_s.used < clear.heats.on_s.used
    assert hard.heats.on_s.high - hard.heats.on_s.low > clear.heats.on_s.high - clear.heats.on_s.low
    # oils.csv: palm melts at up to 39 °C.
    assert hard.clear_c == 39.0


def test_where_there_is_no_time_left_it_is_said_when_it_will_be_ready():
    found = plan(now=datetime(2026, 11, 26, 6, 30))
    assert found.late and found.switch_s == 0.0
    assert 60 * 60 < found.ready_s.used < 75 * 60
    assert plan(replace(QUESTION, ready_at=None)).ready_s.used == pytest.approx(found.ready_s.used, rel=0.02)


def test_a_hot_tank_is_told_when_it_has_cooled():
    # Row C16 with what is not known of a bare drum: 200 kg of 33 % lye from 107 to 40 °C in 17 hours.
    question = HeatQuestion(now_c=107.0, wanted_c=40.0, amount_g=200_000.0, strength_fraction=0.33, room_c=20.0)
    found = plan(question, LYE_TANK)
    assert found.heats is None and found.cools is not None
    assert found.cools.low < 17.2 * 3600 < found.cools.high
    assert [each.code for each in found.cautions] == ["hot-now"]


def test_a_tank_that_is_there_needs_nothing_but_what_holds_it():
    found = plan(replace(QUESTION, now_c=45.2))
    assert found.heats is None and found.cools is None
    assert found.hold_w.low < found.hold_w.used < found.hold_w.high


def test_an_earlier_temperature_narrows_it():
    # By hand: from 40 to 36.4 °C in 24 h above 18 °C, ln(22/18.4) = 0.179; 320 kJ/K over 86400 s make 0.66 W/K.
    question = replace(QUESTION, now_c=36.4, earlier_c=40.0, earlier_at=time(20, 5))
    found = plan(question)
    assert found.tank.fits
    assert found.tank.loss.used == pytest.approx(0.66, abs=0.04)
    assert found.tank.loss.high / found.tank.loss.low < plan(replace(QUESTION, now_c=36.4)).tank.loss.high / plan(QUESTION).tank.loss.low
    near = plan(replace(question, earlier_c=37.0))
    assert not near.tank.fits and [each.code for each in near.cautions] == ["no-fit"]


def test_what_the_question_types_goes_before_what_the_workshop_says():
    found = plan(replace(QUESTION, heater_w=500.0, lagging="none", thermostat="no"))
    assert found.stands.heater_w == 500.0 and found.stands.lagging == "none" and not found.stands.thermostat
    assert found.without_thermostat_c is not None and plan().without_thermostat_c is None
    assert found.switch_s < plan().switch_s


def test_what_cannot_be_is_refused_at_its_field():
    assert code(replace(QUESTION, heater_w=None), replace(TANK, heater_w=None)) == ("heater_w", "no-heater")
    # By hand: 20 W over more than 1 W/K hardly warm it by 20 K above 18 °C.
    assert code(replace(QUESTION, heater_w=20.0, lagging="none")) == ("wanted_c", "never")
    assert code(replace(QUESTION, now_c=40.0, wanted_c=15.0)) == ("wanted_c", "never")
    assert code(replace(QUESTION, amount_g=300_000.0)) == ("amount_g", "over-full")
    assert code(QUESTION, LYE_TANK) == ("strength_fraction", "missing")


@pytest.mark.parametrize(("material", "wanted_c"), [("polyethylene", 61.0), ("polypropylene", 81.0)])
def test_no_plastic_is_warmed_beyond_what_it_holds(material, wanted_c):
    # Resistance charts, from memory: polyethylene 60 °C, polypropylene 80 °C.
    assert code(replace(QUESTION, wanted_c=wanted_c), replace(TANK, material=material)) == ("wanted_c", "too-hot")
    plan(replace(QUESTION, wanted_c=wanted_c - 1.0), replace(TANK, material=material))


def test_the_shops_own_limit_for_lye_counts():
    lye = replace(QUESTION, strength_fraction=0.33, heater_w=1000.0, wanted_c=50.0)
    assert code(lye, LYE_TANK, hottest_lye_c=45.0) == ("wanted_c", "too-hot")
    # It is a limit for lye alone.
    plan(replace(QUESTION, wanted_c=50.0), hottest_lye_c=45.0)


def test_a_fat_that_is_not_clear_at_what_is_wanted_is_named():
    found = plan(replace(QUESTION, wanted_c=36.0), fats=(oils()["palm"], oils()["olive"]))
    assert [each.code for each in found.cautions] == ["not-clear"]
    assert "Palm oil" in found.cautions[0].reason


def test_half_of_an_earlier_reading_is_a_problem_and_so_is_half_a_mix():
    for question, field in (
        (replace(QUESTION, earlier_c=40.0), "earlier_at"),
        (replace(QUESTION, earlier_at=time(6, 0)), "earlier_c"),
        (MixQuestion(formula="f", oils_g=1000.0), "lye_g"),
        (MixQuestion(oils_g=1000.0, lye_g=400.0), "strength_fraction"),
        (MixQuestion(strength_fraction=0.3), "oils_g"),
    ):
        with pytest.raises(InputProblems) as faults:
            check(question)
        assert [each.field for each in faults.value.problems] == [field]


def test_the_curve_begins_a_while_before_the_switch_on_and_ends_after_it_is_ready():
    at_s, temperatures = plan().curve()
    found = plan()
    assert 0.0 < at_s[0] < found.switch_s < found.ready_s.used <= at_s[-1]
    assert plan(replace(QUESTION, ready_at=None)).curve()[0][0] == 0.0
    # Left to itself till then, it falls towards the room.
    assert 18.0 < temperatures[0].used <= 22.0
    ready = temperatures[at_s.index(min(at_s, key=lambda each: abs(each - 11 * 3600.0)))]
    assert ready.used == pytest.approx(45.0, abs=3.0)
    # The thermostat holds it there.
    assert max(each.high for each in temperatures) <= 45.0 + 1e-9
