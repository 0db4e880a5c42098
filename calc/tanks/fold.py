"""What a tank holds, as its events leave it: loads, less what blocks weighed out of it, less what was taken out otherwise.

Everything in a tank counts as stirred: each draw takes of every lot by its share. More drawn than was loaded is a figure
below zero, and told: nobody knows better what is wrong with it than whoever stands before the tank.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from calc.tanks.drawn import Drawn, drawn
from calc.tanks.loads import that_stand
from calc.workshop.lot_codes import lot_key

Event = Mapping[str, Any]
BEGINS = "contents:"  # of the subject; the tank's own is its form's
# No scale under a tank or a pail tells less: so little is what sums of readings leave. [g]
SPECK_G = 1.0


def subject_of(tank: str) -> str:
    """What the events of a tank are about, by the tank's id."""
    return BEGINS + tank


@dataclass(frozen=True)
class Part:
    """What went in, of which lot [g]; of lye and caustic also how much of it is pure hydroxide."""

    name: str
    grams: float
    lot: str | None = None
    oil: str | None = None
    alkali: str | None = None
    hydroxide_fraction: float = 0.0


@dataclass(frozen=True)
class Measured:
    """A strength that was measured, and from where to where it may lie; or one reckoned by what went in."""

    fraction: float
    low: float | None = None
    high: float | None = None
    day: date | None = None
    method: str = ""
    reckoned: bool = False

    @property
    def unsure(self) -> float | None:
        """How far to either side it may lie; None where that isn't known."""
        return None if self.low is None or self.high is None else 0.5 * (self.high - self.low)


@dataclass(frozen=True)
class Told:
    """One entry: the event's id, its kind, day and person, and by how much it changed what is in the tank [g]."""

    id: str
    kind: str
    day: date
    person: str
    grams: float
    what: str = ""


@dataclass
class Contents:
    """One tank. left_g: below zero where more was drawn than loaded; overdrawn_g: by how much it was before the last load."""

    tank: str
    left_g: float = 0.0
    overdrawn_g: float = 0.0
    parts: tuple[Part, ...] = ()
    alkali: str | None = None
    as_lot: str | None = None
    formulas: tuple[str, ...] = ()
    strength: Measured | None = None
    temperature_c: float | None = None
    last_load: str = ""
    since: date | None = None
    entries: list[Told] = field(default_factory=list)
    blocks: list[Drawn] = field(default_factory=list)

    @property
    def empty(self) -> bool:
        """Whether nothing was loaded since it was emptied."""
        return not self.parts

    @property
    def lots(self) -> tuple[str, ...]:
        """The lots in it, the largest share first."""
        return tuple(dict.fromkeys(part.lot for part in sorted(self.parts, key=lambda part: -part.grams) if part.lot))


@dataclass(frozen=True)
class Taken:
    """A block's weighing out of a tank, or what of it came out of that one, and what it took of each lot that was in it then."""

    draw: Drawn
    tank: str
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Tanks:
    """Every tank that something is told of, by its id; how many entries could not be read; what blocks took, in order."""

    by_id: Mapping[str, Contents]
    unread: int
    taken: tuple[Taken, ...] = ()

    def of(self, tank: str) -> Contents:
        """The contents of one; of which nothing was told, it is empty."""
        return self.by_id.get(tank) or Contents(tank)


def tanks(
    events: Sequence[Event], today: date, tares_g: Mapping[str, float] | None = None, formula_of: Mapping[str, str] | None = None
) -> Tanks:
    """What the events come to, in whatever order they come in.

    tares_g, formula_of: by batch code, the empty vessel [g] and the id of its formula.
    An event of the invented workshop says how many days ago it was, so that practice is never out of date.
    """
    draws, unread = drawn(events, tares_g or {})
    told = {str(event.get("id")): event for event in that_stand(events) if str(event.get("kind")) in _APPLIED}
    waiting: list[tuple[str, str, Event | Drawn]] = [(draw.at, draw.id, draw) for draw in draws]
    found: dict[str, Contents] = {}
    taken: list[Taken] = []
    for id_, event in told.items():
        try:
            waiting.append((_at(event, today), id_, event))
        except (KeyError, OverflowError, TypeError, ValueError):
            unread += 1
    for at, _, each in sorted(waiting, key=lambda entry: entry[:2]):
        if isinstance(each, Drawn):
            for tank, grams in _drawn_from(found, each, (formula_of or {}).get(each.code)):
                part = replace(each, grams=grams)
                taken.append(Taken(part, tank.tank, _take(tank, grams)))
                tank.blocks.append(part)
            continue
        key = str(each.get("subject")).removeprefix(BEGINS)
        tank = found.get(key) or Contents(key)
        try:
            _APPLIED[str(each["kind"])](tank, each, _day(each, today))
        except (AttributeError, KeyError, TypeError, ValueError):
            unread += 1
            continue
        if each["kind"] == "tank_loaded":
            tank.last_load = at
        found[key] = tank
    return Tanks(found, unread, tuple(taken))


def _at(event: Event, today: date) -> str:
    # The invented workshop's own come before all that is recorded in it, also where the local day is already the next one.
    return f"0{_day(event, today).isoformat()}" if "days_ago" in event else str(event["at"])


def _day(event: Event, today: date) -> date:
    if "days_ago" in event:
        return today - timedelta(days=int(event["days_ago"]))
    return date.fromisoformat(str(event["local"])[:10])


def _drawn_from(found: Mapping[str, Contents], draw: Drawn, formula: str | None) -> list[tuple[Contents, float]]:
    """The tanks that a weighing was drawn from, and how much out of each [g]: by the lot that sheets call their lye; of blends
    those loaded for that formula.

    Of several the one loaded last, and what that no longer held out of the one before: nobody draws from an empty tank while
    another has some. What none of them held is lacking in the first.
    """
    if draw.blend:
        fits = [each for each in found.values() if each.alkali is None and not each.empty]
        fits = [each for each in fits if formula in each.formulas] or [each for each in fits if not each.formulas or formula is None]
    else:
        fits = [each for each in found.values() if each.as_lot is not None and draw.lot and lot_key(each.as_lot) == lot_key(draw.lot)]
    fits.sort(key=lambda each: each.last_load, reverse=True)
    takes_g, rest_g = [], draw.grams
    for tank in fits:
        takes_g.append(min(rest_g, tank.left_g if tank.left_g >= SPECK_G else 0.0))
        rest_g -= takes_g[-1]
    if takes_g:
        takes_g[0] += rest_g
    return [(tank, grams) for tank, grams in zip(fits, takes_g, strict=True) if grams != 0.0]


def _take(tank: Contents, grams: float) -> tuple[Part, ...]:
    """What was taken, of every part by its share."""
    before_g, whole_g = tank.left_g, math.fsum(part.grams for part in tank.parts)
    taken = tuple(replace(part, grams=grams * part.grams / whole_g) for part in tank.parts)
    tank.left_g -= grams
    if before_g > 0.0 and tank.left_g > 0.0:
        tank.parts = tuple(replace(part, grams=part.grams * tank.left_g / before_g) for part in tank.parts)
    return taken


def _loaded(tank: Contents, event: Event, day: date) -> None:
    parts = tuple(_part(part) for part in event["parts"])
    in_g = math.fsum(part.grams for part in parts)
    before_g = max(tank.left_g, 0.0)
    there = tank.parts if before_g > 0.0 else ()
    hydroxide_g = (tank.strength.fraction * before_g if tank.strength else 0.0) + math.fsum(part.grams * part.hydroxide_fraction for part in parts)
    tank.overdrawn_g = max(-tank.left_g, 0.0)
    tank.left_g += in_g
    # What was drawn beyond the loads comes off this one, of every part by its share.
    if tank.overdrawn_g > 0.0 and tank.left_g > 0.0:
        parts = tuple(replace(part, grams=part.grams * tank.left_g / in_g) for part in parts)
    tank.parts = _together((*there, *parts))
    tank.alkali = next((part.alkali for part in parts if part.alkali), tank.alkali)
    tank.as_lot = event.get("as_lot") or tank.as_lot
    tank.formulas = tuple(event.get("formulas") or tank.formulas)
    if tank.alkali:
        tank.strength = Measured(hydroxide_g / (before_g + in_g), day=day, reckoned=True)
    tank.since = tank.since or day
    tank.entries.append(Told(str(event["id"]), "tank_loaded", day, str(event["person"]), in_g, ", ".join(part.lot or part.name for part in parts)))


def _part(part: Mapping[str, Any]) -> Part:
    grams = float(part["grams"])
    if not grams > 0.0:
        raise ValueError("a part without its weight")
    return Part(
        str(part["name"]), grams, part.get("lot"), part.get("oil"), part.get("alkali"), float(part.get("hydroxide_fraction") or 0.0)
    )  # fmt: skip


def _together(parts: Sequence[Part]) -> tuple[Part, ...]:
    """The parts with those of one lot in one."""
    found: dict[tuple[str, str | None, float], Part] = {}
    for part in parts:
        key = (part.name, part.lot, part.hydroxide_fraction)
        found[key] = replace(part, grams=part.grams + found[key].grams) if key in found else part
    return tuple(found.values())


def _drawn(tank: Contents, event: Event, day: date) -> None:
    grams = float(event["grams"])
    _take(tank, grams)
    tank.entries.append(Told(str(event["id"]), "tank_drawn", day, str(event["person"]), -grams, str(event.get("reason") or "")))


def _strength(tank: Contents, event: Event, day: date) -> None:
    low, high = (None if event.get(name) is None else float(event[name]) for name in ("low_fraction", "high_fraction"))
    tank.strength = Measured(float(event["strength_fraction"]), low, high, day, str(event.get("method") or ""))
    tank.entries.append(Told(str(event["id"]), "tank_strength", day, str(event["person"]), 0.0))


def _temperature(tank: Contents, event: Event, day: date) -> None:
    tank.temperature_c = float(event["temperature_c"])
    tank.entries.append(Told(str(event["id"]), "tank_temperature", day, str(event["person"]), 0.0))


def _emptied(tank: Contents, event: Event, day: date) -> None:
    told = Told(str(event["id"]), "tank_emptied", day, str(event["person"]), -tank.left_g, str(event.get("reason") or ""))
    empty = Contents(tank.tank, entries=[*tank.entries, told])
    tank.__dict__.update(empty.__dict__)


_APPLIED = {
    "tank_loaded": _loaded,
    "tank_drawn": _drawn,
    "tank_strength": _strength,
    "tank_temperature": _temperature,
    "tank_emptied": _emptied,
}
