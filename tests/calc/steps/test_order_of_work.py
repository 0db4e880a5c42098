"""The order of work at the scale, its targets and bands, and that no habit of the shop removes a safety step."""

import json
import re
from dataclasses import asdict, replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshops import BENCH, FINE, FLAKE, FLOOR, LYE, POTASH, order, setting

from calc.batch.sheet import batch_sheet
from calc.formula.declaration import AdditiveShare, OilShare
from calc.steps.order_of_work import weigh_steps
from calc.workshop.equipment import ScaleItem
from calc.workshop.habits import USUAL_HABITS, Habits
from calc.workshop.safety_place import LyeLimits

SAFETY = ["check:protect", "check:eyewash", "check:vessel"]
POUND_FLOOR = ScaleItem(
    name="Floor", capacity_g=136_077.711, division_g=22.6796185, reads_in="lb", accuracy_class="III"
)  # 300 lb x 0.05 lb
KG_BENCH = replace(BENCH, reads_in="kg")

yes_no = st.sampled_from(["yes", "no"])
lowest, highest = st.one_of(st.none(), st.floats(10.0, 49.0)), st.one_of(st.none(), st.floats(50.0, 90.0))
all_habits = st.builds(
    Habits,
    tare=st.sampled_from(["each", "never"]),
    oils=st.sampled_from(["each", "blend"]),
    hold_back_fraction=st.floats(0.0, 0.2),
    top_up=st.sampled_from([None, "jug", "vessel"]),
    runs_on_oil_g=st.one_of(st.none(), st.floats(0.0, 5000.0)),
    runs_on_lye_g=st.one_of(st.none(), st.floats(0.0, 5000.0)),
    check_weight_g=st.one_of(st.none(), st.floats(1.0, 200_000.0)),
    temperatures=yes_no,
    oil_lowest_c=lowest,
    oil_highest_c=highest,
    lye_lowest_c=lowest,
    lye_highest_c=highest,
    scent=st.sampled_from([None, "before", "trace"]),
    trace_minutes=st.one_of(st.none(), st.integers(1, 600)),
    cover=yes_no,
    unmould_hours=st.one_of(st.none(), st.integers(1, 336)),
)
ADDITIVES = (AdditiveShare(kind="honey", share_fraction=0.01), AdditiveShare(kind="citric_anhydrous", share_fraction=0.005))


WITH_LATE_THINGS = {
    "oils": (
        OilShare(oil="olive", share_fraction=0.45, added="main"),
        OilShare(oil="palm", share_fraction=0.30, added="main"),
        OilShare(oil="coconut", share_fraction=0.25, added="late"),
    ),
    "additives": ADDITIVES[:1],
    "scent_fraction": 0.02,
}


class Block:
    """A setting and its sheet, unpacked as a pair; its own repr, since the oils' table would fill pages."""

    def __init__(self, sheet, made_for):
        self.pair = sheet, made_for

    def __iter__(self):
        return iter(self.pair)

    def __repr__(self):
        sheet, made_for = self.pair
        return f"Block({made_for.habits}, {[(pour.key, pour.target_g, pour.scale) for pour in sheet.pours]})"


@st.composite
def blocks(draw):
    """A setting and its sheet: any scales, lyes, superfat and habits, with or without late fat, additives and scent."""
    parts = draw(st.tuples(st.integers(1, 50), st.integers(1, 50), st.integers(1, 50)))
    oils = tuple(
        OilShare(oil=oil, share_fraction=part / sum(parts), added=added)
        for oil, part, added in zip(
            ("olive", "palm", "coconut"), parts, ("main", "main", draw(st.sampled_from(["main", "late"]))), strict=True
        )
    )
    naoh, koh = draw(
        st.sampled_from(
            [
                (LYE, POTASH),
                (FLAKE, POTASH),
                (LYE, replace(LYE, code="KLYE", alkali="koh", strength_fraction=0.4)),
            ]
        )
    )
    made_for = setting(
        {
            "oils": oils,
            "alkali": draw(st.sampled_from(["naoh", "both"])),
            "koh_share_fraction": 0.2,
            "superfat_fraction": draw(st.floats(0.0, 0.15)),
            "lye_strength_fraction": 0.28,
            "scent_fraction": draw(st.sampled_from([0.0, 0.02])),
            "additives": draw(st.sampled_from([(), ADDITIVES])),
        },
        scales=(draw(st.sampled_from([FLOOR, POUND_FLOOR])), draw(st.sampled_from([BENCH, KG_BENCH])), FINE),
        alkali_lots={"naoh": naoh, "koh": koh},
        habits=draw(all_habits),
        units=draw(st.sampled_from(["metric", "us"])),
    )
    sheet = batch_sheet(order(scale_to="batch_mass", batch_mass_g=draw(st.floats(15_000.0, 48_000.0))), made_for)
    return Block(sheet, made_for)


def example(formula_changes=None, **changes):
    """The steps of the example block by their keys."""
    made_for = setting(formula_changes, **changes)
    sheet = batch_sheet(order(scale_to="batch_mass", batch_mass_g=34_980.0 + 15_037.2), made_for)
    return {step.key: step for step in weigh_steps(sheet, made_for)}


def test_premixed_lye_goes_in_the_order_of_the_work():
    # The order of the work: mould, scale check, tare, oils, the scent set by, reserve, tare just before the lye, lye short,
    # top-up, mix, trace, late things. That most weigh the scent before they mix: common practice, no source.
    steps = example(WITH_LATE_THINGS)
    assert list(steps) == [
        *SAFETY, "mould:ready", "check:zero", "check:tare-oils", "temp:oils", "oil:0", "oil:1", "scent", "temp:lye",
        "reserve:lye", "check:tare-lye", "lye:naoh:short", "lye:naoh:top-up", "mix", "trace", "oil:2", "additive:0", "scent:in",
        "pour", "cover", "unmould",
    ]  # fmt: skip


def test_a_scent_is_weighed_at_trace_where_the_shop_does_so():
    before = example(WITH_LATE_THINGS)
    assert before["scent"].kind == "weigh" and before["scent:in"].kind == "confirm"
    assert before["scent:in"].pour == "scent"
    assert example(WITH_LATE_THINGS, habits=replace(USUAL_HABITS, scent="before")) == before
    at_trace = example(WITH_LATE_THINGS, habits=replace(USUAL_HABITS, scent="trace"))
    assert [key for key in at_trace if key.startswith("scent")] == ["scent"]
    assert list(at_trace)[list(at_trace).index("trace") :][:4] == ["trace", "oil:2", "additive:0", "scent"]
    # The same amount on the same scale, and the bottle is looked at both times.
    for step in (before["scent"], at_trace["scent"]):
        assert (step.target, step.scale) == (before["scent"].target, before["scent"].scale)
        assert "name and lot on the bottle" in step.how and step.stop == "Stop if name or lot differs."


def test_the_mould_is_made_ready_before_the_first_pour_and_says_what_the_amounts_fill_it_to():
    made_for = setting(units="us")
    sheet = batch_sheet(order(), made_for)
    steps = {step.key: step for step in weigh_steps(sheet, made_for)}
    ready = list(steps).index("mould:ready")
    assert all(step.kind == "confirm" for step in list(steps.values())[: ready + 1])
    # 1 in is 25.4 mm: 200 mm, the usual fill of this mould, is 7.87 in; rounding to the scales leaves it a hair lower.
    filled = re.search(r"fill it to (\d+\.\d+) in", steps["mould:ready"].how)
    assert filled and float(filled[1]) == pytest.approx(200 / 25.4, abs=0.011)
    assert f"about {filled[1]} in." in steps["pour"].how


@pytest.mark.parametrize(
    ("units", "held_back", "said"),
    [
        # 15 037.2 g of lye of 33 %, at 38 °C 1.3478 g/ml (the example block of physics_check_values.csv). 5 % held back leaves
        # 757 g, twice that is 1514 g or 1.12 L: 1.19 US quarts of 0.946 352 946 L (NIST Handbook 44, Appendix C).
        ("us", 0.05, "(about 1 quart)"),
        ("metric", 0.05, "(about 1.1 L)"),
        # 13 % leaves 1957 g: 3914 g, 2.90 L, 3.07 quarts. 7 % leaves 1057 g: 2114 g, 1.57 L, 1.66 quarts.
        ("us", 0.13, "(about 3 quarts)"),
        ("us", 0.07, "(about 1 1/2 quarts)"),
        # 2 % leaves 317 g: 634 g, 0.47 L, 1.99 cups, a cup being a quarter of a quart.
        ("us", 0.02, "(about 2 cups)"),
        ("metric", 0.02, "(about 0.5 L)"),
    ],
)
def test_the_reserve_is_told_as_a_pitcher_holds_it_too(units, held_back, said):
    steps = example(units=units, habits=replace(USUAL_HABITS, hold_back_fraction=held_back))
    assert said in steps["reserve:lye"].how


def test_a_lye_beyond_the_table_of_densities_is_told_by_weight_alone():
    strong = replace(LYE, strength_fraction=0.54)
    made = example({"lye_strength_fraction": 0.33}, alkali_lots={"naoh": strong, "koh": POTASH})["reserve:lye"]
    assert "about" in made.how and "(" not in made.how.replace("(NaOH)", "")


def test_lye_is_topped_up_straight_into_the_vessel_where_the_shop_does_so():
    straight = replace(USUAL_HABITS, top_up="vessel")
    steps = example(habits=straight)
    short, top_up = steps["lye:naoh:short"], steps["lye:naoh:top-up"]
    # 15 037.2 g by 20 g, rounded down: 15.02 kg, of which 14.28 kg go first (row E5 of physics_check_values.csv).
    assert (short.target_text, top_up.target_text, top_up.scale) == ("14.28", "0.74", "Floor")
    assert (top_up.gross_text, top_up.twice, short.fine) == ("61.40", True, None)  # 11.40 + 34.98 + 15.02
    assert "Press tare" in top_up.how and "from the reserve" in top_up.how and "jug" not in top_up.how
    assert "put it back: it's lye" in top_up.next
    never = example(habits=replace(straight, tare="never"))["lye:naoh:top-up"]
    assert "goes on from about 60.66 kg" in never.how and (never.target_text, never.gross_text) == ("0.74", "61.40")
    # By itself the top-up is weighed in a jug, on the scale that counts finer.
    assert example(habits=replace(straight, top_up="jug")) == example()


def test_caustic_goes_into_the_water_before_anything_else_and_is_typed_twice():
    # Safety reference A2.1: caustic into water, never the other way round (ICSC 0360; suppliers' sheets).
    steps = example(alkali_lots={"naoh": FLAKE, "koh": POTASH})
    assert list(steps)[:8] == [*SAFETY, "mould:ready", "water", "lye:naoh:first", "lye:naoh:second", "lye:dissolve"]
    assert steps["lye:naoh:first"].twice and steps["lye:naoh:second"].twice and not steps["water"].twice
    assert steps["lye:dissolve"].safety
    assert "Never water onto caustic" in steps["lye:dissolve"].how
    own = [key for key in steps if key.startswith("lye:")]
    assert own == ["lye:naoh:first", "lye:naoh:second", "lye:dissolve", "lye:made"]
    # Some 5.1 kg: the bench scale of 6 kg by 1 g holds half of it with its jug, and a small block's whole.
    assert {steps[key].scale for key in own[:2]} == {"Bench"}
    made_for = setting(alkali_lots={"naoh": FLAKE, "koh": POTASH})
    small = batch_sheet(order(scale_to="batch_mass", batch_mass_g=20_000.0), made_for)
    assert [(s.key, s.scale) for s in weigh_steps(small, made_for) if s.pour == "lye:naoh"] == [("lye:naoh", "Bench")]
    assert list(steps).index("lye:made") > list(steps).index("oil:2")
    assert steps["lye:made"].kind == "confirm"


def test_targets_of_the_example_block():
    # Rows E1 and E5 of physics_check_values.csv: olive 15.74 kg on a 20 g division; 5 % held back of 15.04 kg: 14.28 kg,
    # then 0.757 kg on 1 g.
    steps = example()
    olive, short, top_up = steps["oil:0"], steps["lye:naoh:short"], steps["lye:naoh:top-up"]
    assert (olive.target, olive.division, olive.target_text) == (1574, 2, "15.74")
    # A quarter of a per cent of 15.74 kg is 39 g: one whole division of 20 g.
    assert (olive.low, olive.high, olive.band_text) == (1572, 1576, "15.72 to 15.76 kg")
    assert olive.gross_text == "27.14"  # 11.40 kg of vessel
    assert steps["oil:1"].gross_text == "37.64"
    assert (short.target_text, short.scale, short.twice) == ("14.28", "Floor", True)
    assert short.gross_text == "60.66"  # 11.40 + 34.98 + 14.28
    assert (top_up.target_text, top_up.unit, top_up.scale, top_up.gross_text) == ("757", "g", "Bench", None)
    assert (short.pour, top_up.pour) == ("lye:naoh", "lye:naoh")
    assert short.fine is not None and short.fine.scale == "Bench" and "757 g" in short.fine.from_text
    # The whole lye, 15.04 kg, stays outside the band of the first pour and is asked back.
    assert short.high < 1504
    assert any(q.code == "whole-target" and q.low <= 1504 <= q.high for q in short.questions)


@pytest.mark.parametrize("tare", ["each", "never"])
def test_a_display_shows_no_more_than_its_scale_carries_tared_or_not(tare):
    # 150 kg by 20 g with two decimals: 150.00 is 15000 counts; Max of OIML R 76-1, T.3.1.1 (from memory) is of all that stands on it.
    steps = example(habits=replace(USUAL_HABITS, tare=tare)).values()
    weighed = [step for step in steps if step.kind == "weigh"]
    assert {step.most for step in weighed if step.scale == FLOOR.name} == {15000}
    assert all(step.target <= step.most for step in weighed)
    assert {step.most for step in steps if step.kind != "weigh"} == {None}


def test_missed_tare_is_asked_back_with_the_vessel_and_with_the_pour_before():
    palm = example()["oil:1"]
    # 10.50 kg on top of olive 15.74 kg, and on top of that and the vessel's 11.40 kg.
    for reading in (1050 + 1574, 1050 + 1574 + 1140):
        assert any(q.code == "not-tared" and q.low <= reading <= q.high for q in palm.questions)


def test_valve_closes_early_by_what_still_runs():
    steps = example(habits=replace(USUAL_HABITS, runs_on_oil_g=130.0))
    # 130 g on a division of 20 g are 140 g (a half goes up): 15.74 - 0.14.
    assert steps["oil:0"].close_valve == 1560
    assert "15.60 kg" in (steps["oil:0"].close_valve_text or "")
    assert steps["lye:naoh:short"].close_valve is None


def test_a_blend_is_one_pour_for_all_oils_of_the_vessel():
    steps = example(habits=replace(USUAL_HABITS, oils="blend"))
    blend = steps["oil:blend"]
    assert (blend.target_text, blend.pour, blend.lot) == ("34.98", None, None)
    assert not any(key.startswith("oil:") for key in steps if key != "oil:blend")


def test_nothing_held_back_is_one_lye_step():
    steps = example(habits=replace(USUAL_HABITS, hold_back_fraction=0.0))
    assert [key for key in steps if "lye:" in key and key.startswith(("lye", "reserve"))] == ["lye:naoh"]
    # Exactly 15.0372 kg (row E5 of physics_check_values.csv: 14.28 + 0.7572) by 20 g, rounded down.
    assert (steps["lye:naoh"].target_text, steps["lye:naoh"].twice) == ("15.02", True)


def test_a_shop_that_never_tares_has_no_tare_step_and_no_question_about_it():
    steps = example(habits=replace(USUAL_HABITS, tare="never"))
    assert not any(key.startswith("check:tare") for key in steps)
    assert not any(q.code == "not-tared" for step in steps.values() for q in step.questions)
    # The empty vessel is weighed in each block, apart from the scale's own check, which serves a shift.
    assert list(steps)[list(steps).index("check:zero") + 1] == "check:on"
    assert "11.40 kg" in steps["check:on"].how and "11.40 kg" in str(steps["check:on"].stop)
    assert "vessel" not in steps["check:zero"].how
    # Olive: the display counts on from 11.40 kg of vessel to 27.14. Slips are those of its whole reading: 59.83 in pounds
    # (27.14 x 2.2046), 15.74 where tare was pressed, 21.74 with digits swapped; counts stand less the vessel, as the target.
    for shown, code in [(5983, "pounds-for-kilograms"), (1574, "tared"), (2174, "digits-swapped")]:
        assert any(
            q.code == code and q.low <= shown - 1140 <= q.high for q in steps["oil:0"].questions
        ), shown


def test_check_weight_may_be_off_by_the_limit_of_error():
    # HB 44 class III, maintenance: 20 kg on a 20 g division are 1000 d, limit 2 d = 40 g, as in row D1 of physics_check_values.csv.
    stop = example(habits=replace(USUAL_HABITS, check_weight_g=20_000.0))["check:zero"].stop
    assert "19.96" in stop and "20.04 kg" in stop


def test_temperatures_have_the_maker_s_range_in_the_maker_s_unit():
    habits = replace(USUAL_HABITS, oil_lowest_c=35.0, oil_highest_c=45.0, lye_highest_c=38.05)
    metric, us = example(habits=habits), example(habits=habits, units="us")
    assert (metric["temp:oils"].low, metric["temp:oils"].high) == (350, 450)
    assert metric["temp:oils"].band_text == "35 °C to 45 °C"
    # 35 °C = 95 °F, 45 °C = 113 °F; 38.05 °C = 100.49 °F, rounded inward (NIST SP 811, Appendix B.9).
    assert (us["temp:oils"].low, us["temp:oils"].high, us["temp:oils"].unit) == (950, 1130, "degF")
    assert (us["temp:lye"].low, us["temp:lye"].high, us["temp:lye"].band_text) == (None, 1004, "at most 100.4 °F")
    # 25 °C = 77 °F, 38 °C = 100.4 °F: both ends to the same decimals.
    mixed = example(habits=replace(USUAL_HABITS, lye_lowest_c=25.0, lye_highest_c=38.0), units="us")
    assert mixed["temp:lye"].band_text == "77.0 °F to 100.4 °F"
    assert not any(key.startswith("temp:") for key in example(habits=replace(habits, temperatures="no")))


@pytest.mark.parametrize(
    ("lowest_c", "highest_c", "coldest_c", "hottest_c", "low", "high"),
    [
        (None, None, None, 45.0, None, 450),
        (30.0, 60.0, None, 45.0, 300, 450),
        (30.0, 40.0, 20.0, 45.0, 300, 400),
        (None, 40.0, 25.0, None, 250, 400),
        # What the two leave is nothing, or less than the degree that a range must be wide: the limits alone.
        (50.0, 60.0, None, 45.0, None, 450),
        (44.5, 60.0, 25.0, 45.0, 250, 450),
        (16.0, 20.0, 25.0, None, 250, None),
        (None, None, 50.0, 20.0, None, 200),
    ],
)
def test_the_lye_is_read_within_the_stricter_of_the_range_and_the_safety_form_s_limits(
    lowest_c, highest_c, coldest_c, hottest_c, low, high
):
    ways = replace(USUAL_HABITS, lye_lowest_c=lowest_c, lye_highest_c=highest_c)
    steps = example(habits=ways, lye_limits=LyeLimits(hottest_lye_c=hottest_c, coldest_tank_c=coldest_c))
    assert (steps["temp:lye"].low, steps["temp:lye"].high) == (low, high)
    assert (steps["temp:oils"].low, steps["temp:oils"].high) == (None, None)


def test_lye_just_made_comes_out_of_no_tank():
    limits = LyeLimits(hottest_lye_c=45.0, coldest_tank_c=30.0)
    made = example(alkali_lots={"naoh": FLAKE, "koh": POTASH}, lye_limits=limits)["temp:lye"]
    assert (made.low, made.high) == (None, 450)


def test_timers_last_as_long_as_the_shop_says_and_are_confirmations_without_a_time():
    timed = example(habits=replace(USUAL_HABITS, trace_minutes=12, unmould_hours=30))
    assert (timed["mix"].seconds, timed["unmould"].seconds) == (720, 108_000)
    plain = example(habits=replace(USUAL_HABITS, trace_minutes=None, unmould_hours=None))
    assert [(plain[key].kind, plain[key].seconds) for key in ("mix", "unmould")] == [("confirm", None)] * 2


@settings(deadline=None, max_examples=60)
@given(blocks())
def test_safety_steps_stand_whatever_the_shop_does(block):
    sheet, made_for = block
    steps = weigh_steps(sheet, made_for)
    assert [step.key for step in steps][:3] == SAFETY
    assert {step.key for step in steps if step.safety} - set(SAFETY) <= {"lye:dissolve"}
    assert all(step.kind == "confirm" for step in steps if step.safety)
    apart = any(pour.phase == "lye" for pour in sheet.pours)
    assert apart == any(step.key == "lye:dissolve" for step in steps)
    assert all("safety data sheet" in step.how for step in steps if step.key in ("check:protect", "lye:dissolve"))


@settings(deadline=None, max_examples=60)
@given(blocks())
def test_every_count_is_a_multiple_of_the_division_and_the_text_says_the_same(block):
    for step in weigh_steps(*block):
        if step.kind != "weigh":
            continue
        assert step.low <= step.target <= step.high
        assert step.low >= step.division
        for count in (step.target, step.low, step.high, step.close_valve or 0):
            assert isinstance(count, int) and count % step.division == 0
        assert Decimal(step.target_text) * 10**step.decimals == step.target
        low, high = step.band_text.removesuffix(f" {step.unit}").split(" to ")
        assert [Decimal(text) * 10**step.decimals for text in (low, high)] == [step.low, step.high]
        assert -Decimal(step.target_text).as_tuple().exponent == step.decimals
        for question in step.questions:
            assert question.high < step.low or question.low > step.high


@settings(deadline=None, max_examples=60)
@given(blocks())
def test_steps_weigh_every_pour_of_the_sheet(block):
    # 1 lb = 453.59237 g, 1 kg = 1000 g: exact (NIST Handbook 44, Appendix C).
    sheet, made_for = block
    grams_of = {"g": Decimal(1), "kg": Decimal(1000), "lb": Decimal("453.59237")}
    steps = weigh_steps(sheet, made_for)
    assert len({step.key for step in steps}) == len(steps)
    weighed: dict[str, Decimal] = {}
    for step in steps:
        if step.kind == "weigh":
            key = step.pour or "blend"
            weighed[key] = weighed.get(key, Decimal(0)) + Decimal(step.target_text) * grams_of[step.unit]
    # Oils that come blended are one weighing, and each has its share of what that display shows.
    blended = sheet.oil_blend is not None
    assert ("blend" in weighed) == blended
    for pour in sheet.pours:
        if pour.key in weighed:
            # A top-up is weighed finer than the pour it completes: up to half a division of the vessel's scale between.
            assert abs(float(weighed[pour.key]) - pour.target_g) <= pour.division_g / 2 + 1.0
        elif pour.key == "lye:made":
            assert any(step.pour == "lye:made" for step in steps)
        else:
            assert blended and pour.phase == "vessel" and pour.key.startswith("oil:")
    if blended:
        of_it = [pour.target_g for pour in sheet.pours if pour.blend_share < 1.0]
        assert float(weighed["blend"]) == pytest.approx(sum(of_it), rel=1e-12)
        assert len(of_it) > 1


@settings(deadline=None, max_examples=30)
@given(blocks())
def test_steps_are_plain_json_with_every_key_always_there(block):
    made = [asdict(step) for step in weigh_steps(*block)]
    again = json.loads(json.dumps(made, allow_nan=False))
    keys = {
        "key", "kind", "safety", "title", "how", "how_around", "stop", "pour", "pour_kind", "lot", "scale", "unit", "decimals",
        "division", "most", "target", "low", "high", "target_text", "band_text", "gross", "gross_text", "close_valve", "close_valve_text", "fine", "twice",
        "questions", "seconds", "next",
    }  # fmt: skip
    assert all(set(step) == keys for step in again)
    assert all(step["title"] and step["how"] and len(step["title"]) <= 60 for step in again)
    twice = {step["key"] for step in again if step["twice"]}
    assert twice == {step["key"] for step in again if step["kind"] == "weigh" and step["key"].startswith("lye:")}


def test_unknown_scale_division_in_the_display_s_unit_is_counted_in_whole_steps():
    # A plate in grams on a display in pounds: 20 g are 0.044 lb, counted by 0.05 lb (common practice, no source).
    steps = example(scales=(replace(FLOOR, reads_in="lb"), BENCH, FINE))
    assert steps["oil:0"].division == 5
    # 15.74 kg = 34.7008 lb by hand; nearest 0.05 lb.
    assert steps["oil:0"].target_text == "34.70"


@pytest.mark.parametrize("key", ["oil:0", "lye:naoh:short"])
def test_display_in_pounds_is_asked_back_at_every_main_pour(key):
    step = example()[key]
    reading = round(step.target * 2.2046)
    assert any(q.code == "pounds-for-kilograms" and q.low <= reading <= q.high for q in step.questions)


def test_whoever_handles_lye_or_batter_is_told_what_to_wear_and_what_to_do_about_a_splash():
    # 29 CFR 1910.133 and .138; New Jersey fact sheet on sodium hydroxide: at least 30 minutes of rinsing.
    steps = example()
    for key in ("reserve:lye", "lye:naoh:short", "lye:naoh:top-up"):
        assert "goggles and face shield" in steps[key].how, key
        assert "rinse at once, at least 30 minutes" in (steps[key].stop or ""), key
    for key in ("mix", "pour", "cover"):
        assert "Gloves and goggles stay on" in steps[key].how, key
    assert "put it back: it's lye" in (steps["lye:naoh:top-up"].next or "")
