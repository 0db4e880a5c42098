"""The kinds of items that a copy may bring are those that Python reads, no more and no less."""

import re
from pathlib import Path

from calc.workshop.kinds import KINDS

ROOT = Path(__file__).resolve().parents[2]


def test_scripts_and_python_know_the_same_kinds_of_items() -> None:
    text = (ROOT / "site/static/js/rules/record_schema.mjs").read_text("utf-8")
    found = re.search(r"export const ITEM_KINDS = \[(.*?)\];", text, re.DOTALL)
    assert found
    assert set(re.findall(r'"(\w+)"', found[1])) == {*KINDS, "formula"}
