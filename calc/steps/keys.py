"""The keys of steps: what is put together into one, and what is read out of it again. Those of pours are made in `batch/pours.py`.

They are frozen with every sheet and with every way back that was taken, so none of them may ever be spelled otherwise.
"""

from calc.batch.pours import BLEND

WATER = "water"
MADE = "lye:made"  # a pour and the step that puts it in
DISSOLVE = "lye:dissolve"
OIL_BLEND = BLEND
MOULD_READY, INTO_MOULD = "mould:ready", "pour"
READ_OILS, READ_LYE = "temp:oils", "temp:lye"
RESERVE = "reserve:lye"
SCALE_CHECK, VESSEL_ON = "check:zero", "check:on"
TARE_EMPTY, TARE_AGAIN = "check:tare-oils", "check:tare-lye"
# After the pour, in the order of work.
COVERED, GEL, LIFT, DEMOULD = "after:cover", "after:gel", "after:lift", "after:demould"
LOAVES, SKIM, FRAME, BARS = "after:loaves", "after:skim", "after:frame", "after:bars"
FIRST_BAR, TRIM, GOOD, SET_ASIDE, RACK = "after:first-bar", "after:trim", "after:good", "after:set-aside", "after:rack"
# While a tank is filled.
TANK_CHECK, TANK_WARM, TANK_LABEL, STIR_LYE = "check:tank", "tank:warm", "tank:label", "lye:stir"
UNREAD_WAIT = "wait:unread"

AGAIN = "again:"  # a step of this key weighs anew what the step after the colon weighed
ON = "on:"  # one of this key pours on from it: its display goes on, and its reading is of both
OUT = "out:"  # one of this key ladles out what was poured too much: its display goes on, down to what stays

_SHORT, _TOP_UP = ":short", ":top-up"
_ADDED = "add:"
_STIRRED_IN = ":in"
_INTO_TANK = "lye:in:"


def first_pour(pour: str) -> str:
    """Of the step that stops short of a held-back lye."""
    return pour + _SHORT


def top_up(pour: str) -> str:
    """Of the step that brings the rest of it."""
    return pour + _TOP_UP


def half(pour: str, which: str) -> str:
    """Of a step that weighs one of two portions, "first" or "second"."""
    return f"{pour}:{which}"


def added(pour: str, after: int) -> str:
    """Of a step that a way back puts in, when so many events are told of the block."""
    return f"{_ADDED}{pour}:{after}:{OIL_BLEND}" if pour == OIL_BLEND else f"{_ADDED}{pour}:{after}"


def stirred_in(pour: str) -> str:
    """Of the step that puts in what was weighed ahead and stood by, covered."""
    return pour + _STIRRED_IN


def portion(pour: str, number: int) -> str:
    """Of the step that weighs one portion of what goes into a tank."""
    return f"{pour}:{number}"


def into_tank(key: str) -> str:
    """Of the step by which what the step of a key has weighed goes into the lye of a tank."""
    return _INTO_TANK + key


def cooling(number: int) -> str:
    """Of the wait before a portion."""
    return f"wait:{number}"


def read_before(number: int) -> str:
    """Of the temperature that is read before a portion."""
    return f"lye:temp:{number}"


def puts_in(key: str) -> str | None:
    """The pour that such a step puts in."""
    return key.removesuffix(_STIRRED_IN) if key.endswith(_STIRRED_IN) else None


def is_first_pour(key: str) -> bool:
    """Whether a step stops short of the whole lye."""
    return key.endswith(_SHORT)


def is_top_up(key: str) -> bool:
    """Whether a step brings what a first pour left."""
    return key.endswith(_TOP_UP)


def is_blend(key: str) -> bool:
    """Whether a step weighs all oils of the vessel in one, as planned, poured on or added."""
    return key.endswith(OIL_BLEND)


def is_ladled(key: str) -> bool:
    """Whether a step takes out of the vessel."""
    return key.startswith(OUT)


def goes_on(key: str) -> bool:
    """Whether the display of a step goes on from another step's reading."""
    return key.startswith((ON, OUT))


def reading_before(key: str) -> str | None:
    """The step whose reading the display of this one goes on from."""
    return key.removeprefix(ON if key.startswith(ON) else OUT) if goes_on(key) else None


def began_with(key: str) -> str:
    """The step that the first of several readings on one display was taken at."""
    before = reading_before(key)
    return key if before is None else began_with(before)
