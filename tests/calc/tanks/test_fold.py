"""A tank's contents: stories that the scripts' fold is asked too, and an independent recount."""

import json
from datetime import date
from pathlib import Path

import pytest
from block_records import record
from hypothesis import given
from hypothesis import strategies as st

from calc.block.chemistry import Block
from calc.tanks.drawn import drawn
from calc.tanks.fold import tanks

TODAY = date(2026, 11, 25)
STORIES = json.loads((Path(__file__).resolve().parents[2] / "fixtures" / "stories" / "tanks.json").read_text("utf-8"))["stories"]


def events_of(story):
    found = []
    for n, (kind, subject, fields) in enumerate(story["events"], 1):
        at = f"2026-11-25T08:00:{n:02}.000Z"
        found.append({"id": f"e{n:02}", "at": at, "local": at, "kind": kind, "subject": subject, "person": "Q", **fields})
    return found


def lye(grams, number=1, **more):
    part = {"name": "Lye", "grams": grams, "alkali": "naoh", "hydroxide_fraction": 0.33}
    return told(number, "tank_loaded", parts=[part], as_lot="LYE-1", **more)


def told(number, kind, **fields):
    at = f"2026-11-25T08:{number // 60:02}:{number % 60:02}.000Z"
    return {"id": f"e{number:03}", "at": at, "local": at, "kind": kind, "subject": "contents:t-lye", "person": "Q", **fields}


def weighed(number, grams, step="lye:naoh", block=1, **more):
    return told(number, "weighed", step=step, reading=str(grams), unit="g", lot="LYE-1") | {"subject": f"block:QM-1/{block}"} | more


@pytest.mark.parametrize("story", STORIES, ids=[story["name"] for story in STORIES])
def test_stories_of_both_folds(story):
    found = tanks(events_of(story), TODAY)
    assert found.unread == 0
    filled = {tank: each for tank, each in found.by_id.items() if not each.empty}
    assert {tank: each.as_lot for tank, each in filled.items()} == story["expected"]["filled"]
    assert {tank: each.left_g for tank, each in filled.items()} == pytest.approx(story["expected"]["left_g"])


def test_strength_is_reckoned_until_it_is_measured_and_again_after_a_load():
    measured = told(2, "tank_strength", strength_fraction=0.331, low_fraction=0.329, high_fraction=0.333, method="hydrometer")
    half = told(3, "tank_drawn", grams=50_000)
    water = told(4, "tank_loaded", parts=[{"name": "Water", "grams": 10_000}])
    steps = [lye(100_000), measured, half, water]
    found = [tanks(steps[:n], TODAY).of("t-lye").strength for n in (1, 2, 3, 4)]
    assert [(each.fraction, each.reckoned) for each in found[:3]] == [(0.33, True), (0.331, False), (0.331, False)]
    # By hand: 50 kg of 33.1 % hold 16.55 kg; in 60 kg that is 27.583 %.
    assert found[3].fraction == pytest.approx(16_550.0 / 60_000.0) and found[3].reckoned


def test_each_draw_takes_of_every_lot_by_its_share():
    parts = [{"name": "Olive", "lot": "O", "oil": "olive", "grams": 60_000}, {"name": "Palm", "lot": "P", "oil": "palm", "grams": 40_000}]
    found = tanks([told(1, "tank_loaded", parts=parts), told(2, "tank_drawn", grams=25_000)], TODAY).of("t-lye")
    assert {part.lot: part.grams for part in found.parts} == pytest.approx({"O": 45_000.0, "P": 30_000.0})


def test_where_nobody_tares_the_vessel_and_what_is_in_it_are_no_draw():
    # By hand: the vessel 11.40, oils to 46.38, lye to 61.42 kg: 15.04 kg of lye.
    weights = [("oil:0", 46_380, "O-1"), ("lye:naoh", 61_420, "LYE-1")]
    events = [weighed(2 + n, grams, step, lot=lot, mode="gross") for n, (step, grams, lot) in enumerate(weights)]
    found = tanks([lye(100_000), *events], TODAY, {"QM-1": 11_400.0})
    assert found.of("t-lye").left_g == pytest.approx(100_000.0 - 15_040.0)
    # Without the vessel's weight nothing can be said of it, and that is counted.
    assert tanks([lye(100_000), *events], TODAY).unread == 1


def test_of_two_oil_tanks_the_one_loaded_for_the_formula_gives_its_blend():
    part = {"name": "Olive", "oil": "olive", "grams": 50_000}
    loads = [told(n, "tank_loaded", parts=[part], formulas=[formula]) | {"subject": f"contents:{tank}"}
             for n, (tank, formula) in enumerate([("t-a", "f-marsh"), ("t-b", "f-reed")], 1)]  # fmt: skip
    blend = weighed(5, 10_000, "oil:blend", lot=None)
    found = tanks([*loads, blend], TODAY, None, {"QM-1": "f-marsh"})
    assert (found.of("t-a").left_g, found.of("t-b").left_g) == (40_000.0, 50_000.0)


def test_nobody_draws_from_an_empty_tank_while_another_has_some_of_the_same_lot():
    loads = [lye(50_000, 1) | {"subject": "contents:t-a"}, lye(20_000, 2) | {"subject": "contents:t-b"}]
    found = tanks([*loads, weighed(3, 14_000), weighed(4, 14_000, block=2)], TODAY)
    # By hand: the tank loaded last gives 14, and of the next 14 kg its last 6; 8 came out of the other.
    assert (found.of("t-a").left_g, found.of("t-b").left_g) == (42_000.0, 0.0)
    assert [(each.tank, each.draw.grams) for each in found.taken] == [("t-b", 14_000.0), ("t-b", 6_000.0), ("t-a", 8_000.0)]
    assert sum(part.grams for each in found.taken for part in each.parts) == pytest.approx(28_000.0)
    # What neither held is lacking where it would have been drawn first, and is taken off no other one that is filled later.
    gone = [*loads, *(weighed(10 + n, 15_000, block=n) for n in range(5))]
    found = tanks([*gone, lye(30_000, 20) | {"subject": "contents:t-a"}], TODAY)
    assert (found.of("t-a").left_g, found.of("t-b").left_g) == (30_000.0, -5_000.0)
    # What somebody says came out of one tank came out of no other.
    found = tanks([*loads, told(5, "tank_drawn", grams=25_000) | {"subject": "contents:t-b"}], TODAY)
    assert (found.of("t-a").left_g, found.of("t-b").left_g) == (50_000.0, -5_000.0)


def test_what_can_not_be_read_is_counted_and_the_rest_stands():
    odd = [told(3, "tank_drawn", grams="some"), told(4, "tank_loaded", parts=[{}]), weighed(5, "x")]
    found = tanks([lye(100_000), *odd], TODAY)
    assert (found.of("t-lye").left_g, found.unread) == (100_000.0, 3)


def test_what_practice_begins_with_comes_before_what_is_recorded_in_it():
    # East of Greenwich the local day may be the next one already.
    begun = {"id": "demo", "kind": "tank_strength", "subject": "contents:t-lye", "days_ago": 0, "person": "Q", "strength_fraction": 0.31}
    found = tanks([begun, lye(1_000) | {"at": "2026-11-24T23:30:00.000Z"}], TODAY).of("t-lye")
    assert [each.kind for each in found.entries] == ["tank_strength", "tank_loaded"]


amounts = st.integers(1, 30_000)
deeds = st.lists(st.tuples(st.sampled_from(["load", "draw", "block", "slip", "taken back"]), amounts, amounts), max_size=12)


@given(deeds=deeds, chance=st.randoms(use_true_random=False))
def test_contents_are_loads_less_draws_in_whatever_order_events_come(deeds, chance):
    events, left = [], 0
    for n, (deed, grams, other) in enumerate(deeds, 1):
        if deed == "load":
            events.append(lye(grams, 10 * n))
            left += grams
        elif deed == "draw":
            events.append(told(10 * n, "tank_drawn", grams=grams))
            left -= grams
        elif deed == "taken back":
            events += [lye(grams, 10 * n), told(10 * n + 1, "tank_taken_back", takes=f"e{10 * n:03}")]
        elif any(event["kind"] == "tank_loaded" and f"e{event['id'][1:]}" not in {e.get("takes") for e in events} for event in events):
            events.append(weighed(10 * n, grams, block=n))
            left -= grams if deed == "block" else other
            if deed == "slip":
                events.append(told(10 * n + 1, "corrected", corrects=f"e{10 * n:03}", reading=str(other), unit="g"))
    chance.shuffle(events)
    found = tanks(events, TODAY)
    assert found.unread == 0
    assert found.of("t-lye").left_g == pytest.approx(left, abs=1e-6)


@pytest.mark.parametrize("tares", [True, False])
def test_weighings_come_to_what_the_block_at_the_scale_reckons(tares):
    """Against the block's own weighing up, which knows the frozen steps and which this fold does without."""
    made = record(hold_back=0.05, tares=tares)
    events, on = [], 11_400.0
    for n, step in enumerate(step for step in made["steps"] if step["kind"] == "weigh"):
        at = f"2026-11-25T09:{n:02}:00.000Z"
        gross = not tares and step["gross_text"] is not None
        reading = step["gross_text"] if gross else step["target_text"]
        events.append({"id": f"e{n}", "at": at, "local": at, "kind": "weighed", "subject": "block:QM-1/1", "person": "Q", "step": step["key"],
                       "reading": reading, "unit": step["unit"], "mode": "gross" if gross else "net", "lot": step["pour"],
                       "asked": {part: step[part] for part in ("target", "low", "high", "decimals", "unit", "division")}})  # fmt: skip
    checked = [{"id": f"c{n}", "at": "2026-11-25T08:00:00.000Z", "local": "x", "kind": "checked", "subject": "block:QM-1/1", "step": step["key"]}
               for n, step in enumerate(made["steps"]) if step["kind"] != "weigh"]  # fmt: skip
    block = Block(made, [*checked, *events])
    found, unread = drawn(events, {"QM-1": on})
    assert unread == 0
    by_lot: dict[str, float] = {}
    for each in found:
        by_lot[each.lot or ""] = by_lot.get(each.lot or "", 0.0) + each.grams
    assert by_lot["lye:naoh"] == pytest.approx(sum(amount.g for key, amount in block.net.items() if key.startswith("lye:naoh")))
    assert by_lot["oil:0"] == pytest.approx(block.net["oil:0"].g)
