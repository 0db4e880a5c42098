"""A block's superfat, top-up and batter against the rows D and E of physics_check_values.csv and plain arithmetic."""

import pytest
from block_records import R, choices, event, record, weigh_through, weighed
from soap_lots import lot
from workshops import order, setting

from calc.batch.order import Issue, SoapTaken
from calc.batch.sheet import batch_sheet
from calc.block.chemistry import Block
from calc.block.recovery import recovery
from calc.block.recovery_steps import changed_targets
from calc.block.shape import can_be_weighed
from calc.block.with_oils import asked
from calc.entry.problems import InputProblems
from calc.record.issued import issued_record


def grams(block):
    return {key: amount.g for key, amount in block.weighed.items()}


def test_superfat_of_the_example_block_as_weighed():
    block = Block(record(), weigh_through(record(), "lye:naoh"))
    found = block.superfat(block.weighed)
    # D3: 1 - 15040·0.33/(r·7327.16), derived.
    assert grams(block)["lye:naoh"] == pytest.approx(15_040.0)
    assert found.value == pytest.approx(0.049822, abs=5e-6)
    # D4 and D5, Monte Carlo: Codex ranges, strength and purity as rectangles.
    assert found.standard_uncertainty == pytest.approx(0.01240, abs=5e-5)
    assert (found.low, found.high) == pytest.approx((0.0253, 0.0733), abs=3e-4)


@pytest.mark.parametrize(("more_g", "points"), [(20.0, 0.1264), (1.0, 0.00632)])
def test_one_division_of_lye(more_g, points):
    # D8: m·w/(r K), derived.
    made = record()
    block = Block(made, weigh_through(made, "lye:naoh"))
    before = block.superfat(block.weighed).value
    more = {**block.weighed, "lye:naoh": block.weighed["lye:naoh"] + type(block.weighed["lye:naoh"])(more_g)}
    assert 100.0 * (before - block.superfat(more).value) == pytest.approx(points, abs=2e-4)


def test_hold_back_and_top_up():
    # E3: first pour 14.28 kg, superfat then 9.784 %, exact top-up 0.7572 kg.
    made = record(hold_back=0.05)
    block = Block(made, weigh_through(made, "lye:naoh:short"))
    assert grams(block)["lye:naoh"] == pytest.approx(14_280.0)
    assert block.superfat(block.in_vessel).value == pytest.approx(0.09784, abs=2e-5)
    assert block.lye_targets() == pytest.approx({"lye:naoh:top-up": 757.2}, abs=0.5)


def test_lye_follows_the_oil_actually_there():
    # Row E1 of physics_check_values.csv: olive 16.34 for 15.74 needs 15.2711 kg.
    made = record()
    block = Block(made, weigh_through(made, "oil:2", {"oil:0": "16.34"}))
    assert block.lye_targets()["lye:naoh"] == pytest.approx(15_271.1, abs=0.5)


def test_leaving_an_oil_as_it_is_keeps_the_planned_lye():
    made = record()
    events = weigh_through(made, "oil:0", {"oil:0": "16.34"})
    events += [event(40, "decided", step="oil:0", choice="leave", reason="near enough", text="", steps=[], replaced={})]
    block = Block(made, events)
    assert block.events.pending is None
    assert block.lye_targets()["lye:naoh"] == pytest.approx(made["pours"][3]["exact_g"], abs=0.1)
    # E2 of the table: 6.438 % if nothing is corrected (there with 15.04 kg, 3 g more than the exact amount).
    assert block.goal_fraction == pytest.approx(0.06438, abs=3e-4)


def test_a_correction_counts_and_a_first_event_stands():
    made = record()
    events = weigh_through(made, "oil:0", {"oil:0": "61.34"})
    events.append(weighed(30, made["steps"][1], "99.98"))
    fields = {"corrects": events[1]["id"], "reading": "16.34", "unit": "kg", "reason": "digits swapped"}
    block = Block(made, [*events, event(31, "corrected", **fields)])
    assert grams(block) == pytest.approx({"oil:0": 16_340.0})
    assert block.events.pending == "oil:0"
    assert block.events.done["oil:0"].corrections[0].was == "61.34 kg"


def test_readings_without_tare_are_differences():
    made = record(tares=False)
    events = [
        weighed(1, made["steps"][0], "27.20", mode="gross"),
        weighed(2, made["steps"][1], "37.64", mode="gross"),
    ]
    # 27.20 - 11.40 and 37.64 - 27.20, by hand.
    assert grams(Block(made, events)) == pytest.approx({"oil:0": 15_800.0, "oil:1": 10_440.0})
    with pytest.raises(InputProblems, match="less than before"):
        Block(made, [events[0], weighed(2, made["steps"][1], "7.64", mode="gross")])


def test_without_tare_a_step_put_in_before_others_that_are_done_counts_on_from_them():
    # Olive is topped up by 0.86 kg after palm was poured: 38.50 kg on the display, of which palm stays 10.50 kg.
    made = record(tares=False)
    olive, palm = made["steps"][:2]
    more = {**olive, "key": "add:oil:0:2"}
    events = [
        weighed(1, olive, "27.14", mode="gross"),
        weighed(2, palm, "37.64", mode="gross"),
        event(3, "decided", step="oil:0", choice="add:oil:0", reason="", text="", steps=[more], replaced={}),
        weighed(4, more, "38.50", mode="gross"),
    ]
    block = Block(made, events)
    assert grams(block) == pytest.approx({"oil:0": 16_600.0, "oil:1": 10_500.0})
    assert block.on_scale_g == pytest.approx(38_500.0)


def test_blend_stands_for_its_oils_in_proportion():
    made = record()
    blend = {**made["steps"][1], "key": "oil:blend", "pour": None}
    made["steps"][1:4] = [blend]
    block = Block(made, [weighed(1, blend, "35.00")])
    planned = 15_740.0 + 10_500.0 + 8_740.0
    assert grams(block)["oil:1"] == pytest.approx(35_000.0 * 10_500.0 / planned)
    assert sum(grams(block).values()) == pytest.approx(35_000.0)


def test_superfat_in_us_units():
    made = record()
    step = {**made["steps"][1], "unit": "lb", "decimals": 2, "division": 5, "target": 3470}
    made["steps"][1] = step
    # 34.70 lb of 0.45359237 kg (NIST SP 811 Appendix B, exact).
    assert grams(Block(made, [weighed(1, step, "34.70")]))["oil:0"] == pytest.approx(15_739.655, abs=0.001)


def test_batter_volume_by_ideal_mixing():
    # Ideal mixing by hand, oils at 0.9097 and 33 % lye at 1.3478 g/ml: 50.02 kg/(34.98/0.9097 + 15.04/1.3478) = 1.008 kg/L.
    made = record()
    block = Block(made, weigh_through(made, "lye:naoh"))
    batter = block.batter(block.in_vessel)
    assert batter.mass_g == pytest.approx(50_020.0)
    assert batter.mass_g / batter.volume_ml == pytest.approx(1.008, abs=0.001)
    assert batter.fill_height_mm == pytest.approx(batter.volume_ml * 1000.0 / (600.0 * 400.0))


def test_expected_mix_temperature():
    # C14: 35.69 °C, here with the readings of the block.
    made = record()
    for key in ("temp:oils", "temp:lye"):
        made["steps"].insert(0, {**made["steps"][0], "key": key, "kind": "temperature"})
    events = [
        event(1, "checked", step="temp:oils", reading="40", unit="degC"),
        event(2, "checked", step="temp:lye", reading="86", unit="degF"),
    ]
    assert Block(made, events).mix_c() == pytest.approx(35.69, abs=0.05)
    assert Block(made, events[:1]).mix_c() is None


def test_nothing_planned_stands_for_what_was_weighed():
    made = record()
    block = Block(made, weigh_through(made, "lye:naoh", {"oil:1": "9.00", "lye:naoh": "14.00"}))
    by_hand = 1.0 - 14_000.0 * 0.33 * R / (15.74 * 190.0 + 9.0 * 199.5 + 8.74 * 256.5)
    assert block.superfat(block.weighed).value == pytest.approx(by_hand, abs=1e-5)
    assert block.superfat(block.at_end()).value == pytest.approx(by_hand, abs=1e-5)


def decided(number, step, choice, steps=(), replaced=None):
    return event(
        number, "decided", step=step, choice=choice, reason="", text="", steps=list(steps), replaced=replaced or {}
    )


def test_leaving_an_oil_keeps_the_lye_that_an_earlier_choice_adjusted():
    made = record()
    events = weigh_through(made, "oil:1", {"oil:0": "10.00", "oil:1": "10.40"})
    short, after = events[:2], events[2:]
    lye = next(c for c in choices(Block(made, short), "oil:0") if c.key == "lye")
    events = [*short, decided(1, "oil:0", "lye", replaced=lye.replaced), *after]
    events = [e | {"id": f"f{n}", "at": f"2026-11-25T10:00:{n:02}.000Z"} for n, e in enumerate(events)]
    leave = next(c for c in choices(Block(made, events), "oil:1") if c.key == "leave")
    events.append(decided(0, "oil:1", "leave", replaced=leave.replaced) | {"at": "2026-11-25T10:01:00.000Z"})
    # Lye for 10.00 of olive with palm as planned; with the plan's 15.04 kg the block would hold free lye.
    by_hand = 0.95 * (10.00 * 190.0 + 10.50 * 199.5 + 8.74 * 256.5) / R / 0.33
    block = Block(made, events)
    assert block.lye_targets()["lye:naoh"] == pytest.approx(by_hand, abs=0.5)
    superfat = 1.0 - by_hand * 0.33 * R / (10.00 * 190.0 + 10.40 * 199.5 + 8.74 * 256.5)
    assert block.goal_fraction == pytest.approx(superfat, abs=1e-5)
    assert leave.superfat.value == pytest.approx(superfat, abs=1e-3)  # there the lye on a display of 20 g


def test_what_an_oil_was_left_at_is_what_it_came_to_then_with_all_that_was_weighed():
    made = record()
    events = weigh_through(made, "lye:naoh", {"oil:0": "15.24", "oil:1": "11.50"})
    palm = next(e for e in events if e.get("step") == "oil:1")
    at = {"at": "2026-11-25T10:01:00.000Z"}
    left = decided(0, "oil:0", "leave") | at
    # All of the lye was in: 15.04 kg of 33 % on 15.24, 11.50 and 8.74 kg.
    by_hand = 1.0 - 15.04 * 0.33 * R / (15.24 * 0.190 + 11.50 * 0.1995 + 8.74 * 0.2565)
    assert Block(made, [*events, left]).goal_fraction == pytest.approx(by_hand, abs=1e-5)
    # Put right afterwards, nobody has accepted what it comes to: the sheet's 5 % again. A temperature changes nothing.
    fixed = event(1, "corrected", corrects=palm["id"], reading="10.50", unit="kg", reason="misread")
    fixed |= {"at": "2026-11-25T10:02:00.000Z", "id": "x1"}
    assert Block(made, [*events, left, fixed]).goal_fraction == 0.05
    warm = event(51, "checked", step="temp:oils", reading="40", unit="degC") | {"at": "2026-11-25T08:00:00.000Z"}
    cool = event(52, "corrected", corrects=warm["id"], reading="38", unit="degC", reason="misread")
    cool |= {"at": "2026-11-25T10:03:00.000Z", "id": "x2"}
    assert Block(made, [warm, *events, left, cool]).goal_fraction == pytest.approx(by_hand, abs=1e-5)


@pytest.mark.parametrize("read", ["700", "830"])
def test_lye_back_in_its_jug_counts_nowhere_until_it_is_weighed_anew(read):
    made = record(hold_back=0.05)
    events = weigh_through(made, "lye:naoh:top-up", {"lye:naoh:top-up": read})
    again = next(c for c in choices(Block(made, events), "lye:naoh:top-up") if c.key == "again")
    events.append(decided(50, "lye:naoh:top-up", "again", again.steps, again.replaced))
    block = Block(made, events)
    # E3: 757.2 g as before the slip.
    assert block.lye_targets() == pytest.approx({"again:lye:naoh:top-up": 757.2}, abs=0.5)
    assert changed_targets(block, block.lye_targets()) == {}
    assert block.superfat(block.at_end()).value == pytest.approx(0.05, abs=5e-5)
    # The first reading put right, still outside its band: asked about once more, and counted once.
    events.append(event(51, "corrected", corrects=events[-2]["id"], reading="900", unit="g", reason="typed wrong"))
    block = Block(made, events)
    assert block.events.pending == "lye:naoh:top-up"
    assert choices(block, block.events.pending)[-1].key == "stop"
    assert grams(block)["lye:naoh"] == pytest.approx(15_180.0)
    events.append(decided(52, "lye:naoh:top-up", "again", again.steps, again.replaced))
    events.append(weighed(53, again.steps[0], "757"))
    assert grams(Block(made, events))["lye:naoh"] == pytest.approx(15_037.0)
    events.append(event(54, "corrected", corrects="e0005", reading="950", unit="g", reason="typed wrong"))
    block = Block(made, events)
    assert choices(block, "lye:naoh:top-up")[-1].key == "stop"
    assert grams(block)["lye:naoh"] == pytest.approx(15_037.0)


def test_a_first_pour_of_lye_never_exceeds_the_need():
    # 1 % held back, and an oil 1.6 % of the demand short: less lye is needed than the first pour was planned at.
    made = record(hold_back=0.01)
    block = Block(made, weigh_through(made, "oil:2", {"oil:0": "15.12"}))
    need_g = 950.0 * (15.12 * 190.0 + 10.50 * 199.5 + 8.74 * 256.5) / 1000.0 / R / 0.33
    targets = block.lye_targets()
    assert targets["lye:naoh:short"] < need_g
    assert sum(targets.values()) == pytest.approx(need_g, abs=0.5)


def test_a_record_of_before_waxes_were_told_apart_still_has_its_superfat():
    made = record()
    for oil in made["chemistry"]["oils"]:
        oil.pop("acid_value", None)
    block = Block(made, weigh_through(made, "lye:naoh"))
    assert block.superfat(block.weighed).without_waxes is None


def test_wax_in_a_record_lowers_the_low_end_at_the_scale_as_on_the_sheet():
    # By hand: coconut taken for a wax of acid value 0 leaves its 8740·0.2565 g KOH of lye free if none of it reacts.
    made = record()
    made["chemistry"]["oils"][-1]["acid_value"] = 0.0
    block = Block(made, weigh_through(made, "lye:naoh"))
    found = block.superfat(block.weighed)
    demand_g, wax_g = 7327.16, 8740.0 * 0.2565
    assert found.without_waxes == pytest.approx(1.0 - (1.0 - found.value) * demand_g / (demand_g - wax_g), abs=1e-4)
    assert found.low < found.without_waxes < 0.0


VALUES = (190.0, 199.5, 256.5)  # of the example's oils, physics_check_values.csv, D3


def with_soap(grams=3000.0, **of_soap):
    old = lot(**of_soap)
    made = setting(set_aside={old.id: old})
    sheet = batch_sheet(order(soaps=(SoapTaken(lot=old.id, taken_g=grams),)), made)
    return issued_record(sheet, made, Issue(issued_by="Q", reason="x"), "B", {"shop": {"shop": {"tolerance_scheme": "HB44"}}})


def test_a_sheet_with_soap_can_be_weighed_by():
    made = with_soap()
    assert can_be_weighed(made, weigh_through(made, "soap:0"))


@pytest.mark.parametrize("superfat", [-0.02, 0.01, 0.05, 0.12])
def test_the_superfat_counts_the_soap_as_it_was_weighed(superfat):
    made = with_soap(superfat_fraction=superfat, superfat_low_fraction=superfat - 0.02, superfat_high_fraction=superfat + 0.02)
    block = Block(made, weigh_through(made, "lye:naoh:top-up", {"soap:0": "3.26"}))
    amounts = block.weighed
    assert amounts["soap:0"].g == pytest.approx(3260.0)
    demand_g = sum(amounts[f"oil:{n}"].g * value / 1000.0 for n, value in enumerate(VALUES))
    alkali_g = 0.33 * amounts["lye:naoh"].g * R + (1.0 - superfat) * 0.13 * 3260.0
    assert block.superfat(amounts).value == pytest.approx(1.0 - alkali_g / (demand_g + 0.13 * 3260.0), abs=1e-5)


@pytest.mark.parametrize(("superfat", "less_koh_g"), [(0.01, 0.04 * 0.13 * 1000.0), (0.12, 0.0)])
def test_lye_still_to_come_follows_lean_soap_and_never_fat_soap(superfat, less_koh_g):
    # A kilogram more than planned; by hand, 4 % of 0.13 g KOH/g is what it brings beyond 5 %.
    made = with_soap(superfat_fraction=superfat, superfat_low_fraction=0.0, superfat_high_fraction=0.15)
    planned, more = (Block(made, weigh_through(made, "soap:0", {"soap:0": kg})) for kg in ("3.00", "4.00"))
    lye_g = [sum(block.lye_targets().values()) for block in (planned, more)]
    assert 0.33 * R * (lye_g[0] - lye_g[1]) == pytest.approx(less_koh_g, abs=0.5)


def test_soap_is_never_asked_for_anew_by_the_oils_nor_ladled_out():
    made = with_soap()
    oils = weigh_through(made, "oil:2", {"oil:0": "16.60"})
    at_soap = Block(made, oils)
    assert asked(at_soap, "metric") is None
    over = Block(made, weigh_through(made, "soap:0", {"soap:0": "4.00"}))
    keys = {choice.key for choice in recovery(over, "soap:0").choices}
    assert "ladle" not in keys and "leave" in keys


def test_soap_fills_the_mould_at_its_own_density():
    made = with_soap()
    block = Block(made, weigh_through(made, "soap:0"))
    only = {"soap:0": block.weighed["soap:0"]}
    assert block.batter(only).volume_ml == pytest.approx(only["soap:0"].g / 1.04)  # the workshop's set density
