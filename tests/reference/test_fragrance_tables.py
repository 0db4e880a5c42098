"""Scent tables: their form, and every EU row against the CosIng annexes as the package on-the-list carries them."""

import csv
import importlib.util
import re
from pathlib import Path

import pytest

from calc.scent.limits import scent_limits
from calc.scent.material import Part, of_oil
from calc.shared import REFERENCE
from calc.tables.fragrance import TOGETHER, essential_oils, fragrance_allergens, fragrance_rules

ANNEXES = Path(importlib.util.find_spec("on_the_list").origin).parent / "data"

# Rows, counted in the files: a row lost or doubled shows here.
COUNTS = {
    "fragrance_limits": 188, "essential_oil_constituents": 1782, "essential_oil_properties": 49, "fragrance_allergens_eu": 81,
    "essential_oil_analyses": 84, "skin_irritants": 12,
}  # fmt: skip


def rows(table):
    with (REFERENCE / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def annex(number):
    with (ANNEXES / f"annex_{number}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def entry(number, reference):
    """All text of one entry of an annex, by its reference number."""
    found = [row for row in annex(number) if row and row[0].strip() == str(reference)]
    return " | ".join(" ".join(row) for row in found)


@pytest.mark.parametrize(("table", "number"), COUNTS.items())
def test_row_counts(table, number):
    assert len(rows(table)) == number


@pytest.mark.parametrize("table", ["fragrance_limits", "essential_oil_constituents", "fragrance_allergens_eu", "skin_irritants"])
def test_cas_numbers_have_their_check_digit(table):
    # CAS registry: the last digit is the sum of the others, each times its place from the right, modulo 10.
    for row in rows(table):
        for cas in filter(None, (part.strip() for part in row["cas"].split(";"))):
            assert re.fullmatch(r"\d{2,7}-\d\d-\d", cas), cas
            digits = cas.replace("-", "")
            assert sum(n * int(d) for n, d in enumerate(reversed(digits[:-1]), start=1)) % 10 == int(digits[-1]), cas


def test_every_row_has_source_and_mark():
    for table in ("fragrance_limits", "essential_oil_constituents", "fragrance_allergens_eu", "essential_oil_analyses", "skin_irritants"):
        assert all(row["source"] and row["how"] for row in rows(table)), table
    assert all(rule.edition for rule in fragrance_rules())


def test_every_key_resolves():
    keys = {rule.limit_key for rule in fragrance_rules()}
    assert {c.limit_key for oil in essential_oils().values() for c in oil.contents} - {""} <= keys
    assert {allergen.limit_key for allergen in fragrance_allergens()} - {""} <= keys
    assert {key for allergen in fragrance_allergens() for key in allergen.oil_keys} <= set(essential_oils())


def test_allergen_thresholds_are_those_of_the_annex():
    # Annex III of CosIng states "0.001 % in leave-on products" and "0.01 % in rinse-off products" at each entry.
    missing = []
    for row in rows("fragrance_allergens_eu"):
        text = entry("III", row["annex_iii_entry"])
        if not text:
            missing.append(row["label_name"])
            continue
        assert re.search(r"0[.,]01\s*%", text), (row["label_name"], text[:300])
        assert re.search(r"rinse", text, re.IGNORECASE), row["label_name"]
        known = {part.strip() for part in row["cas"].split(";")} - {""}
        if known:
            assert any(cas in text for cas in known), (row["label_name"], known)
    assert missing == []


EU_RESTRICTIONS = [row for row in rows("fragrance_limits") if row["category"] != "9" and row["rule_type"] == "restriction"]


@pytest.mark.parametrize("row", EU_RESTRICTIONS, ids=[f"{row['constituent']} {row['category']}" for row in EU_RESTRICTIONS])
def test_eu_limits_stand_in_the_annex(row):
    number = re.search(r"Annex (II|III) .*entry (\d+[a-z]?)", row["source"])
    assert number, row["source"]
    text = entry(number[1], number[2])
    assert text, row["source"]
    percent = float(row["max_percent_in_product"])
    written = {f"{percent:g}", f"{percent:.1f}", f"{percent:g}".replace(".", ","), f"{percent:.1f}".replace(".", ",")}
    if number[1] == "II":
        # Safrole stands in Annex II with its natural content allowed up to 100 ppm, which is 0.01 %.
        assert re.search(r"100\s*ppm", text)
    else:
        assert any(re.search(rf"(?<![\d.,]){re.escape(each)}\s*%", text) for each in written), (row["constituent"], text[:600])


def test_eu_prohibitions_stand_in_annex_ii():
    for row in rows("fragrance_limits"):
        if row["category"] == "9" or row["rule_type"] != "prohibition":
            continue
        number = re.search(r"Annex (II|III) .*entry (\d+[a-z]?)", row["source"])
        assert number, row["source"]
        assert entry(number[1], number[2]), row["source"]


@pytest.mark.parametrize(("key", "number", "name"), [("cypress", 123, "Cupressus sempervirens"), ("cedar_leaf", 119, "Thuja Occidentalis")])
def test_conifer_oils_of_the_annex_carry_their_peroxide_check(key, number, name):
    text = entry("III", number)
    assert name in text
    assert re.search(r"Peroxide value less than 10 mmoles/L", text)
    (rule,) = (rule for rule in fragrance_rules() if rule.kind == "specification" and rule.limit_key == key)
    assert all(cas in text for cas in rule.cas)
    assert "10 mmol/L" in rule.note
    limits = scent_limits([Part(of_oil(essential_oils()[key]), 1.0)])
    assert rule in limits.checks


def test_limits_that_hold_for_several_together_are_those_whose_notes_say_so():
    said = {rule.limit_key for rule in fragrance_rules() if rule.kind == "restriction" and "together" in rule.note}
    # Annex III, entries 308 and 309: the two tagetes stand under one key already.
    assert said - {"tagetes"} == {key for _, key in TOGETHER}


def test_what_is_recalled_is_never_counted():
    assert [row for row in rows("essential_oil_constituents") if row["how"] == "memory" and row["use_in_sum"] != "no"] == []


def test_every_analysis_is_of_an_oil_of_the_table_and_names_what_was_read():
    read = {(row["oil_key"], row["source"]) for row in rows("essential_oil_constituents") if row["how"] == "read"}
    for row in rows("essential_oil_analyses"):
        # One that found nothing above its line has no rows of constituents, and says so.
        assert (row["oil_key"], row["source"]) in read or row["note"], row


def test_names_that_a_label_bore_before_2023_are_told_apart_from_new_ones():
    # Regulation (EC) 1223/2009, Annex III, entries 45 and 67 to 92, stood there before Regulation (EU) 2023/1545.
    older = {row["label_name"] for row in rows("fragrance_allergens_eu") if row["annex_iii_entry"].isdigit() and 67 <= int(row["annex_iii_entry"]) <= 92}
    for allergen in fragrance_allergens():
        assert allergen.since_2023 == (allergen.label_name not in older | {"Benzyl Alcohol"}), allergen.label_name
    # The annex itself: an entry that no later regulation touched is no news of 2023.
    for row in rows("fragrance_allergens_eu"):
        if "2023/1545" not in entry("III", row["annex_iii_entry"]) and "2026/" not in entry("III", row["annex_iii_entry"]):
            assert row["label_name"] in older, row["label_name"]
