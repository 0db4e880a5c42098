"""The set-up's answers, a scale read back, and what nobody knows: marked, told on the sheet, and wider for it."""

from dataclasses import replace

import pytest
from workshops import FLAKE, FLOOR, MOULD, SHOP, VESSEL, order, setting

from calc.batch.order import Issue
from calc.batch.sheet import batch_sheet
from calc.entry.declare import describe
from calc.entry.fields import check, read
from calc.entry.language import speaking
from calc.entry.problems import InputProblems
from calc.record.issued import may_be_issued
from calc.workshop.equipment import ASSUMED, ScaleItem
from calc.workshop.kinds import KINDS
from calc.workshop.lots import AlkaliLot
from calc.workshop.people import Person
from calc.workshop.scales import read_back
from calc.workshop.setup import METRIC, QUESTIONS, US, Crew, names_of, prefix_of, shop_values, still_needed
from calc.workshop.shop import Shop

LB_G = 453.59237  # NIST Handbook 44, Appendix C
OZ_G = LB_G / 16.0
SCALE = {"name": "Floor", "accuracy_class": "unmarked"}


def scale(capacity: str, unit: str, division: str, division_unit: str, reads_in: str, **more: str) -> ScaleItem:
    typed = {"capacity_g": capacity, "capacity_g.unit": unit, "division_g": division, "division_g.unit": division_unit}
    return read(ScaleItem, {**SCALE, **typed, "reads_in": reads_in, **more}).value


@pytest.mark.parametrize(
    ("item", "unit", "step"),
    [
        (scale("300", "lb", "0.1", "lb", "lb"), "lb", "0.1"),
        (scale("150", "kg", "20", "g", "kg"), "kg", "0.02"),
        (scale("5", "kg", "1", "g", "g"), "g", "1"),
        (scale("176", "oz", "0.1", "oz", "oz"), "oz", "0.1"),
    ],
)
def test_a_scale_is_read_back_in_one_unit_with_a_reading_that_its_display_can_show(item, unit, step):
    words = read_back(item).split()
    assert words[0] == "shows" and words[2] == unit and words[-1] == step
    # A display shows whole steps only.
    assert float(words[1]) / float(step) == pytest.approx(round(float(words[1]) / float(step)))
    assert 0 < float(words[1]) * {"lb": LB_G, "kg": 1000.0, "g": 1.0, "oz": OZ_G}[unit] < item.capacity_g


@pytest.mark.parametrize(
    ("item", "codes"),
    [
        # OIML R 76-1 Table 3 (from memory): a class III scale has at most 10 000 steps. 300 lb are 48 000 times 0.1 oz.
        (scale("300", "lb", "0.1", "oz", "lb"), {"many-steps", "mixed-units"}),
        (scale("10001", "g", "1", "g", "g"), {"many-steps"}),
        (scale("10000", "g", "1", "g", "g"), set()),
        # 20 g are 0.0441 lb: no display counts so.
        (scale("300", "lb", "20", "g", "lb"), {"mixed-units"}),
        # 150 kg are 330.7 lb, no whole number of 0.1 lb.
        (scale("150", "kg", "0.1", "lb", "lb"), {"mixed-units"}),
        (scale("150", "kg", "20", "g", "kg"), set()),
        (scale("300", "lb", "0.1", "oz", "lb", plate_says="yes"), set()),
    ],
)
def test_a_plate_that_reads_oddly_is_asked_back_until_somebody_has_looked_again(item, codes):
    assert {caution.code for caution in check(item)} == codes


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.key)
@pytest.mark.parametrize("system", [METRIC, US])
def test_every_common_answer_makes_an_item_that_can_be_stored_as_it_stands(question, system):
    declared = KINDS[question.kind][0]
    names = {info.name for info in describe(declared)}
    offered = [usual for usual in question.usual if usual.system in ("", system)]
    assert len(offered) >= 3
    for usual in offered:
        assert {control.removesuffix(".unit") for control in usual.values} <= names
        values = {question.called[0]: question.called[1], **question.preset, **usual.values}
        if question.key == "vessel":
            values = {"capacity_ml": "40", "tare_g": "4", **values}
        item = read(declared, values).value
        assert check(item) == ()
        assert usual.stands_in == (values.get("figures") == ASSUMED or values.get("assay_fraction") == "")


def test_a_common_answer_says_the_figures_that_it_puts_in():
    for question in QUESTIONS:
        for usual in question.usual:
            if not usual.stands_in:
                said = usual.said()
                # The level poured to stands in its field.
                assert all(value in said for control, value in usual.values.items() if control in usual.figures and "fill" not in control)


def codes(made_for):
    return {caution.code for caution in batch_sheet(order(), made_for).cautions if caution.code.startswith("assumed")}


def test_an_older_item_says_nothing_of_its_figures_and_nothing_is_said_of_it():
    assert codes(setting()) == set()


def test_what_is_assumed_is_told_on_the_sheet():
    unread = replace(FLOOR, figures=ASSUMED)
    assumed = setting(
        mould=replace(MOULD, figures=ASSUMED),
        vessel=replace(VESSEL, figures=ASSUMED),
        scales=(unread, *setting().scales[1:]),
        alkali_lots={"naoh": replace(FLAKE, assay_fraction=None, plus_minus_fraction=None)},
        shop=replace(SHOP, set_density_g_per_ml=None),
    )
    assert codes(assumed) == {"assumed-mould", "assumed-vessel", "assumed-scale", "assumed-assay", "assumed-density"}


def test_caustic_that_the_formula_does_not_use_is_not_spoken_of():
    lots = {**setting().alkali_lots, "koh": AlkaliLot(code="K", alkali="koh", form="solid", assay_fraction=None)}
    assert codes(setting(alkali_lots=lots)) == set()


def width(made_for):
    interval = batch_sheet(order(), made_for).superfat
    return interval.high - interval.low


def test_a_scale_whose_plate_nobody_has_read_widens_the_interval():
    assert width(setting(scales=(replace(FLOOR, figures=ASSUMED), *setting().scales[1:]))) > width(setting()) + 0.002


def test_an_assay_that_nobody_knows_counts_as_a_wide_range_about_what_is_usual():
    # Common practice, no source: soda of 98 %, two points either way.
    unknown = replace(FLAKE, assay_fraction=None, plus_minus_fraction=None)
    stated = replace(FLAKE, assay_fraction=0.98, plus_minus_fraction=0.02)
    sheets = [batch_sheet(order(), setting(alkali_lots={"naoh": lot})) for lot in (unknown, stated, FLAKE)]
    assert sheets[0].superfat == sheets[1].superfat
    assert sheets[0].superfat.half_width > sheets[2].superfat.half_width
    assert sheets[0].naoh_g == sheets[2].naoh_g


def test_a_paper_that_states_no_plus_minus_counts_half_a_point():
    # Common practice, no source.
    assert replace(FLAKE, plus_minus_fraction=None).stated == (0.98, 0.005, True)


def test_a_bar_weighs_from_the_lowest_to_the_highest_density_where_nobody_has_weighed_one():
    # The bar of 25 by 90 by 60 mm has 135 ml: 135 to 148.5 g at 1.0 to 1.1 g/ml (common practice, no source).
    sheet = batch_sheet(order(), setting(shop=replace(SHOP, set_density_g_per_ml=None)))
    [told] = [caution.message for caution in sheet.cautions if caution.code == "assumed-density"]
    assert "135 g to 148.5 g" in told
    assert sheet.bar_g == pytest.approx(135.0 * 1.05)


def test_a_mould_that_nobody_has_measured_is_issued_only_with_a_reason():
    sheet = batch_sheet(order(), setting(mould=replace(MOULD, figures=ASSUMED)))
    with pytest.raises(InputProblems) as found:
        may_be_issued(sheet, Issue(issued_by="Q"))
    assert [(each.field, each.code) for each in found.value.problems] == [("reason", "mould-not-measured")]
    may_be_issued(sheet, Issue(issued_by="Q", reason="A test with water"))


def test_people_are_named_once_each_and_the_shop_keeps_what_it_had():
    assert names_of(Crew(people=" Ana, J ;Ana,")) == ("Ana", "J")
    made = shop_values("Sedge Lane Soap", "us", {})
    assert read(Shop, made).value == Shop(name="Sedge Lane Soap", code_prefix="SLS", tolerance_scheme="HB44")
    assert shop_values("New", "us", {"name": "Old", "code_prefix": "QM", "tolerance_scheme": "R76", "market": "eu"}) == {
        "name": "New", "code_prefix": "QM", "tolerance_scheme": "R76", "market": "eu",
    }  # fmt: skip
    assert prefix_of("Jabones del Río") == "JDR"


def test_a_name_that_is_too_long_is_said_to_be_and_not_cut():
    # As long as a person's own name may be, and one more.
    longest = "A" * describe(Person)[0].max_length
    assert names_of(Crew(people=f"{longest}, J")) == (longest, "J")
    with pytest.raises(InputProblems) as refused:
        names_of(Crew(people=f"J; {longest}B"))
    (problem,) = refused.value.problems
    assert (problem.field, problem.code) == ("people", "too-long")
    assert f"{longest}B has {len(longest) + 1} characters." in problem.message


def test_what_is_missing_for_a_batch_is_named_in_the_order_asked():
    assert still_needed(()) == ("mould", "scale", "vessel", "alkali_lot", "shop")
    assert still_needed(("scale", "shop", "mould", "vessel", "alkali_lot")) == ()


def test_the_questions_speak_spanish():
    with speaking("es"):
        assert read_back(scale("300", "lb", "0.1", "lb", "lb")).startswith("marca ")
        assert QUESTIONS[0].usual[0].said().startswith("Bloque 24 × 16 × 8 in")
