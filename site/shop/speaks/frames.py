"""What one line of a scale's display says. Pure; a page that reads a scale by itself does the same (`js/rules/scale_lines.mjs`).

What can't be read beyond doubt is garbage, and neither an overload nor dashes are a number. No unit is made of another.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any

from calc.shared import SCALE_LINES

_SAID: dict[str, Any] = json.loads(SCALE_LINES.read_text("utf-8"))
MARKS = frozenset(_SAID["marks"])
UNITS = ("kg", "g", "lb", "oz")
# How long the same reading stands before one counts as settled whose lines don't say so; how long nothing comes before it's gone.
SETTLES_S, SILENT_S = _SAID["settles_ms"] / 1000, _SAID["silent_ms"] / 1000

# More isn't kept of a line, and one without an end ends here.
LONGEST = 100

# Of SMA SCP-0499: E and I are errors of zero; with them, and with T, an error of tare, dashes stand for the weight.
_ERRORS = {"O": "over", "U": "under", "E": "zero_error", "I": "zero_error", "T": "dashes"}


@dataclass(frozen=True)
class Reading:
    """What the display shows. count: as it would be typed, "12.34"; None where there is no number, and so is its unit."""

    raw: str
    status: str  # stable, moving, over, under, zero_error, dashes, garbage, gone
    zero: bool = False
    net: bool | None = None
    count: str | None = None
    unit: str | None = None


def compiled(pattern: str) -> re.Pattern[str]:
    """ValueError for what is no pattern."""
    try:
        return re.compile(re.sub(r"\(\?<(?=[a-z])", "(?P<", pattern), re.IGNORECASE)
    except re.error as error:
        raise ValueError(f"it's no regular expression ({error})") from error


LINE = compiled(_SAID["line"])
_SMA = re.compile(re.sub(r"\(\?<(?=[a-z])", "(?P<", _SAID["sma"]))
_NUMBER, _OUNCES = compiled(_SAID["number"]), compiled(_SAID["ounces"])


def garbage(text: str) -> Reading:
    return Reading(text[:LONGEST], "garbage")


def gone() -> Reading:
    return Reading("", "gone")


def read_sma(text: str) -> Reading:
    """A weight of SMA SCP-0499, without its LF and CR."""
    found = _SMA.fullmatch(text)
    # The tare alone, and ten times as many digits as the display has, were not asked for.
    if not found or found["mode"] in "Tgn":
        return garbage(text)
    if found["status"] in _ERRORS:
        return Reading(text, _ERRORS[found["status"]], net=found["mode"] == "N")
    moving = found["motion"] == "M"
    return _reading(text, found["weight"], found["unit"], moving=moving, zero=found["status"] == "Z", net=found["mode"] == "N")


def read_line(text: str, pattern: re.Pattern[str] = LINE, unit: str | None = None) -> Reading:
    """A line that came unasked. unit: of a display whose lines name none."""
    found = pattern.fullmatch(text)
    if not found:
        return garbage(text)
    marks = {name: said.strip() for name, said in found.groupdict().items() if said}
    net = True if "net" in marks else False if "gross" in marks else None
    for status in ("over", "under"):
        if status in marks:
            return Reading(text, status, net=net)
    said = marks.get("unit") or unit or ""
    return _reading(text, marks.get("weight", ""), said, moving="moving" in marks, zero="zero" in marks, net=net)


def tells_rest(text: str, pattern: re.Pattern[str] = LINE) -> bool:
    """Whether a line says by itself that the display has settled, or that it hasn't."""
    found = pattern.fullmatch(text)
    return found is not None and any(found.groupdict().get(name) for name in ("stable", "moving"))


def _reading(text: str, weight: str, unit: str, *, moving: bool, zero: bool, net: bool | None) -> Reading:
    said = weight.strip()
    if said and set(said) == {"-"}:
        return Reading(text, "dashes", net=net)
    known = _SAID["units"].get(unit.strip().replace("_", "").lower())
    count = _ounces(said) if known == "lb:oz" else _count(said)
    if known is None or count is None:
        return garbage(text)
    zero = zero or not re.search("[1-9]", count)
    return Reading(text, "moving" if moving else "stable", zero, net, count, known)


def _count(said: str) -> str | None:
    """The number as it would be typed: "- 0,50" is "-0.50"; None for what is none."""
    found = _NUMBER.fullmatch(said)
    if not found:
        return None
    fraction = found["fraction"] or found["only"] or ""
    whole = (found["whole"] or "0").lstrip("0") or "0"
    text = f"{whole}.{fraction}" if fraction else whole
    return f"-{text}" if found["sign"] == "-" and re.search("[1-9]", text) else text


def _ounces(said: str) -> str | None:
    """Pounds and ounces, "8:08.5", as they stand: no field takes both at once."""
    return said.replace(",", ".") if _OUNCES.fullmatch(said) else None


class Splitter:
    """Lines out of what a port gives, some bytes at a time. The first may be a half, and is dropped."""

    def __init__(self) -> None:
        self._rest = b""
        self._begun = False

    def feed(self, came: bytes) -> list[str]:
        *ended, self._rest = re.split(rb"[\r\n]", self._rest + came)
        if len(self._rest) > LONGEST:
            ended.append(self._rest)
            self._rest = b""
        if ended and not self._begun:
            self._begun = True
            ended = ended[1:]
        return [text for each in ended if (text := as_text(each))]


def as_text(came: bytes) -> str:
    """Without what only frames a line: STX, ETX, NUL and its end."""
    return came.strip(b"\x00\x02\x03\r\n").decode("ascii", "backslashreplace")[:LONGEST]
