"""The cut that a sheet plans, against the plan's own."""

from workshops import MOULD, SHOP, order, setting

from calc.batch.sheet import batch_sheet
from calc.cut.planned import planned_way
from cut.test_ways import bar, loaf


def test_a_sheet_with_frames_counts_the_bars_that_are_planned() -> None:
    # By hand: 23 x 4 x 3 of 25 x 90 x 60 mm; set at 1.04 the block sinks from 200 to 193 mm, and three layers take 190.
    sheet = batch_sheet(order(), setting(frames=(loaf(), bar())))
    planned = planned_way(MOULD, 200.0, SHOP, sheet.batter_g / sheet.batter_ml, loaf(), bar())
    assert planned is not None and (planned.bars, planned.loaves) == (276, 12)
    assert sheet.bars is not None and sheet.bars.total == 276
    # At 196 mm it sinks under that, and a layer is lost; a mould's fill by itself would still give three.
    low = planned_way(MOULD, 196.0, SHOP, sheet.batter_g / sheet.batter_ml, loaf(), bar())
    assert low is not None and low.bars == 184


def test_no_bar_no_way() -> None:
    assert planned_way(MOULD, 30.0, SHOP, None, loaf(), bar()) is None
    sheet = batch_sheet(order(scale_to="fill_height", fill_height_mm=40.0), setting(frames=(loaf(), bar())))
    assert sheet.bars is not None and sheet.bars.total == 0 and sheet.bar_g is None
    assert "no-whole-bar" in {each.code for each in sheet.cautions}
