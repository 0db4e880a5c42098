"""The cut that a sheet plans, against the plan's own."""

from dataclasses import replace

import pytest
from workshops import MOULD, SHOP, order, setting

from calc.batch.sheet import batch_sheet
from calc.cut.block import remembered, soap_of
from calc.cut.planned import planned_cut
from cut.test_ways import bar, loaf


def test_a_sheet_with_frames_counts_the_bars_that_are_planned() -> None:
    # By hand: 23 x 4 x 3 of 25 x 90 x 60 mm; set at 1.04 the block sinks from 200 to 193 mm, and three layers take 190.
    sheet = batch_sheet(order(), setting(frames=(loaf(), bar())))
    soap = soap_of(SHOP, sheet.batter_g / sheet.batter_ml)
    planned = planned_cut(MOULD, 200.0, soap, (loaf(), bar()))
    assert planned is not None and (planned.way.bars, planned.way.loaves) == (276, 12)
    assert sheet.bars is not None and sheet.bars.total == 276
    # At 196 mm it sinks under that, and a layer is lost; a mould's fill by itself would still give three.
    low = planned_cut(MOULD, 196.0, soap, (loaf(), bar()))
    assert low is not None and low.way.bars == 184


def test_no_bar_no_way() -> None:
    assert planned_cut(MOULD, 30.0, soap_of(SHOP, None), (loaf(), bar())) is None
    sheet = batch_sheet(order(scale_to="fill_height", fill_height_mm=40.0), setting(frames=(loaf(), bar())))
    assert sheet.bars is not None and sheet.bars.total == 0 and sheet.bar_g is None
    assert "no-whole-bar" in {each.code for each in sheet.cautions}


def test_a_cutter_of_three_distances_counts_as_two_frames_of_them_do() -> None:
    # 25, 90 and 60 mm with 5 mm of trim, by either declaration; 196 mm of batter sink under what three layers take.
    for fill_mm, bars in ((200.0, 276), (196.0, 184)):
        ordered = order(scale_to="fill_height", fill_height_mm=fill_mm)
        by_cutter, by_frames = (batch_sheet(ordered, setting(**tools)) for tools in ({}, {"frames": (loaf(), bar())}))
        assert by_cutter.bars is not None and by_frames.bars is not None
        assert by_cutter.bars.total == by_frames.bars.total == bars
        assert by_cutter.bar_g == by_frames.bar_g == pytest.approx(140.4)


def test_a_sheet_counts_by_the_workshops_own_soap_where_it_is_known() -> None:
    # Row F2's bar of 135 cm³; three blocks of this formula at 1.02 set at 1.02: 137.7 g.
    sheet = batch_sheet(order(), setting(own_soap=remembered([1.02, 1.02, 1.02])))
    assert sheet.bar_g == pytest.approx(137.7)
    unknown = setting(shop=replace(SHOP, set_density_g_per_ml=None))
    assert "assumed-density" in {each.code for each in batch_sheet(order(), unknown).cautions}
    known = replace(unknown, own_soap=remembered([1.01, 1.02, 1.03]))
    assert "assumed-density" not in {each.code for each in batch_sheet(order(), known).cautions}
