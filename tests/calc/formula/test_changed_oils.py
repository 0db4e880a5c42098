"""A formula's rows with other shares: sums are exact, and what is not touched stays as typed."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from calc.formula.changed_oils import OilRow, row_texts, rows_of, shares_of, with_shares


def values(*rows):
    found = {}
    for number, (oil, share, added) in enumerate(rows):
        found |= {f"oils.{number}.oil": oil, f"oils.{number}.share_fraction": share, f"oils.{number}.added": added}
    return found


MARSH = values(("olive", "45", "main"), ("palm", "30", "main"), ("coconut", "25,0", "main"))


def changed(of, missing, shares):
    return [(row.oil, row.typed, row.added) for row in with_shares(rows_of(of), missing, {k: Fraction(v) for k, v in shares.items()})]


def test_a_new_oil_takes_the_missing_one_s_place_and_the_rest_stays_as_typed():
    assert changed(MARSH, "palm", {"palm": 0, "tallow": 28, "olive": 47}) == [("olive", "47", "main"), ("tallow", "28", "main"), ("coconut", "25,0", "main")]


def test_what_is_left_of_an_oil_stays_beside_what_stands_in():
    assert changed(MARSH, "olive", {"olive": 31, "sunflower": 14})[:2] == [("sunflower", "14", "main"), ("olive", "31", "main")]


def test_what_stands_in_for_a_late_oil_goes_in_late():
    of = values(("olive", "90", "main"), ("shea_butter", "10", "late"))
    assert changed(of, "shea_butter", {"shea_butter": 0, "cocoa_butter": 10}) == [("olive", "90", "main"), ("cocoa_butter", "10", "late")]


def test_an_oil_of_two_rows_changes_in_its_larger_one():
    of = values(("olive", "60", "main"), ("palm", "30", "main"), ("olive", "10", "late"))
    assert changed(of, "palm", {"palm": 0, "olive": 100}) == [("olive", "90", "main"), ("olive", "10", "late")]
    assert changed(of, "olive", {"olive": 6, "palm": 94}) == [("olive", "6", "main"), ("palm", "94", "main")]


def test_thirds_are_written_so_that_they_are_read_back_exactly():
    third = values(("olive", "33 1/3", "main"), ("palm", "33 1/3", "main"), ("coconut", "33 1/3", "main"))
    new = with_shares(rows_of(third), "palm", {"palm": Fraction(0), "olive": Fraction(200, 3)})
    assert [(row.oil, row.typed) for row in new] == [("olive", "66 2/3"), ("coconut", "33 1/3")]
    assert sum(shares_of(rows_of(row_texts(new))).values()) == 100


@given(st.lists(st.tuples(st.sampled_from("abcd"), st.integers(1, 40), st.booleans()), min_size=2, max_size=6, unique_by=lambda row: (row[0], row[2])), st.data())
def test_each_oil_ends_up_with_the_share_asked_for(rows, data):
    made = tuple(OilRow(oil, str(share), Fraction(share), "late" if late else "main") for oil, share, late in rows)
    missing = made[0].oil
    asked = {oil: Fraction(data.draw(st.integers(0, 60))) for oil in [missing, *data.draw(st.lists(st.sampled_from("abcdef"), unique=True)) ]}
    found = with_shares(made, missing, asked)
    wanted = {**shares_of(made), **asked}
    assert shares_of(found) == {oil: share for oil, share in wanted.items() if share}
    assert len({(row.oil, row.added) for row in found}) == len(found)
