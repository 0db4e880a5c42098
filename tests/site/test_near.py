"""`test --near` leaves out no test that names the changed file, and none of those in browsers starts by itself."""

from pathlib import Path

import pytest

from offline.near import near

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    ("changed", "python", "scripts"),
    [
        ("calc/chemistry/water.py", "tests/calc/chemistry/test_water.py", None),
        ("site/answers/door.py", "tests/answers/test_door.py", None),
        # Through a helper of tests, `hand.py`.
        ("tests/answers/hand.py", "tests/answers/test_at_the_scale.py", None),
        ("site/answers/templates/fragrance.html", "tests/answers/test_door.py", None),
        ("shared/reference/constants.csv", "tests/reference", None),
        ("shared/records/kinds.json", "tests/site/test_declared_records.py", "tests/site_js/store/backup.test.mjs"),
        ("tests/fixtures/stories/block.json", "tests/calc/block/test_events.py", "tests/site_js/rules/block_of_stories.test.mjs"),
        ("site/static/js/rules/walk.mjs", "tests/site/test_script_rooms.py", "tests/site_js/rules/walk.test.mjs"),
        ("tests/site_js/rules/walk.test.mjs", "tests/site/test_layers.py", "tests/site_js/rules/walk.test.mjs"),
    ],
)
def test_what_names_the_changed_file_is_run(changed: str, python: str, scripts: str | None):
    assert (ROOT / changed).exists()
    plan = near(ROOT, [changed])
    assert python in plan.python
    assert scripts is None or scripts in plan.scripts


def test_every_test_that_is_named_is_there():
    plan = near(ROOT, ["calc/entry/shown.py", "site/pages/app.py", "shared/safety/points.csv", "site/static/js/store/events.mjs"])
    assert [path for path in (*plan.python, *plan.scripts) if not (ROOT / path).exists()] == []
    assert plan.python_types and plan.script_types


def test_a_changed_browser_test_is_named_and_left_out():
    plan = near(ROOT, ["tests/browser/test_print.py"])
    assert plan.browser == ("tests/browser/test_print.py",)
    assert not [path for path in plan.python if "browser" in path]
    assert not plan.python_types
