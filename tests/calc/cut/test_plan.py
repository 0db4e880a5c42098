"""The plan as a whole: what it tells, what it refuses, and what it marks."""

from dataclasses import replace

import pytest
from workshops import MOULD, SHOP

from calc.cut.plan import CutPlan, CutSetting, cut_plan
from calc.cut.question import CutQuestion
from calc.cut.ways import OwnFrames
from calc.entry.problems import InputProblems
from cut.test_ways import bar, loaf, own


def setting(**changed: object) -> CutSetting:
    known = replace(SHOP, cure_loss_fraction=0.1)
    return replace(CutSetting(MOULD, own(loaf(), bar()), known, None), **changed)


def plan(given: CutSetting | None = None, **asked: object) -> CutPlan:
    return cut_plan(CutQuestion(mould="m", **asked), given or setting())


def test_the_demo_block_is_bars_of_the_check_values() -> None:
    # Row F2's bar of 140.4 g; by hand 23 x 4 x 3 of them in 48 L at 1.04, the rest is trim; a tenth is lost in cure.
    found = plan()
    assert (found.way.bars, found.way.loaves) == (276, 12)
    assert [each.fresh_g.used for each in found.sizes] == pytest.approx([140.4])
    assert found.sizes[0].sold_g.used == pytest.approx(126.36)
    assert found.trim_g == pytest.approx(48_000.0 * 1.04 - 276 * 140.4)
    assert found.cut_g == 0.0


def test_the_block_is_as_heavy_as_its_batter_where_a_formula_is_known() -> None:
    found = plan(setting(batter_g_per_ml=1.008))
    assert found.block.mass_g(found.block.volume_ml) == pytest.approx(48_000.0 * 1.008)
    assert found.sinks_fraction == pytest.approx(1.0 - 1.008 / 1.04)
    assert plan(setting(batter_g_per_ml=1.008), sinks_fraction=0.0).block.height_mm == 200.0


def test_a_layer_that_dense_soap_would_cost_is_told() -> None:
    # Nobody weighed a bar: set soap of 1.1 sinks by 8.4 %, to 183 mm, and three layers with trim take 190.
    unknown = replace(SHOP, set_density_g_per_ml=None)
    found = plan(setting(shop=unknown, batter_g_per_ml=1.008))
    assert found.way.bars == 276 and [each.code for each in found.cautions] == ["block-may-sink"]
    assert "184 bars" in found.cautions[0].message
    assert plan(setting(batter_g_per_ml=1.008)).cautions == ()


def test_an_assumed_mould_is_told() -> None:
    found = plan(setting(mould=replace(MOULD, figures="assumed")))
    assert [each.code for each in found.cautions] == ["assumed-mould"]


def test_bars_too_light_are_counted_with_wires_hung_for_the_weight() -> None:
    # 180 g at sale, a tenth lost: 200 g fresh, 192.3 cm³ over 90 by 60 is 35.61 mm, up to a tenth 35.7: 590/35.7 = 16.5.
    found = plan(sold_bar_g=180.0, bars_wanted=100)
    assert found.wanted is not None and not found.wanted.heavy_enough
    assert found.wanted.pitch_mm == pytest.approx(35.7)
    # 64 a layer: a hundred are two layers of 60, trimmed by 10, and 2 for the level of the fill.
    assert found.way.grid == (16, 4, 2) and found.fill_mm == 132.0 and found.sizes[0].sold_g.used >= 180.0
    # The frames as they are stand with the other ways: 23 x 4 x 2 and 15 x 6 x 2.
    assert [way.bars for way in found.others] == [184, 180]


def test_frames_that_give_the_weight_as_they_are_go_before_wires_hung_anew() -> None:
    # 25 x 75 x 60 mm at 1.04 are 117 g, 105 at sale; 25 x 90 x 60 are 140.4 g, 126 at sale. The narrower ones waste less.
    frames = OwnFrames({"narrow": loaf(75.0), "wide": loaf()}, {"b": bar()}, {})
    assert plan(setting(frames=frames)).way.bars == 345
    assert plan(setting(frames=frames), sold_bar_g=100.0).way.bars == 345
    found = plan(setting(frames=frames), sold_bar_g=120.0)
    assert found.wanted is not None and found.wanted.heavy_enough and found.way.ids["loaf_frame"] == "wide"
    # What wastes less is no advice where its bars are too light.
    assert found.better is None and found.lightest_sold_g >= 120.0
    assert [found.too_light(way) for way in found.others if way.ids["loaf_frame"] == "narrow"] == [True, True]
    # 126 g in the middle; wires half a millimetre off make a light one of 122: said so.
    assert plan(setting(frames=frames), sold_bar_g=125.0).lightest_sold_g < 125.0


def test_nobody_who_wants_a_weight_is_told_to_make_lighter_bars() -> None:
    # 85 apart leaves 390 - 4 x 85 = 50: five of 78 are nearer than four of 97.5, and lighter.
    frames = own(loaf(85.0), bar())
    found = plan(setting(frames=frames)).pitch
    assert found is not None and found.bar_fraction < 1.0
    assert plan(setting(frames=frames), sold_bar_g=100.0).pitch is None


def test_an_order_is_planned_as_it_is_filled() -> None:
    # 92 a layer: 150 are two layers, 5 + 120 + 5 and 2 for the level of the fill.
    found = plan(bars_wanted=150)
    assert found.wanted is not None and (found.fill_mm, found.block.height_mm) == (132.0, 132.0)
    assert found.way.bars == found.wanted.all_bars == 184
    assert found.trim_g == pytest.approx((600.0 * 400.0 * 132.0 - 184 * 25.0 * 90.0 * 60.0) * 1.04e-3)
    # Nobody who wants 150 is told how to make more.
    assert found.higher is None and found.lower is None


def test_an_order_is_filled_so_that_no_layer_is_lost_however_dense_the_soap_may_be() -> None:
    # Set soap of up to 1.1 g/ml from batter of 1.008: 130 x 1.1 / 1.008 = 141.9, and 2.
    found = plan(setting(shop=replace(SHOP, set_density_g_per_ml=None), batter_g_per_ml=1.008), bars_wanted=150)
    assert found.fill_mm == 144.0 and found.way.bars == 184 and found.cautions == ()


def test_what_is_chosen_comes_first_and_what_wastes_less_is_named() -> None:
    # By hand: 24 x 4 x 3 of 25 mm without trim along the loaf is 288 of 23 x 4 x 3 = 276.
    frames = OwnFrames({"l": loaf()}, {"b": bar(), "clean": bar(trim=0.0)}, {})
    assert plan(setting(frames=frames)).way.bars == 288 and plan(setting(frames=frames)).better is None
    found = plan(setting(frames=frames), bar_frame="b")
    assert found.way.bars == 276 and found.better is not None
    assert (found.better.ids["bar_frame"], found.better.bars) == ("clean", 288)


@pytest.mark.parametrize(
    ("asked", "given", "problem"),
    [
        ({"fill_height_mm": 211.0}, {}, ("fill_height_mm", "fill-over-height")),
        ({"fill_height_mm": 60.0}, {}, ("loaf_frame", "no-whole-bar")),
        ({}, {"frames": own(loaf(700.0), bar())}, ("loaf_frame", "no-whole-bar")),
        ({"sold_bar_g": 5_000.0}, {}, ("sold_bar_g", "no-such-bar")),
    ],
)
def test_what_gives_no_bar_is_told_at_its_field(asked: dict[str, object], given: dict[str, object], problem: tuple[str, str]) -> None:
    with pytest.raises(InputProblems) as faults:
        plan(setting(**given), **asked)
    assert [(each.field, each.code) for each in faults.value.problems] == [problem]


def test_bars_that_there_is_no_wire_for_are_not_counted_and_told() -> None:
    # By hand: 11 wires cut a loaf, its ends trimmed, into 10 bars of 25 mm: lengthwise 10 of 23 by 4 by 3, across 10 of 15 by
    # 6 by 3, which wastes less.
    found = plan(setting(frames=own(loaf(), bar(wires=11))))
    assert found.way.bars == 180
    few = next(each for each in found.cautions if each.code == "few-wires")
    assert "B has 11 wires" in few.message
    # Wires wider apart use the loaf up: 390/10.
    assert found.pitch is not None and (found.pitch.pieces, found.pitch.pitch_mm) == (10, pytest.approx(39.0))
    assert plan(setting(frames=own(loaf(wires=5, level_wires=4), bar(wires=24)))).way.bars == 276
