"""A supplier's list as text. CAS numbers: Regulation (EC) 1223/2009, Annex III, as the `on-the-list` package carries them;
their check digits: CAS, "Check Digit Verification of CAS Registry Numbers" (from memory)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.entry.fields import read
from calc.scent.limits import scent_limits
from calc.scent.material import Part, of_lot
from calc.scent.names import constituents
from calc.scent.supplier_list import MOST_LINES, supplier_list
from calc.tables.fragrance import essential_oils
from calc.workshop.scents import ScentLot

LINALOOL, LIMONENE = "78-70-6", "5989-27-5"


def shares(text: str) -> dict[str, str]:
    found = supplier_list(text)
    assert not found.unread, found.unread
    return {each.name.lower(): each.percent for each in found.read}


@pytest.mark.parametrize(
    ("line", "percent"),
    [
        ("Linalool 4.5 %", "4.5"),
        ("LINALOOL;78-70-6;4.5", "4.5"),
        ("Linalool\t78-70-6\t201-134-4\t4,5", "4.5"),
        ("78-70-6  4.5%", "4.5"),
        ("4.5 % linalool", "4.5"),
        ("Linalool (78-70-6): < 0.01", "0.01"),
        ("linalool 0.1 - 0.45 %", "0.45"),
        ("Linalool 450 ppm", "0.045"),
        ("linalo 4.5", "4.5"),
    ],
)
def test_a_line_is_read_by_name_or_number_with_its_upper_end(line: str, percent: str) -> None:
    assert shares(line) == {"linalool": percent}


@pytest.mark.parametrize(
    ("name", "cas"),  # Annex III, entries 90, 89, 46 and 91
    [("α-Isomethyl ionone", "127-51-5"), ("Methyl 2-octynoate", "111-12-6"), ("6-Methyl Coumarin", "92-48-8"), ("Evernia prunastri extract", "90028-68-5")],
)
def test_names_with_digits_greek_letters_and_strokes_mean_what_their_number_means(name: str, cas: str) -> None:
    [by_name], [by_number] = supplier_list(f"{name} 0,2").read, supplier_list(f"{cas} 0.2").read
    assert by_name == by_number and by_name.percent == "0.2"


def test_what_is_not_in_it_is_counted_and_no_row() -> None:
    found = supplier_list("Linalool n.d.\nCitral 0\nCoumarin -\nGeraniol 1.2")
    assert (found.absent, [each.percent for each in found.read], found.unread) == (3, ["1.2"], ())


def test_the_names_of_columns_are_no_line_of_a_list() -> None:
    assert supplier_list("Allergen\tCAS No.\tMax. content %\nLinalool\t78-70-6\t4,5").unread == ()


def test_of_one_that_stands_twice_the_larger_counts() -> None:
    assert shares(f"Linalool 1\n{LINALOOL} 2\nlinalool 0.5") == {"linalool": "2"}


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("Linalool", "no share"),
        ("Allergen of ours", "no share"),
        ("Linalool 1,500 ppm", "1.5"),
        ("Linalool 140 %", "more than all"),
        ("78-70-5 4.5", "last digit"),
        (f"{LINALOOL} {LIMONENE} 4.5", "different things"),
        ("geran 3", "Type more of it"),
        ("Unobtainium 3", "isn't in the tables"),
        ("3", "no name"),
        # Lines of safety data sheets, with classes of danger behind the share (form of section 3.2, Regulation (EU) 2020/878).
        ("Isoeugenol 97-54-1 1 - 5 % Skin Sens. 1", "more numbers"),
        ("d-Limonene 5989-27-5 25 - 50 % Flam. Liq. 3 Aquatic Chronic 1", "more numbers"),
        ("Linalool | 78-70-6 | 4.5 | -", "more numbers"),
        ("5989-27-5 5 ± 2 %", "no upper end"),
        ("Limonene > 90 %", "no upper end"),
        ("Limonene 5989-27-5 ≥ 90 %", "no upper end"),
    ],
)
def test_a_line_that_can_mean_two_things_or_none_is_given_back_with_the_reason(line: str, why: str) -> None:
    found = supplier_list(f"Coumarin 1\n{line}")
    assert [each.name.lower() for each in found.read] == ["coumarin"]
    [unread] = found.unread
    assert unread.line.split() == line.split() and why in unread.why


def test_every_constituent_offered_is_found_by_its_own_name() -> None:
    for key, name in constituents().items():
        found = supplier_list(f"{name} 1.5 %")
        assert [(each.key, each.percent) for each in found.read] == [(key, "1.5")], (name, found)


def test_more_lines_than_any_list_has_are_given_back() -> None:
    found = supplier_list("Linalool 1\n" * (MOST_LINES + 2))
    assert len(found.unread) == 2


@given(st.text(max_size=400))
def test_no_text_is_a_fault_and_no_line_is_lost(text: str) -> None:
    found = supplier_list(text)
    assert all(each.key in constituents() and 0 < float(each.percent) <= 100 for each in found.read)
    if not found.read and not found.absent:
        assert len(found.unread) == len([line for line in text.splitlines() if line.strip()])


def test_a_fragrance_oil_with_its_list_as_text_is_limited_and_labelled_as_with_the_same_rows() -> None:
    papers = {"code": "F-1", "material": "fragrance", "name": "Meadow", "in_use": "yes"}
    rows = {"analysis.0.constituent": "linalool", "analysis.0.most_fraction": "4.5",
            "analysis.1.constituent": "isoeugenol", "analysis.1.most_fraction": "0.2"}  # fmt: skip
    by_rows = of_lot(read(ScentLot, papers | rows).value, essential_oils())
    by_text = of_lot(read(ScentLot, papers | {"list_text": "78-70-6 4.5\nIsoeugenol 0,2 %"}).value, essential_oils())
    both = of_lot(read(ScentLot, papers | rows | {"list_text": "Linalool 4\nIsoeugenol 0.2"}).value, essential_oils())
    assert set(by_text.contents) == set(by_rows.contents) == set(both.contents)
    # Annex III, entry 73: isoeugenol at most 0.02 % of the product, 0.2 % of this oil: 10 % of it.
    [eu] = scent_limits([Part(by_text, 1.0)], "eu").markets
    assert eu.load_fraction == pytest.approx(0.1)
