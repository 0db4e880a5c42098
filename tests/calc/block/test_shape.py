"""What a block can't be reckoned without, by hand from what the reckoning reads; and what is nobody's business here."""

from copy import deepcopy

import pytest
from block_records import event, record, weigh_through

from calc.block.shape import can_be_weighed

MADE = record(hold_back=0.05)
DONE = weigh_through(MADE, "lye:naoh:short")
DECISION = event(40, "decided", step="oil:0", choice="leave", steps=[MADE["steps"][1]], replaced={"oil:1": MADE["steps"][2]})
OIL = MADE["steps"][1]


def changed(whole, *path, to=None):
    """A copy with the last of a path taken out, or put in the place of what is there."""
    new = deepcopy(whole)
    inner = new
    for key in path[:-1]:
        inner = inner[key]
    if to is None:
        del inner[path[-1]]
    else:
        inner[path[-1]] = to[0]
    return new


def test_a_block_with_its_events_can_be_weighed():
    assert can_be_weighed(MADE, [*DONE, DECISION])
    assert can_be_weighed(MADE, [])


@pytest.mark.parametrize("sheet", [None, [], "sheet", {}, {**MADE, "steps": None}])
def test_what_is_no_sheet_can_not(sheet):
    assert not can_be_weighed(sheet, [])


@pytest.mark.parametrize("events", [None, {}, "events", [None], [[]], [{}], [{"id": "a"}], [{"kind": "closed"}], [{"id": 1, "kind": "closed"}]])
def test_what_are_no_events_can_not(events):
    assert not can_be_weighed(MADE, events)


NEEDED = [
    ("code",), ("superfat_stated_fraction",), ("inputs", "shop"),
    *(("mould", part) for part in ("name", "length_mm", "width_mm", "height_mm")),
    *(("vessel", part) for part in ("name", "tare_g", "capacity_ml")),
    *(("superfat", part) for part in ("value", "low", "high")),
    *(("scales", 0, part) for part in ("name", "capacity_g", "division_g", "reads_in", "accuracy_class")),
    *(("pours", 0, part) for part in ("key", "name", "phase", "lot", "exact_g", "target_g", "unit", "division_g", "in_vessel")),
    *(("chemistry", "oils", 0, part) for part in ("pour", "name", "used", "low", "high", "density_g_per_ml")),
    *(("chemistry", "alkalis", 0, part) for part in ("pour", "name", "alkali", "hydroxide_fraction", "relative")),
    ("chemistry", "acids"), ("chemistry", "lye_density_g_per_ml"), ("chemistry", "other_density_g_per_ml"),
    *(("steps", 1, part) for part in (
        "key", "kind", "title", "how", "stop", "pour", "scale", "unit", "decimals", "division", "target", "low", "high", "questions", "next")),
]  # fmt: skip


@pytest.mark.parametrize("path", NEEDED, ids=lambda path: ".".join(map(str, path)))
def test_a_sheet_that_lacks_it_can_not(path):
    assert not can_be_weighed(changed(MADE, *path), DONE)
    assert not can_be_weighed(changed(MADE, *path, to=({"a": 1},)), DONE)


NEVER_ZERO = [
    ("mould", "length_mm"), ("vessel", "capacity_ml"), ("scales", 0, "division_g"), ("scales", 0, "capacity_g"),
    ("chemistry", "oils", 0, "used"), ("chemistry", "oils", 0, "density_g_per_ml"), ("chemistry", "alkalis", 0, "hydroxide_fraction"),
    ("chemistry", "lye_density_g_per_ml"), ("steps", 1, "division"), ("pours", 0, "division_g"),
]  # fmt: skip


@pytest.mark.parametrize("path", NEVER_ZERO, ids=lambda path: ".".join(map(str, path)))
@pytest.mark.parametrize("value", [0, -1, float("nan"), True, "1"])
def test_what_is_divided_by_or_poured_from_is_above_zero(path, value):
    assert not can_be_weighed(changed(MADE, *path, to=(value,)), DONE)


@pytest.mark.parametrize(
    ("number", "part"),
    [*((1, part) for part in ("id", "kind", "step", "reading", "unit", "asked")), (0, "step")],
)
def test_an_event_that_lacks_it_can_not(number, part):
    assert not can_be_weighed(MADE, changed(DONE, number, part))
    assert not can_be_weighed(MADE, changed(DONE, number, part, to=([],)))


@pytest.mark.parametrize("part", ["target", "low", "high", "decimals"])
def test_a_reading_was_asked_for_in_whole_counts(part):
    for wrong in (None, "1", 1.5, True):
        assert not can_be_weighed(MADE, changed(DONE, 1, "asked", part, to=(wrong,)))


@pytest.mark.parametrize(
    "fields",
    [
        {"kind": "timed", "step": "mix", "local": None},
        {"kind": "timed", "step": "mix", "person": 7},
        {"kind": "corrected", "reading": "1.00"},
        {"kind": "corrected", "corrects": "e0001", "reading": 1.0},
        {"kind": "decided", "step": "oil:0"},
        {"kind": "decided", "step": "oil:0", "choice": "leave", "steps": [{"key": "x"}]},
        {"kind": "decided", "step": "oil:0", "choice": "leave", "replaced": [OIL]},
        {"kind": "lots", "lots": ["LOT"]},
        {"kind": "trained", "person": "Q", "eyewash": "over"},
    ],
)
def test_a_misshapen_event_of_another_kind_can_not(fields):
    assert not can_be_weighed(MADE, [{**event(9, "closed"), **fields}])


def test_a_step_put_in_is_of_a_pour_and_a_scale_of_the_sheet():
    for wrong in ({**OIL, "pour": "oil:99"}, {**OIL, "scale": "Another"}):
        assert not can_be_weighed(MADE, [{**DECISION, "steps": [wrong]}])
        assert not can_be_weighed(MADE, [{**DECISION, "replaced": {"oil:0": wrong}}])


def test_a_scale_is_judged_by_a_scheme_that_is_known():
    shop = ("inputs", "shop", "shop", "tolerance_scheme")
    assert not can_be_weighed(changed(MADE, *shop, to=("R99",)), [])
    assert can_be_weighed(changed(MADE, *shop), [])


@pytest.mark.parametrize(
    "sheet",
    [
        {**MADE, "fill_height_mm": 200.0, "more": [1]},
        changed(MADE, "steps", 1, "most"),
        changed(MADE, "steps", 1, "more", to=("of a later build",)),
        {**MADE, "person": 7, "html": None},
    ],
)
def test_what_older_sheets_lack_and_others_have_besides_does_not_matter(sheet):
    assert can_be_weighed(sheet, DONE)


@pytest.mark.parametrize(
    "extra",
    [
        event(50, "of a later build", step=7),
        event(50, "issued"),
        event(50, "closed", outcome=["odd"]),
        event(50, "checked", step="pour", reading=None, unit=None, note=None),
        event(50, "corrected", corrects="e0001", reading="15,74", unit=None),
        event(50, "timed", step="mix", action="started"),
        event(50, "decided", step="oil:0", choice="leave"),
    ],
    ids=lambda each: each["kind"],
)
def test_what_an_event_may_lack_or_hold_besides_does_not_matter(extra):
    assert can_be_weighed(MADE, [*DONE, extra])
