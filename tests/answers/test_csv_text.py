"""A table for a spreadsheet holds no formula, and words stay as they are."""

import csv
import io

import pytest

from answers.csv_text import csv_of


@pytest.mark.parametrize("text", ["=1+1", "+41 79", "-2", "@SUM(A1)", "\t=1", " =1", '=HYPERLINK("x")', "\r=1"])
def test_a_table_for_a_spreadsheet_holds_no_formula(text):
    # OWASP, "CSV Injection": a cell must not begin with = + - @, a tab or a carriage return. RFC 4180: quotes are doubled.
    rows = list(csv.reader(io.StringIO(csv_of(["where", "bars"], [[text, 12]]), newline="")))
    assert rows == [["where", "bars"], [f"'{text}", "12"]]


def test_plain_words_stay_as_they_are_in_a_table():
    assert csv_of(["a"], [["Mill Lane 3, back door"], ['5" box'], ["O'Hara"]]) == 'a\r\n"Mill Lane 3, back door"\r\n"5"" box"\r\nO\'Hara\r\n'
