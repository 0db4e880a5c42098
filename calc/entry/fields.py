"""How a form is read: the texts of its controls become the declared dataclass, or every problem at once."""

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, time
from fractions import Fraction
from typing import Any, Generic, TypeVar

from calc.entry.declare import FieldInfo, Whole, describe
from calc.entry.language import later, spoken, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.quantity_text import TypedQuantity, Unreadable, how_to_type, one_spaced, quoted, read_quantity
from calc.entry.shown import figures, limit
from calc.entry.units import convert, internal_unit, show_unit, typed_units

T = TypeVar("T")

_ITEM = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.:-]{0,79}")
_PLAIN = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_PLAINLY = re.compile(r"[-−]?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")
# Years of four digits that a shop's clock may show.
_DAY = re.compile(r"20[0-9]{2}-[0-9]{2}-[0-9]{2}")
# What a browser's field for a time gives.
_TIME = re.compile(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]")
_ROW = re.compile(r"(0|[1-9][0-9]{0,3})\.(.+)", re.DOTALL)


@dataclass(frozen=True)
class Reading(Generic[T]):
    """A form read without a problem, and what is unusual about it."""

    value: T
    cautions: tuple[Caution, ...]


def read(cls: type[T], values: Mapping[str, str], prefix: str = "") -> Reading[T]:
    """The dataclass filled from the texts of a form's controls; raises InputProblems with every fault at once."""
    problems: list[Problem] = []
    cautions: list[Caution] = []
    filled: dict[str, Any] = {}
    for info in describe(cls):
        active = info.when is None or filled[info.when[0]] in info.when[1]
        if _none_at_all(info, values, prefix):
            filled[info.name] = 0.0
            continue
        try:
            filled[info.name] = _READERS[info.type](info, values, prefix + info.name, cautions) if active else None
        except InputProblems as found:
            filled[info.name] = None
            problems.extend(found.problems)
    if problems:
        raise InputProblems(*problems)
    return Reading(cls(**filled), tuple(cautions))


def _none_at_all(info: FieldInfo, values: Mapping[str, str], prefix: str) -> bool:
    """Whether a blank amount is one of zero, because that which it would be an amount of isn't there either."""
    both = (values.get(prefix + info.name), values.get(prefix + info.none_without))
    return info.none_without != "" and all(each is None or (isinstance(each, str) and not each.strip()) for each in both)


def check(value: object) -> tuple[Caution, ...]:
    """What only the whole of an input shows, after `read`; raises InputProblems with every fault at once."""
    found = tuple(value.whole()) if isinstance(value, Whole) else ()
    problems = [each for each in found if isinstance(each, Problem)]
    if problems:
        raise InputProblems(*problems)
    return tuple(each for each in found if isinstance(each, Caution))


def control_of(cls: type[Any], values: Mapping[str, str], field: str) -> str:
    """The control behind a field of a row: "oils.1.oil" is "oils.4.oil" on the page when its rows 1 to 3 are empty.

    For problems found after reading, when the rows have become a tuple without gaps. Other fields are given back as they are.
    """
    for info in describe(cls):
        counted = _ROW.fullmatch(field[len(info.name) + 1 :]) if field.startswith(f"{info.name}.") else None
        if info.of is not None and counted:
            indices = _filled_rows(info.of, values, f"{info.name}.")
            return f"{info.name}.{indices[int(counted[1])]}.{counted[2]}"
    return field


def understood(cls: type[Any], values: Mapping[str, str], prefix: str = "") -> dict[str, str]:
    """By control, what each quantity was understood as, in the unit beside it: "= 12.5 lb" for "12 1/2".

    A plain number in that unit needs no such words, and what can't be read has its problem instead.
    """
    told: dict[str, str] = {}
    for info in describe(cls):
        name = prefix + info.name
        if info.type == "rows" and info.of is not None:
            for index in _filled_rows(info.of, values, f"{name}."):
                told |= understood(info.of, values, f"{name}.{index}.")
        elif info.type in ("measure", "count") and (words := _understood(info, values, name)):
            told[name] = words
    return told


def _understood(info: FieldInfo, values: Mapping[str, str], name: str) -> str | None:
    try:
        typed, beside, quantity = _typed_quantity(info, values, name)
    except (InputProblems, Unreadable):
        return None
    if typed is None or quantity is None or (quantity.unit in (None, beside) and _as_shown(typed)):
        return None
    value = convert(quantity.number, beside if quantity.unit is None else quantity.unit, beside)
    shown = figures(value, beside)
    return tr("= {quantity}", quantity=shown) if shown == figures(value, beside, 12) else tr("about {quantity}", quantity=shown)


def _as_shown(typed: str) -> bool:
    """Whether a text is already the plain number as it would be shown, with at most a unit behind it."""
    found = _PLAINLY.match(typed)
    return found is not None and not any(char.isnumeric() or char in ".," for char in typed[found.end() :])


def _refuse(name: str, code: str, message: str, remedy: str) -> InputProblems:
    return InputProblems(Problem(name, code, message, remedy))


def _typed(info: FieldInfo, values: Mapping[str, str], name: str, how: str) -> str | None:
    """The control's text; None when an optional field is left empty. A missing control is an empty one."""
    typed = values.get(name)
    if typed is None:
        typed = ""
    if not isinstance(typed, str):
        raise _refuse(name, "not-text", tr("{label} didn't arrive as text.", label=tr(info.label)), how)
    if typed.strip():
        return typed.strip()
    if info.optional:
        return None
    raise _refuse(name, "missing", _missing(info), how)


def _missing(info: FieldInfo) -> str:
    return tr("{label}: still missing.", label=tr(info.label))


def _not_offered(info: FieldInfo, typed: str) -> str:
    return tr("{label}: {typed} isn't in the list.", label=tr(info.label), typed=quoted(typed))


def _typed_quantity(
    info: FieldInfo, values: Mapping[str, str], name: str
) -> tuple[str | None, str, TypedQuantity | None]:
    """What was typed, the unit beside it, and what that is; raises Unreadable, or InputProblems for text or unit."""
    typed = _typed(info, values, name, how_to_type(info.offered))
    if typed is None:
        return None, "", None
    if info.type == "count":
        return typed, "", read_quantity(typed, ())  # nobody counts in thousandths: thousands are always asked about
    known = typed_units(info.kind)
    control = values.get(f"{name}.unit") or info.offered[0]
    if control not in known:
        message = tr("{label}: {typed} isn't a unit offered here.", label=tr(info.label), typed=quoted(str(control)))
        raise _refuse(name, "unknown-unit", message, how_to_type(info.offered))
    return typed, control, read_quantity(typed, known, beside=control, fits=_in_range(info))


def _in_range(info: FieldInfo) -> Callable[[Fraction, str], bool]:
    """What tells whether a field accepts an amount in a unit."""
    assert info.refuse is not None
    low, high, inside = info.refuse.low, info.refuse.high, internal_unit(info.kind) if info.kind else ""
    return lambda number, unit: low <= convert(number, unit, inside) <= high


def _read_measure(info: FieldInfo, values: Mapping[str, str], name: str, cautions: list[Caution]) -> float | None:
    try:
        typed, control, quantity = _typed_quantity(info, values, name)
    except Unreadable as found:
        raise _refuse(name, found.code, f"{tr(info.label)}: {found.why}", found.remedy) from None
    if typed is None or quantity is None:
        return None
    if info.plain and not _PLAIN.fullmatch(typed):
        message = tr("{label}: {typed} is more than one plain number.", label=tr(info.label), typed=quoted(typed))
        raise _refuse(name, "not-plain", message, tr("Type just the digits and choose the unit beside them."))
    unit = control if quantity.unit is None else quantity.unit
    echo = quoted(one_spaced(typed) if quantity.unit else f"{one_spaced(typed)} {show_unit(unit)}".strip())
    inside = internal_unit(info.kind)
    value = convert(quantity.number, unit, inside)
    _check_range(info, name, value, unit, echo, cautions)
    return value


def _read_count(info: FieldInfo, values: Mapping[str, str], name: str, cautions: list[Caution]) -> int | None:
    try:
        typed, _, quantity = _typed_quantity(info, values, name)
    except Unreadable as found:
        raise _refuse(name, found.code, f"{tr(info.label)}: {found.why}", found.remedy) from None
    if typed is None or quantity is None:
        return None
    number = quantity.number
    if number.denominator != 1:
        message = tr("{label}: {typed} isn't a whole number.", label=tr(info.label), typed=quoted(one_spaced(typed)))
        raise _refuse(name, "not-whole", message, how_to_type(()))
    _check_range(info, name, int(number), "", quoted(one_spaced(typed)), cautions)
    return int(number)


def _read_text(info: FieldInfo, values: Mapping[str, str], name: str, cautions: list[Caution]) -> str | None:
    how = tr("Type at most {most} characters.", most=info.max_length)
    if info.label.lower().endswith("name"):
        if_missing = tr("Type a name, at most {most} characters.", most=info.max_length)
    else:
        if_missing = tr("Type it in, at most {most} characters.", most=info.max_length)
    typed = _typed(info, values, name, if_missing)
    if typed is None:
        return None
    lines = re.split(r"\r\n|\r|\n", typed) if info.multiline else [typed]
    words = unicodedata.normalize("NFC", "\n".join(one_spaced(line) for line in lines).strip("\n"))
    # Joiners shape letters in several scripts; every other unseen character could make two names look alike.
    if any(unicodedata.category(char) in ("Cc", "Cf", "Cs") and char not in "\n\u200c\u200d" for char in words) or (
        "\n" in words and not info.multiline
    ):
        message = tr("{label} has a character that can't be seen.", label=tr(info.label))
        raise _refuse(name, "hidden-character", message, tr("Type it by hand."))
    if not any(char.isprintable() for char in words):
        raise _refuse(name, "missing", _missing(info), if_missing)
    if len(words) > info.max_length:
        raise _refuse(name, "too-long", tr("{label} has {n} characters.", label=tr(info.label), n=len(words)), how)
    return words


def _read_day(info: FieldInfo, values: Mapping[str, str], name: str, cautions: list[Caution]) -> date | None:
    how = tr("Choose a day, or type it as year, month and day: 2026-11-25.")
    typed = _typed(info, values, name, how)
    if typed is None:
        return None
    try:
        if not _DAY.fullmatch(typed):
            raise ValueError(typed)
        return date.fromisoformat(typed)
    except ValueError:
        raise _refuse(name, "no-day", tr("{label}: {typed} is no day.", label=tr(info.label), typed=quoted(typed)), how) from None


def _read_time(info: FieldInfo, values: Mapping[str, str], name: str, cautions: list[Caution]) -> time | None:
    how = tr("Choose a time, or type it as hours and minutes of the day: 07:00, or 19:00 for seven in the evening.")
    typed = _typed(info, values, name, how)
    if typed is None:
        return None
    if not _TIME.fullmatch(typed):
        raise _refuse(name, "no-time", tr("{label}: {typed} is no time.", label=tr(info.label), typed=quoted(typed)), how)
    return time.fromisoformat(typed)


def _read_chosen(info: FieldInfo, values: Mapping[str, str], name: str, cautions: list[Caution]) -> str | None:
    how = tr("Choose one from the list.")
    chosen = _typed(info, values, name, how)
    if chosen is None or (chosen in info.options if info.type == "choice" else _ITEM.fullmatch(chosen)):
        return chosen
    raise _refuse(name, "not-offered", _not_offered(info, chosen), how)


def _read_rows(info: FieldInfo, values: Mapping[str, str], name: str, cautions: list[Caution]) -> tuple[Any, ...]:
    assert info.of is not None
    filled = _filled_rows(info.of, values, f"{name}.")
    label = tr(info.label)
    problems: list[Problem] = []
    if len(filled) < info.minimum:
        if filled:
            message = tr("{label}: {n} filled in, at least {least} needed.", label=label, n=len(filled), least=info.minimum)
        else:
            message = tr("{label}: none filled in, at least {least} needed.", label=label, least=info.minimum)
        problems.append(Problem(name, "too-few-rows", message, tr("Fill in at least {least}.", least=info.minimum)))
    if len(filled) > info.maximum:
        message = tr("{label}: {n} filled in, at most {most} fit.", label=label, n=len(filled), most=info.maximum)
        problems.append(Problem(name, "too-many-rows", message, tr("Remove {n}.", n=len(filled) - info.maximum)))
    read_rows = []
    for place, index in enumerate(filled[: info.maximum], 1):
        row = f"{label.removesuffix('s') if spoken() == 'en' else label} {place}"
        try:
            reading = read(info.of, values, f"{name}.{index}.")
        except InputProblems as found:
            problems.extend(replace(problem, message=f"{row}, {problem.message}") for problem in found.problems)
        else:
            read_rows.append(reading.value)
            cautions.extend(replace(caution, message=f"{row}, {caution.message}") for caution in reading.cautions)
    if problems:
        raise InputProblems(*problems)
    return tuple(read_rows)


def _filled_rows(cls: type[Any], values: Mapping[str, str], prefix: str) -> list[int]:
    """The indices, in order, of the rows in which something was entered; a unit or a preset choice alone is nothing."""
    names = {info.name for info in describe(cls) if info.type != "choice"}
    filled = set()
    for key, typed in values.items():
        found = _ROW.fullmatch(key[len(prefix) :]) if key.startswith(prefix) else None
        if found and found[2].split(".")[0] in names and not found[2].endswith(".unit") and str(typed or "").strip():
            filled.add(int(found[1]))
    return sorted(filled)


def _check_range(info: FieldInfo, name: str, value: float, unit: str, echo: str, cautions: list[Caution]) -> None:
    """A problem outside the refused range, a caution outside the usual one; limits in the unit the person used."""
    assert info.refuse is not None
    if value < 0 <= info.refuse.low and info.kind != "temperature":
        message = tr("{label}: {typed} is below zero.", label=tr(info.label), typed=echo)
        raise _refuse(name, "negative", message, tr("Type it without a minus sign."))
    inside = internal_unit(info.kind) if info.kind else ""
    for bounds in (info.refuse, info.warn):
        if bounds is None or bounds.low <= value <= bounds.high:
            continue
        low, high = (
            limit(convert(end, inside, unit), unit, lowest)
            for end, lowest in ((bounds.low, True), (bounds.high, False))
        )
        side, end = ("below", low) if value < bounds.low else ("above", high)
        message = _OUTSIDE[side, bounds is info.warn]
        message = tr(message, label=tr(info.label), typed=echo, end=end)
        reason = _sentence(tr(bounds.reason))
        if bounds is info.refuse:
            if unit:
                remedy = tr("Type a value from {low} to {high} and check its unit.", low=low, high=high)
            else:
                remedy = tr("Type a value from {low} to {high}.", low=low, high=high)
            raise _refuse(name, f"{side}-range", f"{message} {reason}", remedy)
        cautions.append(Caution(name, f"{side}-usual", message, reason))


# By the side, and by whether the value is only unusual (True) or refused (False).
_OUTSIDE = {
    ("below", False): later("{label}: {typed} is below {end}."),
    ("above", False): later("{label}: {typed} is above {end}."),
    ("below", True): later("{label}: {typed} is below the usual {end}."),
    ("above", True): later("{label}: {typed} is above the usual {end}."),
}


def _sentence(words: str) -> str:
    words = words.strip()
    return words[0].upper() + words[1:] + ("" if words.endswith((".", "!", "?")) else ".")


_READERS: dict[str, Callable[[FieldInfo, Mapping[str, str], str, list[Caution]], Any]] = {
    "measure": _read_measure,
    "count": _read_count,
    "text": _read_text,
    "day": _read_day,
    "time": _read_time,
    "choice": _read_chosen,
    "item": _read_chosen,
    "rows": _read_rows,
}
