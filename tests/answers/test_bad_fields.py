"""In every form, a text that no number field may take is a problem of just that field: named by its label, with a remedy.

Oracle: the declarations, which say which fields hold numbers, and the rule of the house that a message names field and remedy.
That the page then shows it beside the field is asked in a browser (`tests/browser/test_bad_input.py`).
"""

import json
from collections.abc import Iterator

import pytest

from answers.demo import BATCH_VALUES, DEMO_NOW, SCENT_VALUES, demo_state
from answers.door import answer
from answers.tasks import FORMS
from calc.entry.declare import FieldInfo, describe

# In the order a tired maker might come by them.
NO_NUMBERS = ("1 500", "-5", "nan", "1e9", "٣", "ABC", "<script>alert(1)</script>", "१२", "12 kg 3 lb 4", "1/0", "--", "∞")
# Says what to do: every remedy begins with one of these.
TELLS = ("Type ", "Choose ", "Fill in ", "If ", "Leave ", "Remove ", "Check ", "Use ", "Write ")


def numbers(declared: type, prefix: str = "") -> Iterator[tuple[str, FieldInfo]]:
    """Every field of a form that holds a number, rows by their first row."""
    for info in describe(declared):
        if info.type == "rows":
            assert info.of is not None
            yield from numbers(info.of, f"{prefix}{info.name}.0.")
        elif info.type in ("measure", "count"):
            yield prefix + info.name, info


def starts(task: str) -> dict[str, str]:
    """The form as somebody in the demo workshop would have filled it."""
    if task in ("batch_sheet", "issue_batch"):
        return {**BATCH_VALUES, "issued_by": "Q"}
    return dict(SCENT_VALUES) if task == "fragrance" else dict(demo_state()[task][0]["values"]) if demo_state().get(task) else {}


@pytest.mark.parametrize("task", [task for task, declared in FORMS.items() if any(True for each in declared for _ in numbers(each))])
def test_what_is_no_number_is_told_at_its_field_with_its_label_and_a_remedy(task: str):
    for declared in FORMS[task]:
        for name, info in numbers(declared):
            values = starts(task)
            if info.when:
                values[name[: name.rfind(".") + 1] + info.when[0]] = info.when[1][0]
            for text in NO_NUMBERS:
                asked = {"task": task, "values": values | {name: text}, "state": demo_state(), "now": DEMO_NOW}
                told = [each for each in json.loads(answer(json.dumps(asked))).get("problems", ()) if each["field"] == name]
                assert told, f"{name}: nothing is said about {text!r}"
                said = f"{told[0]['message']} {told[0]['remedy']}"
                assert info.label in said, f"{name}, {text!r}: {said}"
                assert told[0]["remedy"].startswith(TELLS), f"{name}, {text!r}: {said}"
