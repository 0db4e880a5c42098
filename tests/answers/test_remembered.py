"""What is remembered from answer to answer changes no answer, and nothing of it can change."""

import copy
import json
from dataclasses import fields, is_dataclass
from datetime import date
from fractions import Fraction

import pytest

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_requests, demo_state
from answers.door import answer
from answers.state import State, _read_once, read_once
from calc.entry import shown, units
from calc.scales import display
from calc.workshop.kinds import KINDS
from calc.workshop.safety_place import LyeLimits

REMEMBERED = (_read_once, units.convert, shown.number, display.display_of, display._counted, display._grams)


def forget():
    for each in REMEMBERED:
        each.cache_clear()


def asked(request):
    return json.loads(answer(json.dumps(request)))


def test_answers_are_the_same_whatever_was_asked_before():
    batch = {"task": "batch_sheet", "values": BATCH_VALUES, "state": demo_state(), "now": DEMO_NOW}
    requests = [batch | {"values": BATCH_VALUES | {"blocks": blocks}} for blocks in "345"]
    requests += [*demo_requests(), batch | {"state": demo_state() | {"units": "us"}}, batch | {"language": "es"}]
    alone = []
    for request in requests:
        forget()
        alone.append(asked(request))
    assert [asked(request) for request in requests] == alone
    assert [asked(request) for request in reversed(requests)] == alone[::-1]


def test_a_change_of_a_stored_item_is_seen_at_once():
    state = copy.deepcopy(demo_state())
    mould = next(entry for entry in state["mould"] if entry["id"] == "m-block")
    request = {"task": "batch_sheet", "values": BATCH_VALUES, "state": state, "now": DEMO_NOW}
    before = asked(request)
    mould["values"]["name"] = "Old oak mould"
    after = asked(request)
    assert "Old oak mould" in after["html"]["batch_sheet"] and "Old oak mould" not in before["html"]["batch_sheet"]


def test_a_faulty_item_is_told_each_time_in_the_language_spoken():
    state = copy.deepcopy(demo_state())
    next(entry for entry in state["mould"] if entry["id"] == "m-block")["values"]["name"] = ""
    request = {"task": "batch_sheet", "values": BATCH_VALUES, "state": state, "now": DEMO_NOW}
    english, again, spanish = (asked(request | {"language": language}) for language in ("en", "en", "es"))
    assert english["problems"] == again["problems"] != []
    assert [each["field"] for each in spanish["problems"]] == [each["field"] for each in english["problems"]]
    assert spanish["problems"][0]["message"] != english["problems"][0]["message"]


def items():
    state = State(demo_state())
    # Of the safety form answers read the limits of the lye alone.
    classes = {kind: cls for kind, (cls, *_) in KINDS.items()} | {"safety": LyeLimits}
    return [(cls, entry) for kind, cls in classes.items() for entry in state.stored(kind)]


@pytest.mark.parametrize(("cls", "entry"), items(), ids=lambda each: getattr(each, "id", getattr(each, "__name__", "")))
def test_what_is_read_once_is_frozen_to_the_bottom(cls, entry):
    value = read_once(cls, entry.values)
    assert read_once(cls, dict(entry.values)) is value
    hash(value)

    def frozen(part):
        if is_dataclass(part):
            assert type(part).__dataclass_params__.frozen
            return all(frozen(getattr(part, each.name)) for each in fields(part))
        return all(map(frozen, part)) if isinstance(part, tuple) else isinstance(part, (str, int, float, date, Fraction, type(None)))

    assert frozen(value)


def test_a_fraction_and_a_float_that_are_equal_are_converted_each_by_itself():
    # 0.07 stands for seven hundredths; the fraction of its very bits lies a hair above.
    forget()
    bits = Fraction(0.07)
    assert bits == 0.07
    assert units.convert(0.07, "fraction", "%") == 7.0
    assert units.convert(bits, "fraction", "%") == float(bits * 100)
    assert units.convert(0.07, "fraction", "%") == 7.0
