"""What holds for every row: a source, a unit, unique keys, right check digits, and the shapes the modules rely on."""

import csv
import hashlib
import math
from collections import Counter
from itertools import pairwise

import pytest

from calc.shared import REFERENCE
from calc.tables import reference
from calc.tables.reference import HOW, additives, constant, every_number, lye_density_grid, oils, scale_tolerances

TABLES = sorted(path.name for path in REFERENCE.glob("*.csv"))


def rows_of(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("name", TABLES)
def test_every_row_is_whole_and_holds_no_nan(name: str) -> None:
    rows = rows_of(name)
    assert rows
    for row in rows:
        assert None not in row, f"{name}: a row has more cells than the head"
        assert None not in row.values(), f"{name}: a row has fewer cells than the head"
        # "none" is a kind of rule about scents: that there is no limit.
        cells = [cell for column, cell in row.items() if column != "rule_type"]
        assert not {"nan", "inf", "none", "null"} & {cell.strip().lower() for cell in cells}


@pytest.mark.parametrize("name", [name for name in TABLES if "how" in rows_of(name)[0]])
def test_every_row_says_how_and_whence(name: str) -> None:
    for row in rows_of(name):
        if name == "fatty_acids.csv" and not (row["min_percent"] or row["max_percent"]):
            continue  # only a typical value, with its own source and how
        assert (row.get("source") or row.get("source_or_formula") or row.get("source_column") or "").strip()
        assert row["how"].strip()


def test_every_number_has_source_unit_and_how() -> None:
    listed = every_number()
    assert len(listed) > 1500
    for row in listed:
        assert row.source.strip(), row
        assert row.unit.strip(), row
        assert row.parts, row
        assert math.isfinite(row.value), row
        assert set(row.how.split("+")) <= set(HOW), row


def test_every_table_of_numbers_is_described_in_columns() -> None:
    described = {f"{row['table']}.csv" for row in rows_of("columns.csv")}
    # No numbers of their own: the names, the list of omissions, the tests' check values, columns.csv itself, which analyses of
    # oils were read, what irritates skin, what oils are made from, ingredient names, and words of claims.
    without = {"fatty_acid_names.csv", "left_out.csv", "physics_check_values.csv", "columns.csv"}
    without |= {"essential_oil_analyses.csv", "skin_irritants.csv", "oil_origins.csv", "inci_names.csv", "claim_words.csv"}
    assert described | without == set(TABLES)


@pytest.mark.parametrize(
    ("name", "keys"),
    [
        ("constants.csv", ["id"]),
        ("oils.csv", ["key"]),
        ("oils.csv", ["common_name"]),
        ("fatty_acids.csv", ["oil_key", "fatty_acid"]),
        ("fatty_acid_names.csv", ["acid"]),
        ("additives.csv", ["key"]),
        ("columns.csv", ["table", "column"]),
        ("scale_tolerances.csv", ["scheme", "class", "kind", "load_above_intervals"]),
        ("net_content_tolerances.csv", ["scheme", "labelled_above_g"]),
        ("physics_check_values.csv", ["id"]),
        ("naoh_crystallisation.csv", ["w_pct_NaOH"]),
        ("left_out.csv", ["table", "key"]),
        ("essential_oil_analyses.csv", ["oil_key", "source"]),
        ("skin_irritants.csv", ["constituent"]),
        ("oil_origins.csv", ["oil_key"]),
        ("inci_names.csv", ["key", "kind"]),
        ("claim_words.csv", ["begins", "language"]),
    ],
)
def test_keys_are_unique(name: str, keys: list[str]) -> None:
    counted = Counter(tuple(row[key] for key in keys) for row in rows_of(name))
    assert [key for key, count in counted.items() if count > 1] == []


def test_cas_numbers_have_right_check_digits() -> None:
    # CAS registry rule: the last digit is the weighted sum of the others, from the right, modulo 10 (from memory).
    seen = [oil.cas for oil in oils().values() if oil.cas]
    assert len(seen) > 35
    for cas in seen:
        first, second, check = cas.split("-")
        digits = [int(digit) for digit in reversed(first + second)]
        assert sum(place * digit for place, digit in enumerate(digits, start=1)) % 10 == int(check), cas


def test_an_oil_without_saponification_range_is_left_out_by_name() -> None:
    left_out = {row["key"] for row in rows_of("left_out.csv") if row["table"] == "oils.csv"}
    assert left_out == {"duck_fat", "goose_fat"}
    assert not left_out & set(oils())


def test_what_oils_are_made_from_is_told_of_oils_that_are_known() -> None:
    assert reference.oil_origins().keys() <= oils().keys()
    # By their names alone: what is rendered or combed from animals, and the nuts and seeds that food law names.
    animal = {key for key, origin in reference.oil_origins().items() if origin.kind == "animal"}
    assert animal == {"tallow", "lard", "pork_fat", "beeswax", "lanolin"}


def test_fatty_acids_belong_to_oils_and_have_names() -> None:
    for row in rows_of("fatty_acids.csv"):
        assert row["oil_key"] in oils()
        assert row["fatty_acid"] in reference.fatty_acid_names()


@pytest.mark.parametrize(
    ("text", "temperatures"),
    [
        ("40/20C", (40.0, 20.0)),
        ("20C", (20.0, None)),
        ("15.5C", (15.5, None)),
        ("25C (solid)", (25.0, None)),
        ("temperature not stated", (None, None)),
        ("", (None, None)),
    ],
)
def test_density_reference_is_read(text: str, temperatures: tuple[float | None, float | None]) -> None:
    assert reference.density_temperatures(text) == temperatures


def test_only_an_unstated_density_temperature_stays_unread() -> None:
    unread = {oil.key for oil in oils().values() if oil.relative_density and oil.density_at_c is None}
    assert unread == {"rice_bran"}  # its source states none


def test_grids_cover_the_working_range() -> None:
    for alkali in ("naoh", "koh"):
        grid = lye_density_grid(alkali)
        assert grid.strengths_percent == tuple(range(51))
        assert grid.temperatures_c == tuple(range(15, 81, 5))
        # Pure water at 20 °C is 0.9982 g/ml (ITS-90 density of water, from memory).
        assert grid.density_g_per_ml[0][1] == pytest.approx(0.9982, abs=0.0001)
    # 40 % NaOH crystallises near 15.5 °C (naoh_crystallisation.csv): not stable at 15, stable at 20 °C.
    assert lye_density_grid("naoh").stable[40][:2] == (False, True)


def test_scale_loads_follow_on_without_a_gap() -> None:
    groups: dict[tuple[str, str, str], list[reference.ScaleTolerance]] = {}
    for row in scale_tolerances():
        groups.setdefault((row.scheme, row.scale_class, row.kind), []).append(row)
    assert len(groups) >= 8
    for rows in groups.values():
        assert rows[0].load_above_intervals == 0.0
        for lower, upper in pairwise(rows):
            assert lower.load_up_to_intervals == upper.load_above_intervals
            assert lower.tolerance_intervals < upper.tolerance_intervals


def test_only_acids_take_alkali_and_only_they_have_a_molar_mass() -> None:
    for additive in additives().values():
        assert additive.takes_alkali == (additive.molar_mass_g_per_mol is not None)
    assert {key for key, additive in additives().items() if additive.in_solution} == {"lactic", "acetic"}
    # Sugars heat the batter, so do the foods that hold them (common practice, no source).
    assert {key for key, additive in additives().items() if additive.heat_warning} == {"honey", "sugar", "milk"}


def test_practice_without_a_source_says_so() -> None:
    for row in every_number():
        assert (row.how == "common practice") == (row.source == "common practice, no source"), row


def test_digests_are_those_of_the_files() -> None:
    assert set(reference.digests()) == set(TABLES)
    name = "constants.csv"
    assert reference.digests()[name] == hashlib.sha256((REFERENCE / name).read_bytes()).hexdigest()


def test_no_constant_is_outside_the_range_it_states() -> None:
    for row in rows_of("constants.csv"):
        assert float(row["low"]) <= constant(row["id"]).value <= float(row["high"])


def test_acid_values_of_waxes_against_other_sources() -> None:
    waxes = {key: oil for key, oil in oils().items() if oil.kind == "wax"}
    ends = {key: (oil.acid_value.low, oil.acid_value.high) for key, oil in waxes.items() if oil.acid_value is not None}
    assert set(ends) == set(waxes)
    # Beeswax: saponification value less the ester value, 70 to 80 in Ph. Eur. (memory).
    beeswax = waxes["beeswax"]
    assert ends["beeswax"] == (beeswax.saponification_low - 70.0, beeswax.saponification_high - 80.0)
    # Wool fat: USP 28 lets 10 g take 2.0 ml of 0.1 N NaOH (read): 2.0 · 0.1 · 56.1 / 10 = 1.12 mg KOH/g.
    assert ends["lanolin"][1] == pytest.approx(1.12, abs=0.15)
    # Jojoba: an ester of 606 g/mol (Merck Index, read) takes 56 105/606 = 92.6 mg KOH/g; free acids are a small part.
    assert ends["jojoba"][0] < 0.01 * 56_105.0 / 606.0
    for oil in oils().values():
        assert oil.kind == "wax" or oil.acid_value is None
