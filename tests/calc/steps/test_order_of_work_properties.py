"""The sheet and the scale say the same of every amount: one count of one display, as grams and as words.

Outside oracle: exact fractions and decimals of Python's own, with the units' factors written out once more.
"""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st
from workshops import BENCH, FINE, FLAKE, FLOOR, LYE, POTASH, order, setting

from calc.batch.sheet import batch_sheet
from calc.entry.shown import percent, percent_down
from calc.scales.display import display_of
from calc.steps.order_of_work import weigh_steps
from calc.workshop.habits import USUAL_HABITS

# Grams in a unit: exact by definition (NIST Handbook 44, Appendix C).
GRAMS = {"g": Fraction(1), "kg": Fraction(1000), "lb": Fraction("453.59237"), "oz": Fraction("453.59237") / 16}
units_ = st.sampled_from(sorted(GRAMS))
# Divisions as plates state them, in grams, and in the display's own unit.
plates = st.one_of(
    st.tuples(st.sampled_from([1.0, 2.0, 5.0, 10.0, 20.0, 50.0]), units_),
    st.tuples(
        st.sampled_from(["0.01", "0.02", "0.05", "0.1"]).map(lambda step: float(Fraction(step) * GRAMS["lb"])), st.just("lb")
    ),
)


def grams_of(text: str) -> Fraction:
    """What a display's words stand for: "12.288 lb"."""
    number, unit = text.split(" ")
    return Fraction(number) * GRAMS[unit]


@given(st.decimals("0", "200000", places=3), st.sampled_from(["0.1", "0.2", "0.5", "1", "2", "5", "10", "20", "50"]), units_)
def test_words_are_the_count_times_the_division_and_the_nearest_there_is(mass, plate, unit):
    display = display_of(float(plate), unit)
    division = Fraction(display.division, 10**display.decimals) * GRAMS[unit]
    for down in (False, True):
        count = display.counts_of(float(mass), down=down)
        steps, rest = divmod(count, display.division)
        assert rest == 0
        assert grams_of(display.said(count)) == steps * division
        assert display.grams(count) == float(steps * division)
        off = Fraction(mass) - steps * division
        slack = Fraction(1, 10**9)
        assert (-slack <= off <= division if down else abs(off) <= division / 2 + slack)


@settings(deadline=None, max_examples=40)
@given(
    plates,
    st.sampled_from(["g", "kg", "oz", "lb"]),
    st.sampled_from(["premixed", "solid", "both"]),
    st.sampled_from([0.0, 0.05]),
    st.floats(2_000.0, 48_000.0),
)
def test_every_amount_reads_alike_on_the_sheet_and_at_the_scale(plate, bench_unit, alkali, held_back, mass_g):
    division_g, unit = plate
    made_for = setting(
        {"alkali": "both" if alkali == "both" else "naoh", "koh_share_fraction": 0.2, "lye_strength_fraction": 0.28,
         "scent_fraction": 0.02},
        scales=(replace(FLOOR, division_g=division_g, reads_in=unit), replace(BENCH, reads_in=bench_unit), FINE),
        alkali_lots={"naoh": LYE if alkali == "premixed" else FLAKE, "koh": POTASH},
        habits=replace(USUAL_HABITS, hold_back_fraction=held_back),
    )  # fmt: skip
    sheet = batch_sheet(order(scale_to="batch_mass", batch_mass_g=mass_g), made_for)
    steps = [step for step in weigh_steps(sheet, made_for) if step.kind == "weigh"]
    for pour in sheet.pours:
        own = [step for step in steps if step.pour == pour.key]
        assert len(own) == len(pour.portions)
        if not own:
            assert pour.key == "lye:made"
            continue
        for step, portion, text in zip(own, pour.portions, pour.texts, strict=True):
            assert (step.target, step.scale) == (portion.count, portion.scale)
            assert text == portion.text == f"{step.target_text} {step.unit}"
            assert Decimal(step.target_text) == Decimal(step.target).scaleb(-step.decimals)
            assert abs(grams_of(text) - Fraction(portion.grams)) <= Fraction(1, 10**9)
        if pour.key.startswith("lye:"):
            # Alkali is never more than reckoned, and less by under a division of the last scale it is weighed on.
            off = Fraction(pour.exact_g) - Fraction(pour.target_g)
            last = Fraction(own[-1].division, 10 ** own[-1].decimals) * GRAMS[own[-1].unit]
            assert -Fraction(1, 10**9) <= off < last + Fraction(1, 10**9)
    assert sheet.rounding_fraction >= -1e-12


@given(st.integers(0, 10**7), st.integers(0, 4))
def test_percents_are_rounded_as_decimals_are(millionths_of_a_percent, decimals):
    """Halves go up and limits down, on the decimal that was typed; under 1 % two figures stay."""
    exact = Decimal(millionths_of_a_percent).scaleb(-5)
    if exact and exact < 1:
        decimals = max(decimals, 1 - exact.adjusted())
    step = Decimal(1).scaleb(-decimals)
    fraction = millionths_of_a_percent / 10**7
    for show, rounding in ((percent, "ROUND_HALF_UP"), (percent_down, "ROUND_FLOOR")):
        shown = show(fraction, decimals).removesuffix(" %")
        assert Decimal(shown) == exact.quantize(step, rounding)
        assert "E" not in shown and (len(shown.partition(".")[2]) <= decimals)
