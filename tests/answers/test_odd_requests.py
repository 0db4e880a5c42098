"""No request ends in a fault: odd forms, odd workshops, blocks weighed by chance. What is not in order is a problem of a field.

Oracle: the door's own contract (DEVELOPERS.md), and JSON itself (RFC 8259). No amount is looked at here.
"""

import json
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from odd_requests import ODD_TEXTS, block_requests, form_requests, issued_blocks

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state, stored_values
from answers.door import answer
from answers.tasks import FORMS, TASKS
from calc.workshop.kinds import KINDS

# Requests by task; a stored kind's form is asked about by the rest. Together they carry more than 20,000 texts typed.
HOW_MANY = {"formula": 400, "batch_sheet": 300, "issue_batch": 250, "fragrance": 250, "workshop": 30, "formula_list": 40}
OF_A_KIND = 220
OF_BLOCKS = 240


def told(text):
    """The reply, which must be JSON that any UTF-8 channel carries, and no fault."""
    reply = answer(text)
    assert isinstance(reply.encode("utf-8"), bytes)
    found = json.loads(reply)
    assert "fault" not in found, f"{found['report']}\n{text}"
    for problem in found.get("problems", ()):
        assert problem["message"].strip() and problem["remedy"].strip(), problem
    return found


@pytest.mark.parametrize("task", sorted(set(TASKS) - {"at_the_scale", "tank_fill"}))
def test_no_form_however_filled_ends_in_a_fault(task):
    replies = [told(text) for text in form_requests(task, 1, HOW_MANY.get(task, OF_A_KIND))]
    outcomes = Counter(bool(reply["ok"]) for reply in replies)
    # Both must be there, or the requests have gone stale; a card's number and address are never invented.
    assert outcomes[False] and (outcomes[True] or task == "safety"), outcomes


@pytest.mark.parametrize("seed", range(4))
def test_no_block_however_weighed_ends_in_a_fault(seed):
    assert len(issued_blocks()) > 5
    codes = Counter()
    for text, spoilt in block_requests(seed, OF_BLOCKS // 4):
        reply = told(text)
        found = {problem["code"] for problem in reply.get("problems", ())}
        codes.update(found or {"ok"})
        # What the app has made itself is never taken for damaged.
        assert spoilt or "record-damaged" not in found, text
    assert codes["ok"] > OF_BLOCKS / 10, codes


_FIELDS = sorted({f"{name}{unit}" for values in (BATCH_VALUES, stored_values("formula", "f-marsh-plain"), *(
    entry["values"] for kind in KINDS for entry in demo_state()[kind])) for name in values for unit in ("", ".unit")})  # fmt: skip


@given(
    st.sampled_from(sorted(set(TASKS) - {"at_the_scale", "workshop"})),
    st.dictionaries(
        st.sampled_from(_FIELDS), st.one_of(st.text(max_size=60), st.sampled_from(ODD_TEXTS), st.decimals().map(str)), max_size=12
    ),
)  # fmt: skip
def test_no_text_in_any_field_ends_in_a_fault(task, values):
    base = next((entry["values"] for entry in demo_state().get(task, ())), BATCH_VALUES | {"issued_by": "Q"})
    request = {"task": task, "values": {**base, **values}, "state": demo_state(), "now": DEMO_NOW}
    reply = told(json.dumps(request))
    assert set(reply["understood"]) <= set(request["values"])


def test_every_task_s_form_is_known():
    assert set(FORMS) == set(TASKS)


def with_item(kind, id_, **changes):
    state = json.loads(json.dumps(demo_state()))
    next(entry for entry in state[kind] if entry["id"] == id_)["values"].update(changes)
    return state


def ask(task, values, state):
    return told(json.dumps({"task": task, "values": values, "state": state, "now": DEMO_NOW}))


def problems(reply):
    return [(problem["field"], problem["code"]) for problem in reply["problems"]]


@pytest.mark.parametrize("share", ["0", "100"])
def test_both_alkalis_of_which_one_has_no_share_are_told_at_the_share(share):
    both = {"alkali": "both", "koh_share_fraction": share}
    reply = ask("formula", stored_values("formula", "f-marsh-plain") | both, demo_state())
    assert problems(reply) == [("koh_share_fraction", "one-alkali-alone")]
    assert share in reply["problems"][0]["message"]
    state = with_item("formula", "f-marsh-plain", **both)
    reply = ask("batch_sheet", BATCH_VALUES | {"naoh_lot": "a-naoh", "koh_lot": "a-koh"}, state)
    assert [problem["field"] for problem in reply["problems"]] == ["formula"]


def test_a_lot_whose_carbonate_leaves_no_hydroxide_is_told_in_its_form_and_at_the_batch():
    # 15 % Na2CO3 count as 11.3 % NaOH (2 x 39.997 / 105.988, CIAAW 2021): more than all of a strength of 10 %.
    state = with_item("alkali_lot", "a-tank", strength_fraction="10", carbonate_fraction="15")
    values = next(entry["values"] for entry in state["alkali_lot"] if entry["id"] == "a-tank")
    assert problems(ask("alkali_lot", values, state)) == [("carbonate_fraction", "no-hydroxide")]
    reply = ask("batch_sheet", BATCH_VALUES, state)
    assert problems(reply) == [("naoh_lot", "no-hydroxide")]
    assert "LYE-1121" in reply["problems"][0]["message"]
    # Just above is lye, weak as it is.
    assert ask("alkali_lot", values | {"carbonate_fraction": "13"}, state)["ok"]


def test_lye_just_made_is_never_told_as_nothing():
    state = with_item("scale", "s-floor", **{"division_g": "100", "division_g.unit": "g"})
    tiny = {"scale_to": "batch_mass", "batch_mass_g": "50", "batch_mass_g.unit": "g", "naoh_lot": "a-naoh"}
    record = ask("issue_batch", BATCH_VALUES | tiny | {"issued_by": "Q", "reason": "a trial"}, state)["record"]
    targets = {pour["key"]: pour["target_g"] for pour in record["pours"]}
    assert targets["lye:made"] > 0.0
    assert targets["lye:made"] == pytest.approx(targets["water"] + targets["lye:naoh"])


def test_own_oil_whose_range_is_turned_round_is_told_where_it_is_used():
    state = json.loads(json.dumps(demo_state()))
    turned = {"name": "Hemp of ours", "source": "certificate 12", "ester": "triglyceride",
              "saponification_low_value": "194", "saponification_high_value": "190"}  # fmt: skip
    state["own_oil"] = [{"id": "w-1", "values": turned}]
    assert problems(ask("own_oil", turned, state)) == [("saponification_high_value", "range-turned-round")]
    reply = ask("formula", stored_values("formula", "f-marsh-plain") | {"oils.0.oil": "own:w-1"}, state)
    assert [problem["code"] for problem in reply["problems"]] == ["stored-item-faulty"]


def test_lye_a_hundred_times_too_much_has_its_superfat_drawn():
    record = next(each for each in issued_blocks() if any(step["key"] == "lye:naoh:short" for step in each["steps"]))
    events = []
    for number, step in enumerate(record["steps"]):
        base = {"id": f"e{number:03}", "at": f"2026-11-25T09:{number:02}:00.000Z", "local": f"2026-11-25T09:{number:02}:00+00:00",
                "person": "Q", "step": step["key"]}  # fmt: skip
        if step["kind"] != "weigh":
            events.append(base | {"kind": "checked", "reading": "36", "unit": step["unit"]})
            continue
        asked = {part: step[part] for part in ("target", "low", "high", "decimals", "unit", "division")}
        slipped = step["key"] == "lye:naoh:short"
        # 13.46 kg typed without its point.
        reading = step["target_text"].replace(".", "") if slipped else step["target_text"]
        events.append(base | {"kind": "weighed", "reading": reading, "unit": step["unit"], "mode": "net", "asked": asked, "lot": None})
        if slipped:
            break
    state = demo_state() | {"record": record, "events": events}
    reply = ask("at_the_scale", {"batch": record["code"], "block": "1"}, state)
    assert "Interval from \N{MINUS SIGN}" in reply["html"]["scale_live"]
    assert reply["record"]["pending"] == "lye:naoh:short" and reply["html"]["scale_recovery"]


@pytest.mark.parametrize("now", ["", "yesterday", "2026-13-45"])
def test_a_device_without_a_date_is_told_so_when_a_sheet_is_issued(now):
    request = {"task": "issue_batch", "values": BATCH_VALUES | {"issued_by": "Q"}, "state": demo_state(), "now": now}
    assert problems(told(json.dumps(request))) == [("", "no-date")]


def test_a_fault_of_ours_is_still_told_as_one(monkeypatch):
    def broken(request):
        raise ZeroDivisionError("ours")

    monkeypatch.setitem(TASKS, "formula", broken)
    request = {"task": "formula", "values": {}, "state": demo_state(), "now": DEMO_NOW}
    reply = json.loads(answer(json.dumps(request)))
    assert set(reply) == {"fault", "report"}
    assert "ZeroDivisionError: ours" in reply["fault"] and "in broken" in reply["report"]
    # And the next question is answered as ever.
    assert told(json.dumps(request | {"task": "formula_list"}))["ok"]


@pytest.mark.parametrize(
    ("typed", "unit", "shown"),
    [
        # 12 lb 4.5 oz = 12 + 4.5/16 lb; 500 g = 0.5 kg; 1 lb = 453.59237 g (NIST Handbook 44, Appendix C).
        ("12 1/2 lb", "lb", "= 12.5 lb"), ("12½", "lb", "= 12.5 lb"), ("12 lb 4.5 oz", "lb", "= 12.28125 lb"),
        ("500 g", "kg", "= 0.5 kg"), ("1 lb", "g", "about 453.5924 g"), ("1.234,5", "g", "= 1234.5 g"), ("１２,5", "kg", "= 12.5 kg"),
        # As it stands there already, or not understood: nothing.
        ("12.5", "lb", None), ("12.5 lb", "lb", None), ("12.500 kg", "kg", None), ("", "kg", None), ("twelve", "kg", None), ("1,500", "g", None),
    ],
)  # fmt: skip
def test_what_was_understood_comes_back_beside_its_field_and_only_where_it_was_typed_otherwise(typed, unit, shown):
    values = BATCH_VALUES | {"scale_to": "batch_mass", "batch_mass_g": typed, "batch_mass_g.unit": unit}
    reply = ask("batch_sheet", values, demo_state())
    assert reply["understood"] == ({} if shown is None else {"batch_mass_g": shown})


def test_what_was_understood_comes_back_for_rows_and_beside_problems_of_others():
    values = stored_values("formula", "f-marsh-plain") | {"oils.1.share_fraction": "33 1/2", "superfat_fraction": "x"}
    reply = ask("formula", values, demo_state())
    assert not reply["ok"]
    assert reply["understood"] == {"oils.1.share_fraction": "= 33.5 %"}
