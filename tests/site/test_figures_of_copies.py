"""What scripts hold of copies as numbers is what the reference says, and what the pages tell."""

import re
from pathlib import Path

import pytest

from calc.tables.reference import constant

SCRIPTS = Path(__file__).resolve().parents[2] / "site" / "static" / "js"


@pytest.mark.parametrize(
    ("row", "module", "name"),
    [("copies_kept", "records/generations.mjs", "KEPT"), ("passphrase_rounds", "store/locked.mjs", "ITERATIONS")],
)
def test_a_figure_of_the_scripts_is_the_reference_s(row, module, name):
    found = re.search(rf"^(?:export )?const {name} = ([\d_]+);", (SCRIPTS / module).read_text("utf-8"), re.MULTILINE)
    assert found and int(found[1]) == constant(row).value
