"""Batch codes, the reason that a risky sheet needs, and what a record freezes."""

import json
from dataclasses import replace
from datetime import datetime

import periodictable
import pytest
from cut.test_ways import bar, loaf
from workshops import FLAKE, POTASH, order, setting

from calc.batch.order import Issue
from calc.batch.sheet import batch_sheet
from calc.entry.problems import InputProblems
from calc.formula.declaration import AdditiveShare
from calc.record.issued import batch_code, issued_record, may_be_issued, next_batch_code, reference_digest
from calc.workshop.habits import USUAL_HABITS

NOW = datetime.fromisoformat("2026-11-25T23:30:00-05:00")


def test_code_is_prefix_local_date_and_the_first_free_number():
    assert next_batch_code("QM", NOW, ()) == "QM-261125-1"
    assert next_batch_code("QM", NOW, ("QM-261125-1", "QM-261125-3")) == "QM-261125-2"


@pytest.mark.parametrize(
    ("typed", "code"), [("QM-261125-1", "code-taken"), ("a/b", "code-characters"), ("ä", "code-characters")]
)
def test_code_that_cannot_stand_is_refused(typed, code):
    with pytest.raises(InputProblems) as found:
        batch_code(Issue(issued_by="Q", code=typed), "QM", NOW, ("QM-261125-1",))
    assert (found.value.problems[0].field, found.value.problems[0].code) == ("code", code)


def test_risky_sheet_needs_a_written_reason():
    sheet = batch_sheet(order(), setting({"superfat_fraction": 0.02}))
    with pytest.raises(InputProblems) as found:
        may_be_issued(sheet, Issue(issued_by="Q"))
    assert found.value.problems[0].field == "reason"
    may_be_issued(sheet, Issue(issued_by="Q", reason="Trial block, kept apart"))


def test_safe_sheet_needs_no_reason():
    may_be_issued(batch_sheet(order(), setting()), Issue(issued_by="Q"))


def test_record_is_plain_json_and_holds_every_amount():
    made_for = setting()
    sheet = batch_sheet(order(), made_for)
    record = issued_record(sheet, made_for, Issue(issued_by="Q"), "QM-261125-1", {"order": {"mould": "m"}})
    again = json.loads(json.dumps(record, allow_nan=False))
    assert [pour["target_g"] for pour in again["pours"]] == [pour.target_g for pour in sheet.pours]
    assert again["reference_digest"] == reference_digest()
    assert len(again["reference_digest"]) == 64
    assert again["inputs"] == {"order": {"mould": "m"}}


@pytest.mark.parametrize("lots", [{}, {"naoh": FLAKE, "koh": POTASH}], ids=["premixed", "solid"])
def test_superfat_follows_from_the_frozen_chemistry_alone(lots):
    # Lye discount by hand (rows A3 and D3 of physics_check_values.csv): S = 1 - (alkali - acids) / demand, all as KOH; molar masses from periodictable.
    koh_per_naoh = periodictable.formula("KOH").mass / periodictable.formula("NaOH").mass
    made_for = setting(
        {
            "alkali": "both" if lots else "naoh",
            "koh_share_fraction": 0.1,
            "lye_strength_fraction": 0.3,
            "additives": (AdditiveShare(kind="citric_anhydrous", share_fraction=0.01),),
        },
        **({"alkali_lots": lots} if lots else {}),
    )
    sheet = batch_sheet(order(), made_for)
    record = json.loads(json.dumps(issued_record(sheet, made_for, Issue(issued_by="Q"), "QM-261125-1", {})))
    chemistry, grams = record["chemistry"], {pour["key"]: pour["target_g"] for pour in record["pours"]}
    demand = sum(grams[oil["pour"]] * oil["used"] for oil in chemistry["oils"])
    alkali = sum(
        1000.0 * grams[a["pour"]] * a["hydroxide_fraction"] * (koh_per_naoh if a["alkali"] == "naoh" else 1.0)
        for a in chemistry["alkalis"]
    )
    acids = sum(grams[acid["pour"]] * acid["acid_value"] * acid["strength_fraction"] for acid in chemistry["acids"])
    assert len(chemistry["acids"]) == 1
    assert 1.0 - (alkali - acids) / demand == pytest.approx(record["superfat"]["value"], abs=2e-5)
    # Water and the rest of a solid's assay make up the lye: stated as 30 % hydroxide by all water, so the lye itself is
    # short of what the acid makes at trace, three H2O of 18.015 for each 192.12 g (periodictable).
    hydroxide_g = sum(grams[a["pour"]] * a["hydroxide_fraction"] for a in chemistry["alkalis"])
    water = periodictable.formula("H2O").mass / periodictable.formula("C6H8O7").mass
    made_g = 3.0 * water * grams[chemistry["acids"][0]["pour"]]
    assert chemistry["lye_strength_fraction"] == pytest.approx(hydroxide_g / (hydroxide_g / 0.3 - made_g), abs=1e-5)


def test_volume_follows_from_the_frozen_densities():
    # Ideal mixing, worked by hand from the record: litres over the mould's floor give the level.
    made_for = setting({"scent_fraction": 0.02})
    sheet = batch_sheet(order(), made_for)
    record = issued_record(sheet, made_for, Issue(issued_by="Q"), "QM-261125-1", {})
    chemistry, grams = record["chemistry"], {pour["key"]: pour["target_g"] for pour in record["pours"]}
    litres = sum(grams[oil["pour"]] / oil["density_g_per_ml"] for oil in chemistry["oils"]) / 1000.0
    litres += grams["lye:naoh"] / chemistry["lye_density_g_per_ml"] / 1000.0
    litres += grams["scent"] / chemistry["other_density_g_per_ml"] / 1000.0
    assert record["fill_height_mm"] == pytest.approx(litres / (6.0 * 4.0) * 100.0, rel=1e-9)


def test_record_holds_the_steps_of_one_block():
    made_for = setting()
    sheet = batch_sheet(order(blocks=3), made_for)
    record = issued_record(sheet, made_for, Issue(issued_by="Q"), "QM-261125-1", {})
    assert [step["key"] for step in record["steps"]].count("oil:0") == 1
    assert record["blocks"] == 3


@pytest.mark.parametrize(("lots", "form"), [({}, "premixed"), ({"naoh": FLAKE, "koh": POTASH}, "solid")], ids=["premixed", "solid"])
def test_record_says_what_each_pour_is_and_in_which_form_the_alkali_comes(lots, form):
    made_for = setting({"scent_fraction": 0.02}, **({"alkali_lots": lots} if lots else {}))
    sheet = batch_sheet(order(), made_for)
    record = json.loads(json.dumps(issued_record(sheet, made_for, Issue(issued_by="Q"), "QM-261125-1", {})))
    kinds = {pour["key"]: pour["kind"] for pour in record["pours"]}
    assert {kinds[oil["pour"]] for oil in record["chemistry"]["oils"]} == {"oil"}
    assert (kinds["lye:naoh"], kinds["scent"]) == ("alkali", "scent")
    assert [alkali["form"] for alkali in record["chemistry"]["alkalis"]] == [form]
    for step in record["steps"]:
        assert step["pour_kind"] == (None if step["pour"] is None else kinds[step["pour"]]), step["key"]
        # Whole counts of the display's last decimal are its text without the point.
        shows = step["gross_text"] if step["kind"] == "weigh" else None
        assert step["gross"] == (None if shows is None else int(shows.replace(".", ""))), step["key"]


def test_the_oils_of_a_blend_are_kept_with_the_scale_that_the_blend_is_weighed_on():
    # 500 g lie under the floor scale's minimum load of 20 e, 400 g (OIML R 76-1), once the lye is off: the bench scale's.
    made_for = setting(habits=replace(USUAL_HABITS, oils="blend"))
    sheet = batch_sheet(order(scale_to="batch_mass", batch_mass_g=500.0), made_for)
    record = issued_record(sheet, made_for, Issue(issued_by="Q"), "QM-1", {})
    blend = next(step for step in record["steps"] if step["key"] == "oil:blend")
    assert blend["scale"] != "Floor"
    oils = [(pour["scale"], pour["unit"], pour["division_g"]) for pour in record["pours"] if pour["kind"] == "oil"]
    division_g = {"Bench": 1.0, "Fine": 0.1}[blend["scale"]]
    assert oils == [(blend["scale"], blend["unit"], division_g)] * 3


def test_what_a_block_was_planned_to_give_is_frozen_whatever_the_frames_become():
    # By hand: 23 x 4 x 3 bars of 25 x 90 x 60 mm in 12 loaves; 135 cm³ at 1.04 g/ml is 140.4 g (row F2).
    made_for = setting(frames=(loaf(), bar()))
    sheet = batch_sheet(order(), made_for)
    record = json.loads(json.dumps(issued_record(sheet, made_for, Issue(issued_by="Q"), "QM-1", {}), allow_nan=False))
    planned = record["planned"]
    assert (planned["total"], planned["loaves"], planned["bar_mm"]) == (276, 12, [25.0, 90.0, 60.0])
    assert planned["bar_g"][1] == pytest.approx(140.4) and planned["bar_g"][0] < 140.4 < planned["bar_g"][2]
    assert planned["tools"] == ["L", "B"] and planned["own_blocks"] == 0
    # What is no bar is trim: the block weighs what its batter weighs.
    assert planned["trim_g"] == pytest.approx(sheet.cut.block.mass_g(sheet.cut.block.volume_ml) - 276 * 140.4)
    bare = setting(cutter=None)
    assert issued_record(batch_sheet(order(), bare), bare, Issue(issued_by="Q"), "QM-1", {})["planned"] is None
