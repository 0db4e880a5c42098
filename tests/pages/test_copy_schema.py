"""The published schema of a copy, asked by a validator that knows nothing of this project (jsonschema, draft 2020-12)."""

import copy
import gzip
import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from answers.demo import demo_state
from calc.block.declared import GROUPS
from pages.copy_schema import PATH

COPIES = Path(__file__).resolve().parents[1] / "fixtures" / "copies"
NAMES = sorted(path.name.removesuffix(".json.gz") for path in COPIES.glob("*.json.gz"))


@pytest.fixture(scope="module")
def validator(site: Path) -> Draft202012Validator:
    schema = json.loads((site / PATH.lstrip("/")).read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def copy_of(name: str):
    return json.loads(gzip.decompress((COPIES / f"{name}.json.gz").read_bytes()))


def around(*events):
    return {"format": "tarewell-records", "version": 1, "sha256": "0" * 64, "events": list(events)}


def test_copies_of_every_kept_build_fit_the_schema(validator):
    assert NAMES
    for name in NAMES:
        assert [error.message for error in validator.iter_errors(copy_of(name))] == [], name


def test_the_demo_workshop_in_a_copy_fits_the_schema(validator):
    times = {"at": "2026-11-30T08:00:00.000Z", "local": "2026-11-30T08:00:00+00:00"}
    kinds = GROUPS["item"]["begins"]
    events = [
        {"id": f"{kind}-{item['id']}", **times, "kind": "saved", "subject": f"{kind}:{item['id']}", "values": item["values"]}
        for kind in kinds for item in demo_state().get(kind, [])
    ]  # fmt: skip
    assert len(events) > 20
    assert [error.message for error in validator.iter_errors(around(*events))] == []


SHEET = next(event for event in copy_of("rules-3-scale")["events"] if event["kind"] == "issued")
WEIGHED = next(event for event in copy_of("rules-3-scale")["events"] if event["kind"] == "weighed")
SAVED = next(event for event in copy_of("rules-3-workshop")["events"] if event["kind"] == "saved")


def without(event, field):
    return {key: value for key, value in event.items() if key != field}


BROKEN = {
    "a kind that there is not": {**SAVED, "kind": "forged"},
    "a field more": {**SAVED, "more": 1},
    "no values": without(SAVED, "values"),
    "a number among the values": {**SAVED, "values": {"name": 1}},
    "markup for an id": {**SAVED, "id": "<b>"},
    "markup in a subject": {**SAVED, "subject": "mould:<img src=x>"},
    "a subject of another kind": {**SAVED, "subject": SHEET["subject"]},
    "a time of another form": {**SAVED, "at": "yesterday"},
    "a time after the end of the century": {**SAVED, "at": "9999-12-31T23:59:59.999Z"},
    "no person": without(WEIGHED, "person"),
    "a reading that is none": {**WEIGHED, "reading": "1,5"},
    "a unit that is none": {**WEIGHED, "unit": "stone"},
    "a text for a count": {**WEIGHED, "asked": {**WEIGHED["asked"], "target": "12"}},
    "a sheet of no blocks": {**SHEET, "blocks": 0},
    "oils that are no list": {**SHEET, "oils": "olive"},
    "a step without words": {**SHEET, "steps": [without(SHEET["steps"][0], "title")]},
    "a step that weighs without a target": {
        **SHEET, "steps": [{**next(step for step in SHEET["steps"] if step["kind"] == "weigh"), "target": None}],
    },
}  # fmt: skip


@pytest.mark.parametrize("name", BROKEN)
def test_an_event_that_the_app_refuses_does_not_fit_the_schema(validator, name):
    assert validator.is_valid(around(SAVED, SHEET, WEIGHED))
    assert not validator.is_valid(around(SAVED, SHEET, WEIGHED, BROKEN[name]))


@pytest.mark.parametrize(
    "change", [{"version": 2}, {"format": "other"}, {"sha256": "0"}, {"events": {}}, {"more": 1}], ids=lambda change: next(iter(change))
)
def test_a_frame_that_the_app_refuses_does_not_fit_the_schema(validator, change):
    assert not validator.is_valid({**around(SAVED), **change})
    for field in around():
        assert not validator.is_valid(without(around(SAVED), field))


def test_a_changed_event_is_seen_in_every_field_that_must_be_there(validator):
    for name in NAMES[:2]:
        seen = {}
        for event in copy_of(name)["events"]:
            seen.setdefault(event["kind"], event)
        for kind, event in seen.items():
            must = next(group["kinds"][kind]["must"] for group in GROUPS.values() if kind in group["kinds"])
            for field in ("id", "at", "local", "subject", "kind", *must):
                broken = copy.deepcopy(event)
                del broken[field]
                assert not validator.is_valid(around(broken)), f"{kind} without {field}"


def test_the_page_of_copies_leads_to_the_schema(pages):
    for name in ("records/copies/index.html", "es/records/copies/index.html"):
        [link] = [each for each in pages[name].all("a") if each.get("href").endswith("copy.schema.json")]
        assert link.text.strip()
