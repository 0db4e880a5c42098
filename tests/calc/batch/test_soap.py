"""Set-aside soap on a batch sheet: its mass, fat, alkali, water, scent and volume counted anew; its limits; what it asks first."""

import random
from dataclasses import replace

import periodictable
import pytest
from scents import lot as scent_lot
from soap_lots import lot, scent
from workshops import SHOP, order, setting

from calc.batch.order import Issue, SoapTaken
from calc.batch.sheet import batch_sheet
from calc.entry.problems import InputProblems
from calc.record.issued import may_be_issued
from calc.scent.batch import ChosenScent
from calc.scent.material import Part

R = periodictable.formula("KOH").mass / periodictable.formula("NaOH").mass


def taking(**grams):
    return tuple(SoapTaken(lot=f"{key}:1", taken_g=mass_g) for key, mass_g in grams.items())


def sheet_with(soaps, lots, formula=None, shop=None, **ordered):
    known = {each.id: each for each in lots}
    shop = {} if shop is None else {"shop": shop}
    return batch_sheet(order(soaps=soaps, **ordered), setting(formula, set_aside=known, **shop))


def codes(sheet):
    return {caution.code for caution in sheet.cautions}


def test_mass_fat_alkali_water_and_volume_close_for_random_soaps():
    rng = random.Random(7)
    for _ in range(25):
        lots = [
            lot(
                f"{key}:1",
                told_g=90_000.0,
                superfat_fraction=(value := rng.uniform(0.0, 0.12)),
                superfat_low_fraction=value - 0.01,
                superfat_high_fraction=value + 0.01,
                water_low_fraction=(low := rng.uniform(0.0, 0.1)),
                water_high_fraction=low + rng.uniform(0.0, 0.15),
                demand_low_koh_per_g=(demand := rng.uniform(0.1, 0.17)),
                demand_high_koh_per_g=demand,
            )
            for key in ("A", "B")
        ]
        height = rng.uniform(100.0, 200.0)
        soaps = taking(A=rng.uniform(50.0, 4000.0), B=rng.uniform(50.0, 4000.0))
        sheet = sheet_with(soaps, lots, scale_to="fill_height", fill_height_mm=height)
        by_key = {pour.key: pour for pour in sheet.pours}
        grams = [by_key["soap:0"].target_g, by_key["soap:1"].target_g]
        # Never more than ordered: there may be no more of it. Displays of 20 g, 1 g or finer.
        assert all(-20.0 < mass_g - row.taken_g <= 1e-9 for mass_g, row in zip(grams, soaps, strict=True))
        # Mass.
        assert sheet.batter_g == pytest.approx(sum(pour.target_g for pour in sheet.pours), abs=1e-6)
        # Fat and alkali: what the oils of both could take, and what is there of lye, free or bound.
        demand_g = sum(pour.target_g * oil.used / 1000.0 for pour, oil in zip((by_key[f"oil:{n}"] for n in range(3)), sheet.oils, strict=True))
        bound_g = sum((1.0 - each.superfat_fraction) * each.demand_low_koh_per_g * mass_g for each, mass_g in zip(lots, grams, strict=True))
        in_soap_g = sum(each.demand_low_koh_per_g * mass_g for each, mass_g in zip(lots, grams, strict=True))
        lye_g = 0.33 * by_key["lye:naoh"].target_g * R
        assert sheet.superfat.value == pytest.approx(1.0 - (lye_g + bound_g) / (demand_g + in_soap_g), abs=1e-6)
        # Never below what the formula states by more than rounding the lye down can make it: and lye only ever down for soap.
        assert sheet.superfat.value >= 0.05 - 1e-6
        assert lye_g <= 0.95 * demand_g + 1e-6
        # Water, at most.
        water_g = 0.67 * by_key["lye:naoh"].exact_g + sum(each.water_high_fraction * mass_g for each, mass_g in zip(lots, grams, strict=True))
        assert sheet.water_g == pytest.approx(water_g, rel=1e-6)
        # The lye itself is as strong as without it.
        assert sheet.lye_itself_fraction == pytest.approx(0.33)
        # The block still fills to its height: soap at 1.04 g/ml (the workshop's), and pours rounded to 20 g.
        assert sheet.fill_height_mm == pytest.approx(height, abs=0.6)


def test_a_block_of_a_set_weight_weighs_it_with_its_soap():
    sheet = sheet_with(taking(A=3000.0), [lot()], scale_to="batch_mass", batch_mass_g=40_000.0)
    assert sheet.batter_g == pytest.approx(40_000.0, abs=40.0)


def test_a_block_with_soap_takes_so_much_less_of_all_else():
    plain, with_it = sheet_with((), [], blocks=1), sheet_with(taking(A=3120.0), [lot()])
    # 3.12 kg at 1.04 g/ml are 3 l of 48: by hand 15/16 of the oils.
    assert with_it.oils_g / plain.oils_g == pytest.approx(15 / 16, abs=0.001)
    assert with_it.fill_height_mm == pytest.approx(plain.fill_height_mm, abs=0.3)


def test_without_soap_no_amount_changes():
    assert sheet_with((), [lot()]) == batch_sheet(order(), setting())


def test_soap_that_may_hold_free_lye_can_bring_the_whole_sheet_to_a_stop():
    lean = lot(superfat_fraction=-0.05, superfat_low_fraction=-0.4, superfat_high_fraction=0.1)
    assert not sheet_with((), [lean]).free_lye_possible
    sheet = sheet_with(taking(A=8000.0), [lean])
    assert sheet.free_lye_possible
    with pytest.raises(InputProblems) as found:
        may_be_issued(sheet, Issue(issued_by="Q"))
    assert found.value.problems[0].field == "reason"


def test_fat_in_it_never_lifts_a_sheet_over_the_stop():
    # 2 % leaves the low end under zero, and a shovel of 15 % soap does not change that.
    fat = lot(superfat_fraction=0.15, superfat_low_fraction=0.13, superfat_high_fraction=0.17)
    plain, with_it = (sheet_with(soaps, [fat], {"superfat_fraction": 0.02}) for soaps in ((), taking(A=4000.0)))
    assert plain.free_lye_possible and with_it.free_lye_possible


def test_more_than_is_usual_is_a_caution_and_more_than_half_is_no_batch():
    # 10 % of some 50 kg, common practice, no source.
    assert "soap-much" not in codes(sheet_with(taking(A=4000.0), [lot()]))
    assert "soap-much" in codes(sheet_with(taking(A=6000.0), [lot()]))
    with pytest.raises(InputProblems) as found:
        sheet_with(taking(A=30_000.0), [lot(told_g=90_000.0)])
    assert found.value.problems[0].code == "soap-most-of-block"
    with pytest.raises(InputProblems) as found:
        sheet_with(taking(A=60_000.0), [lot(told_g=90_000.0)])
    assert found.value.problems[0].code == "soap-fills-block"


@pytest.mark.parametrize(
    ("soaps", "field", "code"),
    [
        (taking(A=6000.0), "soaps.0.taken_g", "soap-too-little"),  # twice 6 kg of 10 kg less the 1 kg used
        (taking(X=100.0), "soaps.0.lot", "soap-unknown"),
        ((*taking(A=100.0), *taking(A=100.0)), "soaps.1.lot", "soap-twice"),
    ],
)
def test_soap_that_is_not_there_is_refused(soaps, field, code):
    with pytest.raises(InputProblems) as found:
        sheet_with(soaps, [lot(used_g=1000.0)], blocks=2)
    assert [(each.field, each.code) for each in found.value.problems] == [(field, code)]


def test_exactly_what_is_left_may_go_in():
    sheet = sheet_with(taking(A=4500.0), [lot(used_g=1000.0)], blocks=2)
    assert "soap-planned" not in codes(sheet)
    assert "soap-planned" in codes(sheet_with(taking(A=4500.0), [lot(used_g=1000.0, planned_g=1.0)], blocks=2))


def test_soap_that_asks_first_needs_a_written_reason():
    sheet = sheet_with(taking(A=1000.0), [lot(asks="it was set aside for free lye")])
    assert "soap-asks" in codes(sheet)
    with pytest.raises(InputProblems) as found:
        may_be_issued(sheet, Issue(issued_by="Q"))
    assert (found.value.problems[0].field, found.value.problems[0].code) == ("reason", "soap-reason-missing")
    may_be_issued(sheet, Issue(issued_by="Q", reason="Titrated: none"))


def scented(most, load, **more):
    """A fragrance of which a certificate allows so much of the finished bar, at a load of the oils."""
    material = scent_lot(certificate_max_fraction=most, certificate_edition="51")
    chosen = ChosenScent("Reed", (Part(material, 1.0),))
    return {"formula": {"scent_fraction": load, "scent": "n"}, "scent": chosen, **more}


def test_scent_of_soap_and_batter_together_keep_within_the_limits():
    made = scented(0.02, 0.02)
    bare = batch_sheet(order(), setting(made["formula"], scent=made["scent"]))
    load = bare.scent.load_fraction
    assert not bare.scent.over
    grams = 4000.0
    # By hand: what old scent there is in the cured bars, of its own limit, and what the new one uses of its own.
    for old_load, over in ((0.02, False), (0.4, True)):
        old = lot(scents=(scent(load=old_load, limit=0.05),))
        sheet = batch_sheet(order(soaps=taking(A=grams)), setting(made["formula"], scent=made["scent"], set_aside={old.id: old}))
        cured_g = sheet.scent.rest_g + sheet.scent.scent_g
        used = (old_load * grams / cured_g) / 0.05 + sheet.scent.load_fraction / 0.02
        assert sheet.scent.over is over is (used > 1.0)
        assert sheet.soap.scents[0].load_fraction == pytest.approx(old_load * grams / cured_g)
    assert load > 0.0


def test_unscented_formula_says_what_scent_comes_and_stops_at_its_limit():
    little, much = (lot(scents=(scent(load=load, limit=0.001),)) for load in (0.001, 0.1))
    assert "soap-scented" in codes(sheet_with(taking(A=4000.0), [little]))
    sheet = sheet_with(taking(A=4000.0), [much])
    assert "soap-scent-over" in codes(sheet)
    with pytest.raises(InputProblems):
        may_be_issued(sheet, Issue(issued_by="Q"))
    unknown = sheet_with(taking(A=4000.0), [lot(scents=(scent(unknown=("Reed",)),))])
    assert "soap-scent-unknown" in codes(unknown)
    with pytest.raises(InputProblems):
        may_be_issued(unknown, Issue(issued_by="Q"))


def test_label_names_what_comes_to_the_line_together_and_stays_incomplete():
    # The line is 0.01 % of a rinsed-off product (Regulation (EC) 1223/2009, Annex III).
    each = lot(scents=(scent(load=0.02, limit=None, allergens={"Linalool": 0.2}),))
    other = lot("B:1", scents=(scent("Marsh", load=0.02, limit=None, allergens={"Linalool": 0.2}, incomplete=("Marsh",)),))
    grams = 900.0
    one = sheet_with(taking(A=grams), [each])
    both = sheet_with(taking(A=grams, B=grams), [each, other])
    share = one.soap.scents[0].load_fraction * 0.2
    assert share < 0.0001 < 2 * share
    assert "Linalool" not in one.soap.label.names and "Linalool" in both.soap.label.names
    assert both.soap.label.incomplete == ("Marsh",) and "label-incomplete" in codes(both)
    # A sheet from before the shares were kept: its names stay, and nobody knows what else adds up.
    older = sheet_with(taking(A=grams), [lot(scents=(scent(allergens=None, named=("Geraniol",)),))])
    assert older.soap.label.names == ("Geraniol",) and older.soap.label.incomplete == ("Reed",)
    in_us = sheet_with(taking(A=grams), [lot(scents=(scent(named=("Geraniol",)),))], shop=replace(SHOP, market="us"))
    assert "label-incomplete" not in codes(in_us)


def test_ingredients_that_the_formula_lacks_are_told():
    sheet = sheet_with(taking(A=1000.0), [lot(ingredients=("Olive oil (virgin and refined)", "Castor oil"))])
    assert sheet.soap.ingredients == ("Castor oil",)
    assert "soap-ingredients" in codes(sheet)
    assert "soap-ingredients" not in codes(sheet_with(taking(A=1000.0), [lot()]))
