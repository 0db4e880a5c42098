"""Whether an issued record and the events of a block have the form that the work at the scale reads.

A store holds what the app wrote, or what a copy from elsewhere brought: damaged or foreign. Only what a block can't do
without is asked for, so that records from before a field was there stay good; what else they hold is not looked at.
"""

import math
from collections.abc import Callable, Mapping
from typing import Any, TypeGuard

from calc.block.events import COMPLETING
from calc.scales.weighing import KINDS as TOLERANCES
from calc.steps.frozen import FrozenRecord

Check = Callable[[Any], bool]

MASSES = ("g", "kg", "lb", "oz")
MOST_COUNT = 2**53  # whole numbers that a script can compare


def can_be_weighed(record: object, events: object) -> TypeGuard[FrozenRecord]:
    """Whether a block can be read out of these, as they come from the store."""
    if not (_RECORD(record) and _list_of(_event)(events)):
        return False
    assert isinstance(record, Mapping) and isinstance(events, (list, tuple))
    pours, scales = {pour["key"] for pour in record["pours"]}, {scale["name"] for scale in record["scales"]}
    named = [part["pour"] for kind in ("oils", "alkalis", "acids") for part in record["chemistry"][kind]]
    alkalis = {alkali["pour"] for alkali in record["chemistry"]["alkalis"]}
    steps = [*record["steps"], *(step for event in events for step in _steps_in(event))]
    return (
        set(named) <= pours
        and {step["pour"] for step in steps} <= {None, *pours}
        and {step["scale"] for step in steps if step["kind"] == "weigh"} <= scales
        and any(pour["exact_g"] > 0.0 for pour in record["pours"] if pour["key"] in alkalis)
    )


def _steps_in(event: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """The steps that a decision puts in or changes."""
    return [] if event["kind"] != "decided" else [*event.get("steps", ()), *event.get("replaced", {}).values()]


def _text(value: object) -> bool:
    return isinstance(value, str)


def _count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and abs(value) <= MOST_COUNT


def _number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _at_least_zero(value: Any) -> bool:
    return _number(value) and value >= 0.0


def _above_zero(value: Any) -> bool:
    return _number(value) and value > 0.0


def _decimals(value: Any) -> bool:
    return _count(value) and 0 <= value <= 6


def _above_count(value: Any) -> bool:
    return _count(value) and value > 0


def _one_of(*known: str) -> Check:
    return lambda value: isinstance(value, str) and value in known


def _or_none(check: Check) -> Check:
    return lambda value: value is None or check(value)


def _list_of(check: Check) -> Check:
    return lambda value: isinstance(value, (list, tuple)) and all(map(check, value))


def _shaped(may_lack: tuple[str, ...] = (), /, **checks: Check) -> Check:
    """These keys, each as it must be; those of `may_lack` may be absent."""
    return lambda value: isinstance(value, Mapping) and all(
        check(value[key]) if key in value else key in may_lack for key, check in checks.items()
    )


_WORDS = _shaped(
    title=_text, how=_text, stop=_or_none(_text), band_text=_or_none(_text), close_valve_text=_or_none(_text),
    next=_or_none(_text), from_text=_or_none(_text), questions=_list_of(_text),
)  # fmt: skip
_FINE = _shaped(scale=_text, unit=_one_of(*MASSES), decimals=_decimals, division=_above_count, from_text=_text)
_STEP_OF_ANY_KIND = _shaped(
    ("es", "most"),
    key=_text, kind=_one_of(*COMPLETING), title=_text, how=_text, stop=_or_none(_text), pour=_or_none(_text), lot=_or_none(_text),
    scale=_or_none(_text), target_text=_or_none(_text), band_text=_or_none(_text), gross_text=_or_none(_text),
    most=_or_none(_above_count), close_valve=_or_none(_count), close_valve_text=_or_none(_text), fine=_or_none(_FINE), next=_or_none(_text),
    questions=_list_of(_shaped(code=_text, low=_count, high=_count, text=_text)), seconds=_or_none(_count), es=_WORDS,
)  # fmt: skip
_WEIGHED = _shaped(
    target=_count, low=_count, high=_count, decimals=_decimals, unit=_one_of(*MASSES), division=_above_count
)


def _step(value: Any) -> bool:
    return _STEP_OF_ANY_KIND(value) and (value["kind"] != "weigh" or _WEIGHED(value))


_EVENTS = {
    "weighed": _shaped(step=_text, reading=_text, unit=_text, asked=_shaped(target=_count, low=_count, high=_count, decimals=_decimals)),
    "checked": _shaped(("reading", "unit", "note"), step=_text, reading=_or_none(_text), unit=_or_none(_text), note=_or_none(_text)),
    "timed": _shaped(("seconds",), step=_text, seconds=_or_none(_count), local=_text, person=_text),
    "corrected": _shaped(("unit",), corrects=_text, reading=_text, unit=_or_none(_text)),
    "decided": _shaped(
        ("steps", "replaced"),
        step=_text, choice=_text, steps=_list_of(_step),
        replaced=lambda value: isinstance(value, Mapping) and all(map(_step, value.values())),
    ),
    "lots": _shaped(lots=lambda value: isinstance(value, Mapping)),
    "trained": _shaped(("eyewash",), person=_text, local=_text, eyewash=_or_none(lambda value: isinstance(value, Mapping))),
}  # fmt: skip
_EVENT = _shaped(("local",), id=_text, kind=_text, local=_text)


def _event(value: Any) -> bool:
    return _EVENT(value) and _EVENTS.get(value["kind"], _EVENT)(value)


_SCALE = _shaped(
    name=_text, capacity_g=_above_zero, division_g=_above_zero, reads_in=_one_of(*MASSES),
    accuracy_class=_one_of("II", "III", "IIII", "unmarked"),
)  # fmt: skip
_POUR = _shaped(
    key=_text, name=_text, phase=_text, lot=_or_none(_text), exact_g=_at_least_zero, target_g=_at_least_zero,
    unit=_one_of(*MASSES), division_g=_above_zero, in_vessel=lambda value: isinstance(value, bool),
)  # fmt: skip
_OIL = _shaped(
    ("acid_value",),
    pour=_text, name=_text, used=_above_zero, low=_above_zero, high=_above_zero, acid_value=_or_none(_at_least_zero),
    density_g_per_ml=_above_zero,
)  # fmt: skip
_ALKALI = _shaped(
    pour=_text, name=_text, alkali=_one_of("naoh", "koh"), hydroxide_fraction=_above_zero,
    relative=_list_of(lambda pair: _list_of(lambda part: True)(pair) and len(pair) == 2 and _text(pair[0]) and _at_least_zero(pair[1])),
)  # fmt: skip
_ACID = _shaped(pour=_text, name=_text, acid_value=_at_least_zero, strength_fraction=_at_least_zero)
_CHEMISTRY = _shaped(
    oils=_list_of(_OIL), alkalis=_list_of(_ALKALI), acids=_list_of(_ACID), lye_density_g_per_ml=_above_zero,
    other_density_g_per_ml=_above_zero,
)  # fmt: skip
_SHOP = _shaped(("tolerance_scheme",), tolerance_scheme=_one_of(*{scheme for scheme, _ in TOLERANCES}))
_RECORD = _shaped(
    ("fill_height_mm",),
    code=_text,
    steps=_list_of(_step),
    pours=_list_of(_POUR),
    scales=_list_of(_SCALE),
    chemistry=_CHEMISTRY,
    inputs=_shaped(shop=lambda value: isinstance(value, Mapping) and all(map(_SHOP, value.values()))),
    mould=_shaped(name=_text, length_mm=_above_zero, width_mm=_above_zero, height_mm=_above_zero),
    vessel=_shaped(name=_text, tare_g=_at_least_zero, capacity_ml=_above_zero),
    superfat=_shaped(value=_number, low=_number, high=_number),
    superfat_stated_fraction=_number,
    fill_height_mm=_number,
)
