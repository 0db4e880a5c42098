"""The declaration of records, `shared/records`: what scripts, Python and words know of a kind is what it says."""

import json
import re
from pathlib import Path

from calc.block.declared import EVENTS, GROUPS, SHAPES, event_check
from calc.steps.step import WeighStep
from calc.workshop.kinds import KINDS
from pages.app import create_app
from pages.copy_schema import MAY

ROOT = Path(__file__).resolve().parents[2]
# JSON Schema, draft 2020-12 (Core, 10; Validation, 6 and 7), and the two layers of this declaration.
KEYWORDS = {
    "$comment", "type", "enum", "minimum", "maximum", "exclusiveMinimum", "minLength", "maxLength", "pattern", "minItems",
    "maxItems", "items", "prefixItems", "required", "minProperties", "propertyNames", "properties", "additionalProperties",
    "anyOf", "format", "copy", "scale",
}  # fmt: skip
# What Python takes for granted of what only copies are asked.
OF_COPIES = {"minLength", "maxLength", "pattern", "format"}


def schemas(shape, place=""):
    """Every schema in one, with where it stands."""
    yield place, shape
    if isinstance(shape, str):
        return
    for keyword, said in shape.items():
        inner = {}
        if keyword == "properties":
            inner = said
        elif keyword in ("anyOf", "prefixItems"):
            inner = dict(enumerate(said))
        elif keyword in ("items", "propertyNames", "additionalProperties", "copy", "scale") and said is not False:
            inner = {keyword: said}
        for name, each in inner.items():
            yield from schemas(each, f"{place}.{name}")


ALL = [found for name, shape in SHAPES.items() for found in schemas(shape, name)]


def test_scripts_and_python_know_the_same_kinds_of_items():
    assert set(GROUPS["item"]["begins"]) == {*KINDS, "formula", "label"}


def test_every_shape_that_is_named_is_declared_and_every_declared_one_is_named():
    fields = [shape for said in EVENTS.values() for part in ("must", "may") for shape in said[part].values()]
    named = {each.rstrip("?") for each in [*fields, *(shape for _, shape in ALL)] if isinstance(each, str)}
    # `text` is also what an event's own id, kind and times are.
    assert named == set(SHAPES)


def test_shapes_are_written_in_keywords_of_the_standard():
    for place, shape in ALL:
        assert isinstance(shape, str) or set(shape) <= KEYWORDS, place


def test_no_kind_stands_in_two_groups():
    assert sum(len(group["kinds"]) for group in GROUPS.values()) == len(EVENTS)


def test_what_the_scale_asks_of_a_kind_is_among_its_fields():
    for kind, said in EVENTS.items():
        asked = said.get("at_scale", {"must": [], "may": []})
        assert {*asked["must"], *asked["may"]} <= {"local", *said["must"], *said["may"]}, kind


def test_the_scale_asks_of_every_kind_of_a_block_and_of_a_sheet():
    for kind in (*GROUPS["block"]["kinds"], "issued"):
        assert event_check(kind)({}) is (EVENTS[kind]["at_scale"]["must"] == []), kind


def test_what_the_scale_looks_at_leans_on_nothing_that_copies_alone_are_asked():
    at_scale = {EVENTS[kind][part][field].rstrip("?")
                for kind in (*GROUPS["block"]["kinds"], "issued") for part in ("must", "may") for field in EVENTS[kind][part]
                if field in {*EVENTS[kind]["at_scale"]["must"], *EVENTS[kind]["at_scale"]["may"]}}  # fmt: skip
    reached, left = set(), at_scale
    while left:
        reached |= left
        left = {shape.rstrip("?") for name in left for place, shape in schemas(SHAPES[name]) if isinstance(shape, str)
                and ".copy." not in f"{place}."} - reached  # fmt: skip
    for place, shape in ((place, shape) for name in reached for place, shape in schemas(SHAPES[name], name) if ".copy" not in place):
        assert isinstance(shape, str) or not OF_COPIES & set(shape), place


def test_a_step_is_declared_with_the_fields_that_it_is_frozen_with():
    step = SHAPES["step"]
    declared = {*step["properties"], *step["copy"]["properties"]}
    assert declared == {*WeighStep.__dataclass_fields__, "es"}


def test_every_kind_of_step_is_completed_by_one_kind_of_event():
    completed = [step for said in EVENTS.values() for step in said.get("completes", ())]
    assert sorted(completed) == sorted(SHAPES["step_kind"]["enum"])


def test_the_scripts_type_of_an_event_has_the_fields_that_are_declared():
    text = (ROOT / "site/static/js/rules/types.mjs").read_text("utf-8")
    told = re.search(r"@typedef \{object\} TarewellEvent\n(.*?)\* @typedef", text, re.DOTALL)
    assert told
    typed = set(re.findall(r"@property \{.*?\} \[(\w+)\]", told[1]))
    # Of an issued sheet the type names what scripts read; the rest goes to Python and to paper unread.
    sheets = set(EVENTS["issued"]["may"])
    others = {field for kind, said in EVENTS.items() if kind != "issued" for field in (*said["must"], *said["may"])}
    assert others | {"code", "html", *MAY} <= typed <= others | {"code", "html", *MAY} | sheets


def test_every_kind_has_words_on_the_page_in_both_languages():
    client = create_app().test_client()
    pages = [client.get(path).get_data(as_text=True) for path in ("/scale/", "/es/scale/")]
    said = [dict(re.findall(r'<span data-word="kind-(\w+)">(.*?)</span>', page)) for page in pages]
    for words in said:
        assert set(words) == set(EVENTS)
        assert all("{n}" in each for each in words.values())
    assert not set(said[0].values()) & set(said[1].values())


def test_the_declaration_is_plain_json_without_a_name_twice():
    def once(pairs):
        names = [name for name, _ in pairs]
        assert len(names) == len(set(names)), names
        return dict(pairs)

    for path in (ROOT / "shared" / "records").glob("*.json"):
        json.loads(path.read_text("utf-8"), object_pairs_hook=once)
