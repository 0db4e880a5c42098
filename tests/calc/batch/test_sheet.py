"""The batch sheet against the example block, published ranges and hand-worked cases."""

import csv
import math
import re
from dataclasses import replace

import periodictable
import pytest
from uncertainties import ufloat
from workshops import CUTTER, FLAKE, FLOOR, LYE, MOULD, POTASH, SHOP, VESSEL, order, setting

from calc.batch.sheet import batch_sheet
from calc.entry.problems import InputProblems
from calc.formula.declaration import AdditiveShare, OilShare
from calc.shared import REFERENCE
from calc.workshop.equipment import ScaleItem
from calc.workshop.habits import USUAL_HABITS

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}

# Set soap no denser than the batter (1.008 g/ml, row E2): the block stays as high as it was filled.
STAYS = replace(SHOP, set_density_g_per_ml=1.0)
NAOH, KOH = periodictable.formula("NaOH").mass, periodictable.formula("KOH").mass


def example_sheet():
    """The example block ordered by its mass: 34 980 g of oils and the lye they need for 5 %."""
    return batch_sheet(order(scale_to="batch_mass", batch_mass_g=34_980.0 + 15_037.2), setting())


def codes(faults: InputProblems) -> set[tuple[str, str]]:
    return {(problem.field, problem.code) for problem in faults.problems}


def test_example_block_comes_out_as_in_the_reference():
    # By hand: 45, 30 and 25 % of 34.98 kg to the nearest 20 g are olive 15.74, palm 10.50, coconut 8.74 kg.
    sheet = example_sheet()
    assert [pour.texts for pour in sheet.pours[:-1]] == [("15.74 kg",), ("10.50 kg",), ("8.74 kg",)]
    # Exact need for 5 %: 15.0372 kg, reckoned from the oils as rounded, of which 14.28 kg first and 0.7572 kg at the end
    # (row E5 of physics_check_values.csv).
    lye = sheet.pours[-1]
    assert lye.exact_g == pytest.approx(15_037.2, abs=0.5)
    assert lye.texts == ("14.28 kg", "757 g")
    assert lye.target_g == 15_037.0
    # By hand: 0.2 g too little of 15 037.2 g is 0.95 · 0.2/15 037 of the demand.
    assert sheet.rounding_fraction == pytest.approx(0.95 * (lye.exact_g - 15_037.0) / lye.exact_g, rel=1e-9)
    assert 0.0 <= sheet.superfat.value - 0.05 < 0.95 / 15_037


def test_lye_poured_whole_is_rounded_down_and_the_shift_is_told():
    # Exactly 15 037.2 g by 20 g: 15.02 kg, not 15.04. By hand: 1 - 0.95 · 15.02/15.0372 = 5.109 %.
    whole = setting(habits=replace(USUAL_HABITS, hold_back_fraction=0.0))
    sheet = batch_sheet(order(scale_to="batch_mass", batch_mass_g=34_980.0 + 15_037.2), whole)
    assert sheet.pours[-1].texts == ("15.02 kg",)
    assert 100 * sheet.superfat.value == pytest.approx(5.109, abs=0.004)
    assert 100 * sheet.rounding_fraction == pytest.approx(0.109, abs=0.004)


def test_a_display_too_coarse_for_the_lye_is_cautioned():
    # 400 g of oils take some 166 g of lye: rounding down to 20 g costs up to 12 % of it. A fine scale beside it: none.
    small = order(scale_to="batch_mass", batch_mass_g=566.0)
    plain = replace(USUAL_HABITS, hold_back_fraction=0.0)
    coarse = batch_sheet(small, setting(scales=(FLOOR,), habits=plain))
    [found] = [caution for caution in coarse.cautions if caution.code == "lye-rounded"]
    lye = coarse.pours[-1]
    assert coarse.superfat.value == pytest.approx(0.05 + 0.95 * (lye.exact_g - lye.target_g) / lye.exact_g, abs=1e-9)
    assert f"{100 * (coarse.superfat.value - 0.05):.2f} percentage points" in found.message
    assert "lye-rounded" not in {caution.code for caution in batch_sheet(small, setting(habits=plain)).cautions}


@pytest.mark.parametrize("wanted", [100, 300])
def test_bars_are_counted_once_at_the_ordered_height(wanted):
    # By hand: no trim, pitch 25 x 100 x 100 mm in 600 x 400 x 200: 24 x 4 x 2 is 192. Rounding to 20 g leaves 199.9 mm.
    frames = replace(CUTTER, trim_mm=0.0, pitch_width_mm=100.0, pitch_height_mm=100.0)
    sheet = batch_sheet(order(scale_to="bars", bars_wanted=wanted), setting(cutter=frames, shop=STAYS))
    assert "192 a block" in sheet.size_note
    assert (sheet.bars.along, sheet.bars.across, sheet.bars.up, sheet.bars.total) == (24, 4, 2, 192)
    assert sheet.blocks * sheet.bars.total >= wanted
    high = batch_sheet(order(scale_to="fill_height", fill_height_mm=100.0), setting(cutter=frames, shop=STAYS))
    assert high.bars.up == 1


def test_bars_that_come_out_low_by_rounding_are_cautioned():
    # By hand: a scale of 1 kg may leave half a kilogram of each of four pours out, 2 kg of 50 kg: 8 mm of 200.
    frames = replace(CUTTER, trim_mm=0.0, pitch_height_mm=100.0)
    coarse = ScaleItem(name="Kg", capacity_g=150_000.0, division_g=1_000.0, reads_in="kg", accuracy_class="IIII")
    found = {
        height: batch_sheet(order(scale_to="fill_height", fill_height_mm=height), setting(cutter=frames, scales=(coarse,), shop=STAYS))
        for height in (100.0, 200.0)
    }
    for height, sheet in found.items():
        low = height - sheet.fill_height_mm >= 0.5
        assert low == ("bars-come-out-low" in {caution.code for caution in sheet.cautions}), height
    assert any(height - sheet.fill_height_mm >= 0.5 for height, sheet in found.items())
    assert "bars-come-out-low" not in {c.code for c in batch_sheet(order(), setting(cutter=frames, shop=STAYS)).cautions}


def test_example_block_has_the_limits_of_handbook_44():
    # NIST Handbook 44, 2.20, class III, maintenance, from memory: 1 d up to 500 d, 2 d up to 2000 d. At d = 20 g that is
    # ±40, ±40, ±20, ±40 g (as in row D1 of physics_check_values.csv); the top-up's 757 g by 1 g add ±2 g.
    assert [pour.limit_g for pour in example_sheet().pours] == [40.0, 40.0, 20.0, math.hypot(40.0, 2.0)]


def test_running_weight_is_what_the_display_shows_after_each_pour():
    assert [pour.running.text for pour in example_sheet().pours] == ["15.74 kg", "26.24 kg", "34.98 kg", "50.02 kg"]


def test_interval_agrees_with_the_uncertainties_library():
    # Linear GUM by an independent library (uncertainties), rectangular half widths a/√3, net resolution d/√6.
    sheet = example_sheet()
    u_mass = [math.hypot(limit / math.sqrt(3), 20 / math.sqrt(6)) for limit in (40, 40, 20, math.hypot(40, 2))]
    masses = [ufloat(m, u) for m, u in zip((15_740, 10_500, 8_740, 15_037), u_mass, strict=True)]
    values = [ufloat(v, a / math.sqrt(3)) for v, a in ((190, 6), (199.5, 9.5), (256.5, 8.5))]
    strength = ufloat(0.33, 0.001 / math.sqrt(3))
    demand = sum(m * v for m, v in zip(masses[:3], values, strict=True)) / 1000
    superfat = 1 - masses[3] * strength * (KOH / NAOH) / demand
    assert sheet.superfat.value == pytest.approx(superfat.nominal_value, abs=1e-6)
    assert sheet.superfat.standard_uncertainty == pytest.approx(superfat.std_dev, rel=1e-5)


def test_batter_density_matches_ideal_mixing_by_hand():
    # Ideal mixing by hand: liquid batter at 38 °C, 1.008 kg/L with the oils at 0.9097 g/ml; the table's middles for these
    # three, 20/20, 50/20 and 40/20 °C brought to 38 °C at 0.00065 g/ml/K, are 0.904 g/ml: 0.4 % lower.
    sheet = example_sheet()
    assert sheet.batter_g / sheet.batter_ml == pytest.approx(1.008 - 0.004, abs=0.002)


def test_usual_fill_of_the_mould_is_reached():
    # Rounding four pours to 20 g moves a 200 mm level by less than 0.2 mm (40 g of 50 kg each way).
    sheet = batch_sheet(order(), setting())
    assert sheet.fill_height_mm == pytest.approx(200.0, abs=0.2)


def test_mass_is_conserved():
    sheet = batch_sheet(order(), setting({"scent_fraction": 0.02}))
    assert sheet.batter_g == pytest.approx(sum(pour.target_g for pour in sheet.pours), rel=1e-12)
    # The scale under the vessel counts in 20 g: its display comes as near as that lets it.
    assert sheet.pours[-1].running.grams == pytest.approx(sheet.batter_g, abs=10.0)
    assert [pour.running.grams % 20.0 for pour in sheet.pours if pour.running is not None] == [0.0] * len(sheet.pours)
    assert sheet.vessel_scale.division_g == 20.0


def test_what_the_formula_says_of_temperatures_and_notes_is_on_the_sheet():
    sheet = batch_sheet(order(), setting({"oil_temperature_c": 44.0, "lye_temperature_c": 31.0, "notes": "No gel."}))
    assert (sheet.oil_temperature_c, sheet.lye_temperature_c, sheet.notes) == (44.0, 31.0, "No gel.")


def test_bars_of_a_block():
    # physics_check_values.csv F1 with kerf 0: 23 x 4 x 3 = 276; F2: 140.4 g at 1.04 g/ml.
    sheet = batch_sheet(order(), setting())
    assert sheet.bars is not None
    assert (sheet.bars.along, sheet.bars.across, sheet.bars.up) == (23, 4, 3)
    assert sheet.bar_g == pytest.approx(140.4)


def test_bars_wanted_round_up_to_whole_blocks():
    # 276 a block: 277 bars need two, 276 need one.
    assert batch_sheet(order(scale_to="bars", bars_wanted=277), setting()).blocks == 2
    assert batch_sheet(order(scale_to="bars", bars_wanted=276), setting()).blocks == 1


def test_stock_of_one_oil_says_how_many_blocks():
    # By hand: a quarter of some 34 kg of oils a block is 8.4 kg of coconut; 18.4 kg make two blocks, not three.
    sheet = batch_sheet(order(scale_to="oil_left", oil_left="coconut", oil_left_g=18_400.0), setting())
    assert sheet.blocks == 2
    assert "2 full blocks" in sheet.size_note


def test_stock_for_less_than_a_block_makes_a_smaller_one():
    sheet = batch_sheet(order(scale_to="oil_left", oil_left="coconut", oil_left_g=4_000.0), setting())
    assert sheet.blocks == 1
    assert next(p for p in sheet.pours if p.name.startswith("Coconut")).target_g == 4_000.0


@pytest.mark.parametrize("oils", ["each", "blend"])
@pytest.mark.parametrize("blocks", [0.6, 1, 2, 4])
@pytest.mark.parametrize("off_g", [-11.0, 0.0, 1.0, 9.0])
def test_an_order_for_what_is_left_of_an_oil_never_takes_more_and_says_what_stays(oils, blocks, off_g):
    # What the display of 20 g shows, times the blocks, is what is taken; what stays is the rest of what there was.
    made_for = setting(habits=replace(USUAL_HABITS, oils=oils))
    [usual] = [pour for pour in batch_sheet(order(), made_for).pours if pour.name.startswith("Coconut")]
    left_g = blocks * usual.exact_g + off_g
    sheet = batch_sheet(order(scale_to="oil_left", oil_left="coconut", oil_left_g=left_g), made_for)
    [coconut] = [pour for pour in sheet.pours if pour.name.startswith("Coconut")]
    rest_g = left_g - sheet.blocks * coconut.target_g
    assert 0.0 <= rest_g < coconut.target_g
    said = re.search(r"with ([\d.]+) (k?g) left over", sheet.size_note)
    assert (said is None) == ("isn't enough" in sheet.size_note)
    if said:
        # As it is shown, in four figures.
        assert float(said[1]) * (1000.0 if said[2] == "kg" else 1.0) == pytest.approx(rest_g, rel=1e-3)
    else:
        assert rest_g <= 20.0


def test_solid_caustic_is_made_into_lye_first_water_before_caustic():
    # Usual caution (NIOSH and supplier sheets): caustic goes into water, never the reverse.
    sheet = batch_sheet(order(), setting(alkali_lots={"naoh": FLAKE}))
    assert [pour.phase for pour in sheet.pours[:2]] == ["lye", "lye"]
    assert sheet.pours[0].key == "water"
    assert sheet.pours[1].key == "lye:naoh"


def test_solid_caustic_is_enlarged_by_what_is_not_hydroxide():
    # A10: 98.0 % total alkali with 0.5 % Na2CO3 is 97.623 % hydroxide.
    sheet = batch_sheet(order(), setting(alkali_lots={"naoh": FLAKE}))
    flake = next(pour for pour in sheet.pours if pour.key == "lye:naoh")
    assert sheet.naoh_g / flake.exact_g == pytest.approx(0.97623, abs=1e-5)


def test_both_alkalis_share_by_equivalents():
    # 10 % of the equivalents as KOH: moles KOH / (moles NaOH + moles KOH) = 0.1.
    both = setting({"alkali": "both", "koh_share_fraction": 0.1}, alkali_lots={"naoh": FLAKE, "koh": POTASH})
    sheet = batch_sheet(order(), both)
    assert (sheet.koh_g / KOH) / (sheet.koh_g / KOH + sheet.naoh_g / NAOH) == pytest.approx(0.1, rel=1e-5)


def test_premixed_lye_stronger_than_stated_takes_water():
    sheet = batch_sheet(order(), setting({"lye_strength_fraction": 0.30}))
    water = next(pour for pour in sheet.pours if pour.key == "water")
    lye = next(pour for pour in sheet.pours if pour.key == "lye:naoh")
    # By hand: 33 % lye diluted to 30 % takes 0.1 g of water a gram (0.33/0.30 - 1).
    assert water.exact_g / lye.exact_g == pytest.approx(0.1, rel=1e-9)


def test_citric_acid_takes_its_own_lye():
    # 1 g of anhydrous citric acid (192.12 g/mol, three acid groups) takes 3 * 39.997 / 192.12 g of NaOH.
    citric = AdditiveShare(kind="citric_anhydrous", share_fraction=0.02)
    plain = batch_sheet(order(scale_to="batch_mass", batch_mass_g=50_000.0), setting())
    with_acid = batch_sheet(order(scale_to="batch_mass", batch_mass_g=50_000.0), setting({"additives": (citric,)}))
    per_oil = [sheet.naoh_g / sheet.oils_g for sheet in (plain, with_acid)]
    assert per_oil[1] - per_oil[0] == pytest.approx(0.02 * 3 * 39.997 / 192.12, rel=2e-3)
    assert with_acid.superfat.value == pytest.approx(0.05, abs=0.001)


def test_late_fat_counts_among_all_oils():
    late = (
        OilShare(oil="olive", share_fraction=0.40, added="main"),
        OilShare(oil="olive", share_fraction=0.05, added="late"),
        OilShare(oil="palm", share_fraction=0.30, added="main"),
        OilShare(oil="coconut", share_fraction=0.25, added="main"),
    )
    plain = batch_sheet(order(), setting())
    sheet = batch_sheet(order(), setting({"oils": late}))
    # The same lye per oils to within the rounding of five pours, and the late one is poured last.
    assert sheet.naoh_g / sheet.oils_g == pytest.approx(plain.naoh_g / plain.oils_g, rel=1e-3)
    assert sheet.pours[-1].phase == "trace"


def test_free_lye_is_flagged_when_the_interval_reaches_zero():
    # D4/D5: u = 1.24 points for these ranges, so that 2 % superfat reaches below zero.
    assert batch_sheet(order(), setting({"superfat_fraction": 0.02})).free_lye_possible
    assert not batch_sheet(order(), setting()).free_lye_possible


@pytest.mark.parametrize(
    ("order_changes", "setting_changes", "expected"),
    [
        # higher than the mould
        ({"scale_to": "fill_height", "fill_height_mm": 215.0}, {}, ("fill_height_mm", "mould-overflows")),
        ({"scale_to": "batch_mass", "batch_mass_g": 60_000.0}, {}, ("batch_mass_g", "mould-overflows")),
        # more than the vessel holds
        ({}, {"vessel": type(VESSEL)(name="Small", capacity_ml=20_000.0, tare_g=4_000.0)}, ("vessel", "vessel-overflows")),
        # no lot, or a lot of the other alkali
        ({}, {"alkali_lots": {}}, ("naoh_lot", "alkali-lot-missing")),
        ({}, {"alkali_lots": {"naoh": POTASH}}, ("naoh_lot", "alkali-lot-missing")),
        # an oil that the formula lacks
        ({"scale_to": "oil_left", "oil_left": "castor", "oil_left_g": 1000.0}, {}, ("oil_left", "oil-not-in-formula")),
        # bars without a cutter
        ({"scale_to": "bars", "bars_wanted": 10}, {"cutter": None}, ("cutter", "cutter-missing")),
        # no scale at all
        ({}, {"scales": ()}, ("", "no-scale")),
        # a scale that can't carry the vessel
        ({}, {"scales": (ScaleItem(name="Small", capacity_g=30_000.0, division_g=10.0, reads_in="kg",
                                   accuracy_class="III"),)}, ("", "over-capacity")),
    ],
)  # fmt: skip
def test_what_cannot_be_made_is_a_problem(order_changes, setting_changes, expected):
    with pytest.raises(InputProblems) as faults:
        batch_sheet(order(**order_changes), setting(**setting_changes))
    assert expected in codes(faults.value)


def test_premix_weaker_than_the_stated_strength_is_refused():
    with pytest.raises(InputProblems) as faults:
        batch_sheet(order(), setting({"lye_strength_fraction": 0.40}))
    assert ("naoh_lot", "premix-too-weak") in codes(faults.value)


def test_small_amounts_go_to_a_finer_scale():
    # R 76: minimum load 20 e, 400 g at e = 20 g: 250 g of scent belongs on the fine scale.
    sheet = batch_sheet(order(), setting({"scent_fraction": 0.0075}))
    assert sheet.pours[-1].key == "scent"
    assert sheet.pours[-1].scale == "Fine"


def test_small_amount_on_a_coarse_scale_is_cautioned():
    sheet = batch_sheet(order(), setting({"scent_fraction": 0.0075}, scales=(FLOOR,)))
    assert "under-minimum-load" in {caution.code for caution in sheet.cautions}


def test_scale_in_pounds_rounds_in_pounds():
    # 0.05 lb = 22.679618 g (international pound, NIST HB 44 App. C): every target is a whole number of them.
    pounds = ScaleItem(name="Lb", capacity_g=136_077.711, division_g=22.6796185, reads_in="lb", accuracy_class="III")
    sheet = batch_sheet(order(), setting(scales=(pounds,)))
    for pour in sheet.pours:
        steps = pour.target_g / 22.6796185
        assert steps == pytest.approx(round(steps), abs=1e-6)


def test_block_that_needs_more_stock_than_is_left_is_cautioned():
    lots = dict(setting().oil_lots)
    lots["coconut"] = type(lots["coconut"])(code="COC", oil="coconut", in_use="yes", left_g=8_000.0)
    sheet = batch_sheet(order(), setting(oil_lots=lots))
    assert "lot-too-small" in {caution.code for caution in sheet.cautions}


def test_mould_given_in_inches_gives_the_same_amounts():
    inches = type(MOULD)(
        name="Block",
        length_mm=600.0 / 25.4 * 25.4,
        width_mm=400.0 / 25.4 * 25.4,
        height_mm=210.0,
        fill_height_mm=200.0,
    )
    assert [p.target_g for p in batch_sheet(order(), setting(mould=inches)).pours] == [
        p.target_g for p in batch_sheet(order(), setting()).pours
    ]


def test_cutter_that_gives_no_bar_is_cautioned():
    # By hand: a 600 mm block less trim is shorter than a bar of 700 mm.
    long = type(CUTTER)(name="Long", pitch_length_mm=700.0, pitch_width_mm=90.0, pitch_height_mm=60.0, trim_mm=5.0,
                        kerf_mm=0.0)  # fmt: skip
    assert "no-whole-bar" in {caution.code for caution in batch_sheet(order(), setting(cutter=long)).cautions}
    assert "no-whole-bar" not in {caution.code for caution in batch_sheet(order(), setting()).cautions}


def test_block_too_low_to_be_meant_is_cautioned():
    # Common practice, no source: no bar is thinner than 10 mm.
    low = batch_sheet(order(scale_to="fill_height", fill_height_mm=8.0), setting())
    assert "very-low-fill" in {caution.code for caution in low.cautions}
    assert "very-low-fill" not in {caution.code for caution in batch_sheet(order(), setting()).cautions}


@pytest.mark.parametrize(
    ("without", "named"), [(["palm"], "Palm oil."), (["palm", "coconut"], "Palm oil, Coconut oil.")]
)
def test_oils_without_a_lot_are_cautioned_in_one_paragraph_that_names_each_once(without, named):
    lots = {key: lot for key, lot in setting().oil_lots.items() if key not in without}
    found = [c for c in batch_sheet(order(), setting(oil_lots=lots)).cautions if c.code == "oil-without-lot"]
    assert [c.message.split(": ")[1] for c in found] == [named]
    assert "oil-without-lot" not in {caution.code for caution in batch_sheet(order(), setting()).cautions}


def test_stock_for_one_block_is_said_in_the_singular():
    # By hand: 8.4 kg of coconut a block.
    sheet = batch_sheet(order(scale_to="oil_left", oil_left="coconut", oil_left_g=9_000.0), setting())
    assert "1 full block, with" in sheet.size_note


def test_stock_caution_says_what_is_off_a_lot_and_what_is_not():
    lots = dict(setting().oil_lots)
    lots["coconut"] = type(lots["coconut"])(code="COC", oil="coconut", in_use="yes", left_g=8_000.0)
    [found] = [c for c in batch_sheet(order(), setting(oil_lots=lots)).cautions if c.code == "lot-too-small"]
    # As stock reckons it: calc/stock/told.py. What only stands on a sheet is off no lot.
    assert "what closed blocks weighed" in found.reason and "sheets that wait aren't counted" in found.reason


def test_of_two_premixed_lyes_the_second_makes_up_what_the_display_of_the_first_cannot_show():
    potash = replace(LYE, code="KLYE", alkali="koh", strength_fraction=0.4)
    made_for = setting({"alkali": "both", "koh_share_fraction": 0.2, "lye_strength_fraction": 0.28}, alkali_lots={"naoh": LYE, "koh": potash})
    for mass_g in (15_666.0, 33_315.0, 45_969.0):
        sheet = batch_sheet(order(scale_to="batch_mass", batch_mass_g=mass_g), made_for)
        soda, caustic_potash = (next(pour for pour in sheet.pours if pour.key == f"lye:{alkali}") for alkali in ("naoh", "koh"))
        # Grams of NaOH that the first leaves open, as grams of a 40 % potash lye: molar masses 39.997 and 56.106 g/mol (IUPAC 2021).
        open_g = (soda.exact_g - soda.target_g) * 0.33 / 39.997 * 56.106 / 0.4
        off_g = caustic_potash.exact_g + open_g - caustic_potash.target_g
        last_g = caustic_potash.portions[-1].display.grams(caustic_potash.portions[-1].display.division)
        assert -1e-6 <= off_g < last_g + 1e-3


def test_a_mix_of_caustics_that_rounding_changes_is_cautioned_and_the_pure_hydroxide_is_that_of_the_pours():
    potash = replace(LYE, code="KLYE", alkali="koh", strength_fraction=0.4)
    made_for = setting(
        {"alkali": "both", "koh_share_fraction": 0.05, "lye_strength_fraction": 0.28},
        alkali_lots={"naoh": LYE, "koh": potash},
        habits=replace(USUAL_HABITS, hold_back_fraction=0.0),
    )
    told = {}
    for mass_g in (*range(10_000, 16_000, 500), 50_000):
        sheet = batch_sheet(order(scale_to="batch_mass", batch_mass_g=mass_g), made_for)
        soda, caustic_potash = (next(pour for pour in sheet.pours if pour.key == f"lye:{alkali}") for alkali in ("naoh", "koh"))
        # By hand: a 33 % soda lye and a 40 % potash lye, as much of each as the displays show.
        assert sheet.hydroxide.naoh_g == pytest.approx(0.33 * soda.target_g, rel=1e-9)
        assert sheet.hydroxide.koh_g == pytest.approx(0.4 * caustic_potash.target_g, rel=1e-9)
        off = max(abs(pour.target_g / pour.exact_g - 1.0) for pour in (soda, caustic_potash))
        # More than a few per cent (common practice, no source).
        assert ("caustic-mix-rounded" in {caution.code for caution in sheet.cautions}) == (off >= 0.03), (mass_g, off)
        told[off >= 0.03] = True
    assert set(told) == {True, False}
