"""How forms are declared and read. Expected values are the plain arithmetic of what is typed."""

from dataclasses import dataclass, make_dataclass
from datetime import time
from typing import Any

import pytest

from calc.entry.declare import Range, choice, count, describe, item, measure, rows, text, time_of_day
from calc.entry.fields import read
from calc.entry.problems import Caution, InputProblems, Problem

SHARE = Range(0.0, 1.0, "a share is a part of the whole")


@dataclass(frozen=True, kw_only=True)
class Row:
    oil: str = item("Oil", kind="oil")
    share_fraction: float = measure("Share", kind="percent", offered=("%",), refuse=SHARE)
    note: str | None = text("Note", max_length=10, optional=True)


@dataclass(frozen=True, kw_only=True)
class Block:
    name: str = text("Name", max_length=12)
    length_mm: float = measure(
        "Length",
        kind="length",
        offered=("mm", "in"),
        us="in",
        refuse=Range(50.0, 2000.0, "no block mould is longer."),
        warn=Range(100.0, 1000.0, "most moulds are"),
    )
    room_c: float = measure(
        "Room", kind="temperature", offered=("degC", "degF"), refuse=Range(-5.0, 60.0, "people work in it")
    )
    alkali: str = choice("Alkali", options={"naoh": "Sodium hydroxide", "both": "Both"})
    second_fraction: float | None = measure(
        "Second", kind="percent", offered=("%",), refuse=SHARE, when=("alkali", "both")
    )
    bars: int = count("Bars", refuse=Range(1, 100, "a tray holds no more"), warn=Range(2, 50, "most trays hold these"))
    spare_g: float | None = measure(
        "Spare", kind="mass", offered=("g", "lb"), refuse=Range(0.0, 1e5, "the vessel is small"), optional=True
    )
    notes: str | None = text("Notes", max_length=40, optional=True, multiline=True)
    oils: tuple[Row, ...] = rows("Oils", of=Row, minimum=1, maximum=3)


GOOD = {
    "name": "Block",
    "length_mm": "600",
    "length_mm.unit": "mm",
    "room_c": "21",
    "alkali": "naoh",
    "bars": "24",
    "oils.0.oil": "olive",
    "oils.0.share_fraction": "45",
}


def read_block(**changed: Any) -> Block:
    return read(Block, GOOD | changed).value


def problems_of(values: dict[str, Any], cls: type[Any] = Block, prefix: str = "") -> dict[str, Problem]:
    with pytest.raises(InputProblems) as refused:
        read(cls, values, prefix)
    found = {problem.field: problem for problem in refused.value.problems}
    assert len(found) == len(refused.value.problems)
    return found


def only_problem(**changed: Any) -> Problem:
    found = problems_of(GOOD | changed)
    assert len(found) == 1
    return next(iter(found.values()))


def test_a_faultless_form_becomes_its_dataclass_in_inner_units() -> None:
    assert read(Block, GOOD).value == Block(
        name="Block",
        length_mm=600.0,
        room_c=21.0,
        alkali="naoh",
        bars=24,
        oils=(Row(oil="olive", share_fraction=0.45),),
    )
    assert read(Block, GOOD).cautions == ()


@pytest.mark.parametrize(
    ("typed", "control", "length_mm"),
    [
        # The unit control decides; without it, the first unit offered.
        ("10", "in", 254.0),
        ("10", "cm", 100.0),
        ("100", None, 100.0),
        ("100", "", 100.0),
        # A unit typed with the number outweighs the control, and any length unit will do.
        ("10 in", "mm", 254.0),
        ("30 cm", "in", 300.0),
    ],
)
def test_the_unit_comes_from_the_text_then_the_control_then_the_default(
    typed: str, control: str | None, length_mm: float
) -> None:
    assert read_block(**{"length_mm": typed, "length_mm.unit": control}).length_mm == length_mm


def test_a_unit_control_with_something_else_in_it_is_refused() -> None:
    problem = only_problem(**{"length_mm.unit": "furlong"})
    assert (problem.field, problem.code) == ("length_mm", "unknown-unit")


def test_every_fault_is_reported_at_once_rows_included() -> None:
    found = problems_of(
        {
            "length_mm": "1,500",
            "room_c": "abc",
            "alkali": "lime",
            "bars": "2.5",
            "spare_g": "-3",
            "oils.0.oil": "../secret",
            "oils.4.share_fraction": "120 %",
        }
    )
    assert {field: problem.code for field, problem in found.items()} == {
        "name": "missing",
        "length_mm": "ambiguous-number",
        "room_c": "not-a-number",
        "alkali": "not-offered",
        "bars": "not-whole",
        "spare_g": "negative",
        "oils.0.oil": "not-offered",
        "oils.0.share_fraction": "missing",
        "oils.4.oil": "missing",
        "oils.4.share_fraction": "above-range",
    }


def test_every_message_begins_with_the_label_and_never_scolds_or_begs() -> None:
    found = problems_of({"length_mm": "9" * 50, "room_c": "1e3", "bars": "0", "oils.1.oil": "?"})
    labels = {"name": "Name", "length_mm": "Length", "room_c": "Room", "alkali": "Alkali", "bars": "Bars"}
    for field, label in labels.items():
        assert found[field].message.startswith(label)
    words = " ".join(f"{problem.message} {problem.remedy}" for problem in found.values()).lower()
    assert not any(word in words for word in ("please", "sorry", "invalid", "error"))


@pytest.mark.parametrize(
    ("typed", "code", "limit"),
    [
        # Limits stand in the person's unit, rounded inward: 2000 mm is 78.7401... in, 50 mm is 1.9685... in.
        ("2001 mm", "above-range", "2000 mm"),
        ("79 in", "above-range", "78.74 in"),
        ("1.9 in", "below-range", "1.969 in"),
        ("4 cm", "below-range", "5 cm"),
        ("99999999999", "above-range", "2000 mm"),
    ],
)
def test_a_size_out_of_range_is_met_with_the_limit_in_the_persons_unit(typed: str, code: str, limit: str) -> None:
    problem = only_problem(length_mm=typed)
    assert problem.code == code
    assert f"{limit}. No block mould is longer." in problem.message
    assert typed in problem.message and limit in problem.remedy


@pytest.mark.parametrize("typed", ["78.74 in", "1.969 in", "2000", "50", "200 cm"])
def test_the_limit_named_in_a_message_is_itself_accepted(typed: str) -> None:
    assert 50 <= read_block(length_mm=typed).length_mm <= 2000


def test_an_unusual_size_is_read_and_cautioned_with_its_reason() -> None:
    reading = read(Block, GOOD | {"length_mm": "50 in", "bars": "60"})
    # 50 in is 1270 mm; 1000 mm is 39.3700... in.
    assert reading.value.length_mm == 1270.0
    assert reading.cautions == (
        Caution("length_mm", "above-usual", "Length: “50 in” is above the usual 39.37 in.", "Most moulds are."),
        Caution("bars", "above-usual", "Bars: “60” is above the usual 50.", "Most trays hold these."),
    )


@pytest.mark.parametrize(
    ("typed", "room_c"),
    [
        # 23 °F is -5 °C exactly: (23 - 32) x 5/9.
        ("23 °F", -5.0),
        ("-5", -5.0),
        ("−4.5 °C", -4.5),
        ("0", 0.0),
    ],
)
def test_a_temperature_may_lie_below_zero_where_its_range_does(typed: str, room_c: float) -> None:
    assert read_block(room_c=typed).room_c == room_c


def test_a_temperature_below_its_range_is_refused_by_the_range() -> None:
    assert only_problem(room_c="-6").code == "below-range"


def test_a_field_under_when_is_read_only_for_its_choice() -> None:
    assert read_block(second_fraction="nonsense").second_fraction is None
    assert read_block(alkali="both", second_fraction="10").second_fraction == 0.1
    assert only_problem(alkali="both").field == "second_fraction"


@pytest.mark.parametrize("empty", ["", "  ", "\u00a0", None])
def test_an_optional_field_left_empty_is_none_and_a_required_one_is_missing(empty: str | None) -> None:
    assert read_block(spare_g=empty).spare_g is None
    assert only_problem(bars=empty).code == "missing"


@pytest.mark.parametrize("typed", ["12", " 12 ", "12.0", "12,0", "012"])
def test_a_count_is_a_whole_number_however_written(typed: str) -> None:
    bars = read_block(bars=typed).bars
    assert bars == 12 and type(bars) is int


@pytest.mark.parametrize(
    ("typed", "code"),
    [("12.5", "not-whole"), ("1,000", "ambiguous-number"), ("12 bars", "unknown-unit"), ("0", "below-range")],
)
def test_a_count_that_is_not_one_whole_number_is_refused(typed: str, code: str) -> None:
    assert only_problem(bars=typed).code == code


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        # Outer spaces and runs of spaces are one; e and its accent become one letter; markup stays mere text.
        ("  Long   block ", "Long block"),
        ("Cafe\u0301", "Café"),
        ("Block\u00a0A\r\n", "Block A"),
        ("<b>&'\"", "<b>&'\""),
        ("石けん", "石けん"),
    ],
)
def test_words_are_kept_as_typed_but_tidied(typed: str, name: str) -> None:
    assert read_block(name=typed).name == name


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("a\x00b", "hidden-character"),
        ("a\nb", "hidden-character"),
        ("\u202egnirts", "hidden-character"),
        ("a\u200bb", "hidden-character"),
        ("a\ud800", "hidden-character"),
        ("\u200d", "missing"),
        ("x" * 13, "too-long"),
    ],
)
def test_words_that_hide_something_or_run_on_are_refused(typed: str, code: str) -> None:
    assert only_problem(name=typed).code == code


def test_lines_are_kept_in_a_multiline_text_only() -> None:
    assert read_block(notes="\n one \r\ntwo\rthree\n").notes == "one\ntwo\nthree"


@pytest.mark.parametrize(
    ("key", "accepted"),
    [("m-block", True), ("QM-261125-1", True), ("x" * 80, True), ("x" * 81, False)]
    + [(key, False) for key in ("__proto__", "a b", "a/b", "<b>", "é", "-a", "a\n b")],
)
def test_an_item_is_named_by_a_plain_id(key: str, accepted: bool) -> None:
    if accepted:
        assert read_block(**{"oils.0.oil": key}).oils[0].oil == key
    else:
        assert only_problem(**{"oils.0.oil": key}).code == "not-offered"


def test_rows_keep_their_order_over_gaps_and_empty_rows_are_dropped() -> None:
    changed = {
        "oils.10.oil": "palm",
        "oils.10.share_fraction": "30%",
        "oils.2.oil": "coconut",
        "oils.2.share_fraction": "25",
        "oils.5.oil": " ",
        "oils.5.share_fraction": "",
        "oils.5.share_fraction.unit": "%",
    }
    assert [row.oil for row in read_block(**changed).oils] == ["olive", "coconut", "palm"]


@pytest.mark.parametrize(
    "key",
    [
        "oils.99999999999999999999.oil",
        "oils.x.oil",
        "oils.-1.oil",
        "oils.01.oil",
        "oils.٣.oil",
        "oils.__proto__.oil",
        "oils.1.__proto__",
        "oils.1.unknown",
        "oils.1",
        "oils..oil",
        "oils",
        "__proto__",
        "constructor.prototype",
    ],
)
def test_a_control_that_was_never_declared_is_ignored(key: str) -> None:
    assert read_block(**{key: "1"}) == read_block()


def test_too_few_and_too_many_rows_are_problems_of_the_rows_themselves() -> None:
    without = {key: typed for key, typed in GOOD.items() if not key.startswith("oils")}
    assert problems_of(without)["oils"].code == "too-few-rows"
    many = {f"oils.{n}.{part}": "5" for n in range(5) for part in ("oil", "share_fraction")}
    problem = only_problem(**many)
    assert (problem.field, problem.code) == ("oils", "too-many-rows")
    assert "Remove 2." in problem.remedy


def test_a_prefix_names_the_controls_of_a_form_inside_a_form() -> None:
    found = problems_of({"mould.oil": "olive", "oil": "x", "share_fraction": "3"}, Row, "mould.")
    assert list(found) == ["mould.share_fraction"]


@pytest.mark.parametrize("hostile", [5, 5.0, True, ["5"], {"a": 1}])
def test_a_value_that_is_no_text_is_a_problem_and_not_a_crash(hostile: Any) -> None:
    assert only_problem(bars=hostile).code == "not-text"
    assert only_problem(**{"length_mm.unit": hostile}).code == "unknown-unit"


def test_a_declaration_describes_itself_once() -> None:
    described = describe(Block)
    assert describe(Block) is described
    by_name = {info.name: info for info in described}
    assert list(by_name) == list(Block.__dataclass_fields__)
    length = by_name["length_mm"]
    assert (length.type, length.kind, length.offered, length.us) == ("measure", "length", ("mm", "in"), "in")
    assert by_name["second_fraction"].when == ("alkali", ("both",))
    assert by_name["oils"].of is Row and by_name["oils"].maximum == 3


def _declared(name: str, field: Any) -> type[Any]:
    return make_dataclass("Odd", [(name, Any, field)], frozen=True, kw_only=True)


@pytest.mark.parametrize(
    "declare",
    [
        # A name that ends in another unit than the one used inside.
        lambda: describe(_declared("length_cm", measure("L", kind="length", offered=("mm",), refuse=SHARE))),
        # Units of another kind, none at all, or a US unit that is not offered; an unknown kind.
        lambda: measure("L", kind="length", offered=("kg",), refuse=SHARE),
        lambda: measure("L", kind="length", offered=(), refuse=SHARE),
        lambda: measure("L", kind="length", offered=("mm",), us="in", refuse=SHARE),
        lambda: measure("L", kind="time", offered=("s",), refuse=SHARE),
        # A condition on a choice that does not exist.
        lambda: describe(_declared("a", text("A", max_length=3, when=("b", "c")))),
        # Rows and ranges upside down; a range without a reason or an end.
        lambda: rows("R", of=Row, minimum=3, maximum=2),
        lambda: Range(2.0, 1.0, "why"),
        lambda: Range(1.0, 2.0, " "),
        lambda: Range(0.0, float("inf"), "why"),
        # A field made by no maker.
        lambda: describe(_declared("a", 1)),
    ],
)
def test_a_declaration_that_contradicts_itself_is_refused_at_once(declare: Any) -> None:
    with pytest.raises((TypeError, ValueError)):
        declare()


@pytest.mark.parametrize(
    "make",
    [
        lambda: Problem("a", "Not Kebab", "m", "r"),
        lambda: Problem("a", "code", "", "r"),
        lambda: Problem("a", "code", "m", " "),
        lambda: Caution("a", "code", "m", ""),
        lambda: InputProblems(),
    ],
)
def test_a_problem_without_something_to_say_cannot_be_made(make: Any) -> None:
    with pytest.raises(ValueError):
        make()


@dataclass(frozen=True, kw_only=True)
class Recipe:
    name: str = text("Recipe name", max_length=60)
    oils: tuple[Row, ...] = rows("Oils", of=Row, minimum=1, maximum=5)


def said_of(values):
    with pytest.raises(InputProblems) as found:
        read(Recipe, values)
    return [f"{problem.message} {problem.remedy}" for problem in found.value.problems]


def test_message_of_a_row_names_the_row():
    said = said_of({"name": "A", "oils.0.oil": "olive", "oils.0.share_fraction": "50", "oils.3.oil": "palm"})
    assert len(said) == 1 and said[0].startswith("Oil 2, Share: still missing.")


def test_missing_name_and_rows_read_as_sentences():
    assert said_of({}) == [
        "Recipe name: still missing. Type a name, at most 60 characters.",
        "Oils: none filled in, at least 1 needed. Fill in at least 1.",
    ]


def test_new_scale_starts_without_a_class():
    from calc.workshop.equipment import ScaleItem

    [info] = [info for info in describe(ScaleItem) if info.name == "accuracy_class"]
    assert next(iter(info.options)) == "unmarked"


@dataclass(frozen=True, kw_only=True)
class Morning:
    ready_at: time | None = time_of_day("Ready at", optional=True)


def test_a_time_is_read_as_a_browsers_field_gives_it():
    # HTML standard, "valid time string": two digits of the hour, a colon, two of the minute.
    assert read(Morning, {"ready_at": "07:05"}).value.ready_at == time(7, 5)
    assert read(Morning, {"ready_at": ""}).value.ready_at is None


@pytest.mark.parametrize("typed", ["7", "7:00", "24:00", "07:60", "seven", "07:00 pm"])
def test_what_is_no_time_is_refused_with_both_ways_of_typing_one(typed):
    with pytest.raises(InputProblems) as faults:
        read(Morning, {"ready_at": typed})
    (problem,) = faults.value.problems
    assert (problem.field, problem.code) == ("ready_at", "no-time")
    assert "07:00" in problem.remedy and "19:00" in problem.remedy
