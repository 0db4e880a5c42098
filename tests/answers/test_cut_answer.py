"""The cut plan through the door: with the demo's frames, with others, and handed on to the batch sheet."""

import copy
import json
import re
from typing import Any
from urllib.parse import parse_qs

import pytest

from answers.demo import BATCH_VALUES, CUT_VALUES, DEMO_NOW, demo_state
from answers.door import answer


def asked(values: dict[str, str], task: str = "cut_plan", language: str = "en", **changed: Any) -> dict[str, Any]:
    state = copy.deepcopy(demo_state()) | changed
    reply: dict[str, Any] = json.loads(answer(json.dumps({"task": task, "values": values, "state": state, "now": DEMO_NOW, "language": language})))
    assert "fault" not in reply, reply
    return reply


def words(reply: dict[str, Any]) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", reply["html"]["cut_plan"]).replace("\N{NO-BREAK SPACE}", " ").split())


def sheet(reply: dict[str, Any]) -> tuple[str, dict[str, str]]:
    """The formula and what else the batch sheet's address puts in."""
    (found,) = re.findall(r'href="[^"]*batch/#([^"?]+)\?([^"]+)"', reply["html"]["cut_plan"])
    query = parse_qs(found[1].replace("&amp;", "&"), keep_blank_values=True)
    return found[0], {name: value[0] for name, value in query.items()}


def codes(reply: dict[str, Any]) -> set[tuple[str, str]]:
    return {(each["field"], each["code"]) for each in reply["problems"]}


def test_the_demo_block_by_its_best_frames_and_the_others_after_them():
    # By hand: 590/25 = 23, 390/75 = 5, and the block that 200 mm of batter sets to holds 3 of 60; 25 x 75 x 60 mm at 1.04.
    said = words(asked(CUT_VALUES))
    assert said.startswith("345 bars, 117 g each, fresh.")
    assert "Loaves 15 23 bars each" in said
    assert re.search(r"276 bars , 81 % is bars Loaf frame 90 × 60 mm", said)
    # The frame for 90 mm chosen: 4 across.
    assert words(asked(CUT_VALUES | {"loaf_frame": "l-tall"})).startswith("276 bars, 140 g each, fresh.")


def test_the_sheet_counts_the_bars_of_the_plan():
    for values, bars in ((CUT_VALUES, 345), (CUT_VALUES | {"loaf_frame": "l-tall"}, 276), (CUT_VALUES | {"cutter": "c-frames"}, 276)):
        formula, handed = sheet(asked(values))
        order = BATCH_VALUES | {"formula": formula} | handed
        html = asked(order, "batch_sheet")["html"]["batch_sheet"]
        assert re.search(rf"<dt>Bars(?: of [^<]+)?</dt><dd>{bars}</dd>", html), values


def test_bars_wanted_are_a_filled_order():
    # 92 bars a layer of the tall ones: 150 are two layers, 130 mm set; 130/(1 - 3.6 %) and 2 is 136.9.
    formula, handed = sheet(asked(CUT_VALUES | {"loaf_frame": "l-tall", "bars_wanted": "150"}))
    assert formula == "f-marsh-plain"
    assert handed["blocks"] == "1" and handed["scale_to"] == "fill_height" and handed["mould"] == "m-block"
    assert handed["fill_height_mm"] == "137" and handed["fill_height_mm.unit"] == "mm"
    assert (handed["loaf_frame"], handed["bar_frame"], handed["cutter"]) == ("l-tall", "b-25", "")
    html = asked(BATCH_VALUES | {"formula": formula} | handed, "batch_sheet")["html"]["batch_sheet"]
    assert re.search(r"<dt>Bars(?: of [^<]+)?</dt><dd>184</dd>", html)


def test_the_fill_is_handed_on_as_it_was_typed_or_not_at_all():
    # 200 mm, the mold's usual level, is 7.87401574803 in: nobody reads that off a rule.
    _, handed = sheet(asked(CUT_VALUES, units="us"))
    assert handed["scale_to"] == "blocks" and "fill_height_mm" not in handed
    typed = {"fill_height_mm": "19.5", "fill_height_mm.unit": "cm"}
    _, handed = sheet(asked(CUT_VALUES | typed, units="us"))
    assert handed["scale_to"] == "fill_height" and {name: handed[name] for name in typed} == typed


def test_an_order_of_two_blocks_is_told_as_a_whole_and_its_trim_by_block():
    # 115 bars a layer of the narrow ones: 346 are over the 345 of one block, so two blocks of two layers each.
    said = words(asked(CUT_VALUES | {"bars_wanted": "346"}))
    assert said.startswith("460 bars, 117 g each, fresh.")
    assert "2 blocks filled to 137 mm , 33 kg of batter each: 460 bars for 346 wanted. One block less gives 345 bars." in said
    # 600 x 400 x 137 mm of batter, all but 230 bars of 117 g: 32.96 - 26.91.
    assert "Trim of a block 6 kg" in said and "Loaves of a block 10" in said and "Block mold, filled to 137 mm." in said


def test_bars_that_only_weigh_enough_on_average_are_told_so():
    # 105.3 g at sale in the middle; wires half a millimetre off in each direction make 102.
    said = words(asked(CUT_VALUES | {"sold_bar_g": "105", "sold_bar_g.unit": "g"}))
    assert "these bars weigh that on average, a light one 102 g at sale" in said
    assert "these bars weigh enough" in words(asked(CUT_VALUES | {"sold_bar_g": "100", "sold_bar_g.unit": "g"}))


def test_bars_of_several_sizes_are_not_announced_as_one():
    spaces = {f"spaces.{n}.space_mm": size for n, size in enumerate(("60", "120", "190"))}
    frame = {"name": "Mixed", "level_pitch_mm": "60", "cuts_with": "wire", "trim_mm": "5"} | spaces
    frame |= {f"{name}.unit": "mm" for name in ("level_pitch_mm", "trim_mm", *spaces)}
    assert words(asked(CUT_VALUES, loaf_frame=[{"id": "l", "values": frame}], cutter=[])).startswith("207 bars. Trim:")


def test_wires_that_do_not_hang_yet_are_handed_to_no_sheet():
    reply = asked(CUT_VALUES | {"loaf_frame": "l-tall", "sold_bar_g": "150", "sold_bar_g.unit": "g"})
    # 150/0.9 = 166.7 g, 160.3 cm³ over 90 x 60: 29.68 mm, up to 29.7.
    assert "Hang the wires 29.7 mm apart" in words(reply)
    _, handed = sheet(reply)
    assert (handed["loaf_frame"], handed["bar_frame"], handed["cutter"]) == ("", "", "")


def test_us_units_are_spoken_throughout():
    said = words(asked(CUT_VALUES, units="us"))
    assert said.startswith("345 bars, 4.1 oz each, fresh.")
    assert not re.search(r"\d (mm|g|kg)\b(?!/)", re.sub(r"Loaf frame \d+ × \d+ mm|Bar frame \d+ mm", "", said))
    assert re.search(r"from the stop", asked(CUT_VALUES, units="us")["html"]["cut_plan"])


def test_each_cut_tells_its_measure():
    html = asked(CUT_VALUES)["html"]["cut_plan"].replace("\N{NO-BREAK SPACE}", " ")
    measures = set(re.findall(r'data-measure="([^"]+)"', html))
    # 24 along the length, 6 across, 4 up: one more than pieces, for the trim at either end.
    assert len(measures) == 24 + 6 + 4
    assert {"5 mm along the length, from the stop", "80 mm across the width, from the stop", "65 mm up from the bottom"} <= measures


@pytest.mark.parametrize(
    ("changed", "values", "problem"),
    [
        ({"loaf_frame": [], "bar_frame": [], "cutter": []}, {}, ("loaf_frame", "no-frame")),
        ({"bar_frame": [], "cutter": []}, {}, ("bar_frame", "one-frame-only")),
        ({"bar_frame": []}, {"loaf_frame": "l-tall"}, ("bar_frame", "one-frame-only")),
        ({}, {"loaf_frame": "gone"}, ("loaf_frame", "loaf-frame-missing")),
        ({}, {"mould": "gone"}, ("mould", "mould-missing")),
        ({"shop": []}, {}, ("", "shop-missing")),
    ],
)
def test_what_is_missing_is_told_at_its_field(changed, values, problem):
    assert problem in codes(asked(CUT_VALUES | values, **changed))


def test_a_workshop_that_has_only_a_cutter_gets_its_plan():
    said = words(asked(CUT_VALUES, loaf_frame=[], bar_frame=[]))
    assert said.startswith("276 bars, 140 g each, fresh.")


def test_one_frame_on_a_sheet_asks_for_the_other():
    assert codes(asked(BATCH_VALUES | {"loaf_frame": "l-tall"}, "batch_sheet")) == {("bar_frame", "one-frame-only")}


def test_without_a_formula_the_plan_stands_and_no_sheet_is_offered():
    reply = asked({"mould": "m-block"})
    assert "counted as high as it was filled" in words(reply) and "batch/#" not in reply["html"]["cut_plan"]


def test_a_free_height_and_thousands_of_cuts_are_drawn_all_the_same():
    frame = {"name": "Fine", "pitch_mm": "3", "pitch_mm.unit": "mm", "cuts_with": "wire", "trim_mm": "0", "trim_mm.unit": "mm"}
    mould = {"name": "Long", "fill_height_mm": "60", "fill_height_mm.unit": "mm"}
    mould |= {f"{side}_mm": value for side, value in (("length", "3000"), ("width", "3000"), ("height", "70"))}
    mould |= {f"{side}_mm.unit": "mm" for side in ("length", "width", "height")}
    reply = asked(
        {"mould": "m"}, mould=[{"id": "m", "values": mould}], loaf_frame=[{"id": "l", "values": frame}], bar_frame=[{"id": "b", "values": frame}], cutter=[]
    )
    assert "1000000 bars" in words(reply)
    assert len(reply["html"]["cut_plan"]) < 60_000


def test_from_three_weighed_blocks_on_the_plan_and_the_sheet_go_by_the_workshops_own_soap():
    def told(*found: float) -> list[dict[str, Any]]:
        return [{"of_formula": "Marsh Plain", "density_g_per_ml": each} for each in found]

    # Row own_blocks_least, common practice: three. 25 x 75 x 60 mm at 1.02 is 114.75 g, at the workshop's 1.04 117 g.
    few = words(asked(CUT_VALUES, set_soap=told(1.02, 1.02)))
    assert few.startswith("345 bars, 117 g each, fresh.") and "from 3 blocks of this formula on" in few and "2 are weighed." in few
    own = words(asked(CUT_VALUES, set_soap=told(1.01, 1.02, 1.02, 1.03)))
    assert own.startswith("345 bars, 115 g each, fresh.") and "from 4 blocks of yours" in own
    other = words(asked(CUT_VALUES | {"formula": "f-reed-lavender"}, set_soap=told(1.01, 1.02, 1.02, 1.03)))
    assert "of yours" not in other
    order = BATCH_VALUES | {"cutter": "", "loaf_frame": "l-square", "bar_frame": "b-25"}
    html = asked(order, "batch_sheet", set_soap=told(1.01, 1.02, 1.02, 1.03))["html"]["batch_sheet"].replace("\N{NO-BREAK SPACE}", " ")
    assert "<dt>Bars of 115 g</dt><dd>345</dd>" in html and "from 4 blocks of yours" in html
