"""What the door says of a block after the pour, on a really issued record of the demo workshop."""

import pytest
from test_at_the_scale import ask, door, events_of, issued

from answers.demo import demo_state

__all__ = ["issued"]

AT = "2026-11-26T10:00:{n:02}"


def closed_block(issued, *told):
    """Poured as planned and closed, and what was told after."""
    events = events_of(issued["steps"])
    for n, (kind, fields) in enumerate([("closed", {"outcome": "poured", "reason": "", "record": None}), *told]):
        at = AT.format(n=n)
        events.append({"id": f"x{n:02}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": kind, "person": "Q", **fields})
    return events


def plain(html):
    return html.replace("\N{NO-BREAK SPACE}", " ")


CUT = (
    ("covered", {"step": "after:cover", "cover": "lid", "room": None}),
    ("measured", {"step": "after:first-bar", "reading": "140", "unit": "g"}),
    ("measured", {"step": "after:good", "reading": "200", "unit": "bars"}),
    ("measured", {"step": "after:set-aside", "reading": "3", "unit": "bars", "reason": "Ash or color"}),
    ("racked", {"step": "after:rack", "trays": 4, "bars": 200, "place": "Rack 1"}),
)


def test_before_the_close_nothing_is_said_of_it(issued):
    html = ask(issued, events_of(issued["steps"]))["html"]
    assert not {"scale_lift", "scale_yield"} & set(html)


def test_the_load_is_the_batter_as_weighed_and_nothing_is_claimed_of_a_hoist_nobody_stated(issued):
    reply = ask(issued, closed_block(issued))
    text = plain(reply["html"]["scale_lift"])
    # Kilograms to one decimal, of a batter that was weighed as planned.
    assert f"{issued['batter_g'] / 1000:.1f} kg" in text and "without the mold" in text
    assert "it isn’t in Safety yet" in text
    assert reply["record"]["after"]["over"] is False


@pytest.mark.parametrize(("tag", "over", "words"), [("40", True, "Don’t lift this"), ("90", False, "rated for 90 kg")])
def test_the_hoists_stated_limit_is_held_against_block_and_mould(issued, tag, over, words):

    mould = {**issued, "mould": {**issued["mould"], "tare_g": 9_000.0}}
    state = demo_state() | {"record": mould, "events": closed_block(issued)}
    state["safety"] = [{"id": "safety", "values": {"hoist_g": tag, "hoist_g.unit": "kg"}}]
    reply = door("at_the_scale", {"batch": issued["code"], "block": "1"}, state)
    assert reply["ok"], reply
    text = plain(reply["html"]["scale_lift"])
    assert words in text and "mold included" in text
    assert f"{issued['batter_g'] / 1000 + 9:.1f} kg" in text
    assert reply["record"]["after"]["over"] is over


def test_the_record_says_what_it_gave_against_the_plan(issued):
    reply = ask(issued, closed_block(issued, *CUT))
    planned = issued["planned"]["total"]
    text = plain(reply["html"]["scale_yield"])
    assert "<strong>200</strong> good bars" in text and f"of {planned} planned" in text
    assert "3: Ash or color" in text and "4, Rack 1" in text
    length, width, height = issued["planned"]["bar_mm"]
    assert reply["record"]["after"]["density_g_per_ml"] == pytest.approx(140 / (length * width * height / 1000))


def test_a_count_that_was_corrected_is_told_as_it_counts(issued):
    fix = ("corrected", {"corrects": "x03", "reading": "210", "unit": "bars", "reason": "mistyped"})
    assert "<strong>210</strong> good bars" in plain(ask(issued, closed_block(issued, *CUT, fix))["html"]["scale_yield"])


def test_the_record_of_the_pour_is_the_same_whatever_is_told_after(issued):
    # The part after the pour adds no deed, no deviation and no person to what was closed.
    before, after = (ask(issued, closed_block(issued, *told)) for told in ((), CUT))
    for part in ("amounts", "superfat", "deviations", "timed", "trained"):
        assert before["record"]["closing"][part] == after["record"]["closing"][part], part


def test_a_sheet_from_before_has_no_such_part_and_opens_as_it_did(issued):
    older = {key: part for key, part in issued.items() if key not in ("after", "planned")}
    reply = ask(older, closed_block(older))
    assert not {"scale_lift", "scale_yield"} & set(reply["html"])
    assert "after" not in reply["record"] and reply["html"]["scale_record"] != ""


def test_earlier_blocks_of_the_formula_are_told_beside_this_one(issued):
    # By hand: the mean of 1.02, 1.04 and 1.06 is 1.040, their sample deviation 0.020; of another formula nothing is told.
    told = [{"of_formula": "Marsh Plain", "density_g_per_ml": each} for each in (1.02, 1.04, 1.06)]
    other = {"of_formula": "Reed Lavender", "density_g_per_ml": 0.9}
    state = demo_state() | {"record": issued, "events": closed_block(issued, *CUT), "set_soap": [*told, other]}
    text = plain(door("at_the_scale", {"batch": issued["code"], "block": "1"}, state)["html"]["scale_yield"])
    assert "1.040 g/mL ± 0.020 g/mL, 3 blocks" in text
