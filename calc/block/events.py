"""What was done at one block, read out of its stored events: steps as they stand, readings, what waits for a decision.

Follows the page's own fold (site/static/js/rules/block.mjs); both are asked the stories of tests/fixtures/stories.
A step is done by the first event that completes its kind. A correction replaces the reading of the event it names and
erases nothing. A decision replaces steps and puts others in behind the step it is about, also before steps that are done
already: weighings are summed up in the order of time. It falls when a reading that it rests on is corrected before any of
its own steps is done. A reading outside its band waits until something is decided about its step.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NotRequired, TypedDict

from calc.block.closings import closing_of
from calc.block.declared import COMPLETING
from calc.entry.language import tr
from calc.entry.units import convert, show_unit
from calc.steps.frozen import Step
from calc.steps.keys import AGAIN, ON, OUT
from calc.steps.step import BARS_UNIT


class Asked(TypedDict):
    """What a reading was asked for, in counts of its display."""

    target: int
    low: int
    high: int
    decimals: int
    unit: str
    division: int


class Event(TypedDict):
    """One deed at a block as it is stored: what every kind has, and what only some have."""

    id: str
    at: str
    kind: str
    local: NotRequired[str]
    person: NotRequired[str]
    step: NotRequired[str]
    reading: NotRequired[str | None]
    unit: NotRequired[str | None]
    asked: NotRequired[Asked]
    mode: NotRequired[str]  # "gross" where nobody tares, else "net"
    action: NotRequired[str]  # "started" or "ended", of a time
    seconds: NotRequired[int | None]
    note: NotRequired[str | None]
    corrects: NotRequired[str]
    reason: NotRequired[str | None]
    choice: NotRequired[str]
    text: NotRequired[str]
    steps: NotRequired[Sequence[Step]]
    replaced: NotRequired[Mapping[str, Step]]
    lot: NotRequired[str | None]
    lots: NotRequired[Mapping[str, str]]
    cover: NotRequired[str]
    room: NotRequired[str | None]
    gel: NotRequired[str]
    renews: NotRequired[str]
    trays: NotRequired[int]
    bars: NotRequired[int]
    place: NotRequired[str | None]
    density_g_per_ml: NotRequired[float | None]
    phone: NotRequired[str | None]  # taken over: what people call the phone that was at it before


NOTHING_LEFT = "nothing-left"  # note of a weighing that what was weighed before left nothing to pour for
# Choices about an amount that goes by the oils, where those ended beside their plan: they decide about no slip.
SCALED, AS_PLANNED = "with-oils", "as-planned"
# As the store's own check has it (`reading` in shared/records/shapes.json), and a comma from before there was one.
_READING = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,6})?")


@dataclass(frozen=True)
class Correction:
    """One reading put right, and by whom."""

    was: str
    reading: str
    unit: str
    reason: str
    person: str
    local: str


@dataclass(frozen=True)
class Done:
    """A step that is done, with the reading that counts."""

    step: Step
    event: Event
    reading: str | None
    unit: str | None
    corrections: tuple[Correction, ...] = ()

    @property
    def reading_g(self) -> float:
        """The reading as the display showed it [g]; ValueError when it is no mass."""
        if self.reading is None or self.unit not in ("g", "kg", "lb", "oz"):
            raise ValueError(f"{self.step['key']}: no mass was read")
        return convert(float(_decimal(self.reading)), self.unit, "g")

    @property
    def counted(self) -> int | None:
        """The pieces counted; None where none were."""
        return int(_decimal(self.reading)) if self.reading and self.unit == BARS_UNIT else None

    @property
    def reading_c(self) -> float | None:
        """The temperature read [°C], None where none was."""
        if not self.reading or self.unit not in ("degC", "degF"):
            return None
        return convert(float(_decimal(self.reading)), self.unit, "degC")

    @property
    def too_warm(self) -> bool | None:
        """Whether a temperature lies above what its step takes at most; None where none was read."""
        if not self.reading:
            return None
        high, decimals = self.step.get("high"), self.step.get("decimals")
        # Of a damaged step neither may be a number.
        return isinstance(high, int) and isinstance(decimals, int) and _decimal(self.reading).scaleb(decimals) > high

    @property
    def outside(self) -> bool:
        """Whether the reading lies outside the band it was asked for."""
        return self._side() != 0

    @property
    def short(self) -> bool:
        """Whether the reading lies below the band it was asked for."""
        return self._side() < 0

    @property
    def over(self) -> bool:
        """Whether the reading lies above the band it was asked for."""
        return self._side() > 0

    def _side(self) -> int:
        """-1 below the band, 1 above it, 0 in it and where none was asked for."""
        asked = self.event.get("asked")
        if self.event["kind"] != "weighed" or not asked or self.reading is None:
            return 0
        count = _decimal(self.reading).scaleb(int(asked["decimals"]))
        return int(count > asked["high"]) - int(count < asked["low"])


@dataclass(frozen=True)
class BlockEvents:
    """Steps in order with what is done of them."""

    steps: tuple[Step, ...]
    done: Mapping[str, Done]
    decisions: tuple[Event, ...]  # those that stand
    lots: Mapping[str, str]
    events: tuple[Event, ...]
    pending: str | None  # the done step outside its band with nothing decided since
    closed: Event | None = None
    ended: Event | None = None  # before the rack, by somebody's word
    started: frozenset[str] = field(default=frozenset())  # timers that run or have run

    @property
    def current(self) -> str | None:
        """The step in hand; None when all are done."""
        return next((step["key"] for step in self.steps if step["key"] not in self.done), None)

    @property
    def set_back(self) -> frozenset[str]:
        """Steps whose reading counts no more: back in its jug to be weighed anew, or poured on to another reading."""
        keys = {step["key"] for step in self.steps}
        back = {key for key in keys if AGAIN + key in keys}
        # One that was corrected since is asked about first.
        again = {key for key in back if key != self.pending or AGAIN + key in self.done}
        return frozenset(again | {key for key in keys if _poured_on(self.done, key)})

    def step(self, key: str) -> Step:
        """The step of a key, as it stands."""
        return next(step for step in self.steps if step["key"] == key)

    def counting(self, key: str) -> str:
        """The step whose reading counts for one: itself, or the last that took its place."""
        while key in self.set_back:
            key = (ON if _poured_on(self.done, key) else AGAIN) + key
        return key

    def is_latest(self, key: str) -> bool:
        """Whether nothing has been done since a step was."""
        return bool(self.in_time()[-1].step["key"] == key)

    @property
    def finished(self) -> bool:
        """All done; a last timer only has to be running, the block then lies in its mould."""
        last = self.steps[-1]["key"] if self.steps else None
        return self.current is None or (self.current == last and last in self.started)

    def corrected_since(self, decision: Event) -> bool:
        """Whether a reading that a decision rested on has been corrected after it."""
        at = self.events.index(decision)
        before = {event["id"] for event in self.events[:at] if event["kind"] == "weighed"}
        return any(later["kind"] == "corrected" and later.get("corrects") in before for later in self.events[at:])

    def corrections_since_decision(self) -> tuple[Event, ...]:
        """The corrections of weighings that nothing has been decided about since."""
        weighed = {event["id"] for event in self.events if event["kind"] == "weighed"}
        decided = [n for n, event in enumerate(self.events) if event["kind"] == "decided" and about_slip(event)]
        since = self.events[decided[-1] + 1 if decided else 0 :]
        return tuple(event for event in since if event["kind"] == "corrected" and event.get("corrects") in weighed)

    def in_time(self) -> tuple[Done, ...]:
        """What is done, in the order in which it was: a choice may put a step in before others that are done already."""
        place = {event["id"]: n for n, event in enumerate(self.events)}
        return tuple(sorted(self.done.values(), key=lambda done: place[done.event["id"]]))

    def weighings(self) -> tuple[Done, ...]:
        """The weighings that are done, in the order of time."""
        return tuple(done for done in self.in_time() if done.event["kind"] == "weighed")


def about_slip(decision: Event) -> bool:
    """Whether a decision is about a reading outside its band, and so about the superfat."""
    return decision.get("choice") not in (SCALED, AS_PLANNED)


def fold(steps: Sequence[Step], events: Sequence[Event]) -> BlockEvents:
    """The block as its events leave it. steps: of the issued record; events: of this block, in any order."""
    once = {str(event.get("id", "")): event for event in events}
    ordered = sorted(once.values(), key=lambda event: (str(event.get("at", "")), str(event.get("id", ""))))
    decisions = _standing_decisions(ordered)
    standing = _after_decisions(steps, decisions)
    kinds = {step["key"]: COMPLETING[step["kind"]] for step in standing}
    first: dict[str, Event] = {}
    for event in ordered:
        running = event["kind"] == "timed" and event.get("action") != "ended"
        completing = kinds.get(event.get("step", ""))
        nothing_left = completing == "weighed" and event.get("note") == NOTHING_LEFT
        if (completing == event["kind"] or nothing_left) and not running:
            first.setdefault(event["step"], event)
    done = {step["key"]: done_by(step, first[step["key"]], ordered) for step in standing if step["key"] in first}
    lots: dict[str, str] = {}
    for event in ordered:
        if event["kind"] == "lots":
            lots.update({str(pour): str(lot) for pour, lot in event.get("lots", {}).items()})
    started = frozenset(str(e.get("step")) for e in ordered if e["kind"] == "timed" and e.get("action") == "started")
    return BlockEvents(
        standing,
        done,
        decisions,
        lots,
        tuple(ordered),
        _pending(standing, done, ordered, decisions),
        closing_of(ordered),
        next((event for event in ordered if event["kind"] == "ended"), None),
        started,
    )


def fold_after(steps: Sequence[Step], events: Sequence[Event]) -> BlockEvents:
    """The work after the pour as its events leave it. steps: `after` of the issued record; events: all of the block.

    What was decided at the scale put steps into the first part alone.
    """
    return fold(steps, [event for event in events if event["kind"] != "decided"])


def _standing_decisions(ordered: Sequence[Event]) -> tuple[Event, ...]:
    """The decisions but for those that a correction has overtaken: of a reading that one rested on, before any of the
    steps that it put in or changed was done.
    """
    found = []
    for n, decision in enumerate(ordered):
        if decision["kind"] != "decided":
            continue
        weighed = {event.get("id") for event in ordered[:n] if event["kind"] == "weighed"}
        changed = {step["key"] for step in decision.get("steps") or ()} | set(decision.get("replaced") or {})
        later = (e for e in ordered[n + 1 :] if e.get("corrects") in weighed or e.get("step") in changed)
        first = next((event for event in later if event["kind"] != "decided"), None)
        if not changed or first is None or first["kind"] != "corrected":
            found.append(decision)
    return tuple(found)


def _after_decisions(steps: Sequence[Step], decisions: Sequence[Event]) -> tuple[Step, ...]:
    standing = list(steps)
    for decision in decisions:
        replaced = decision.get("replaced") or {}
        standing = [replaced.get(step["key"], step) for step in standing]
        keys = {step["key"] for step in standing}
        at = next((n for n, step in enumerate(standing) if step["key"] == decision.get("step")), len(standing) - 1)
        standing[at + 1 : at + 1] = [step for step in decision.get("steps") or () if step["key"] not in keys]
    return tuple(standing)


def _poured_on(done: Mapping[str, Done], key: str) -> bool:
    """Whether a step was poured on from, and that was read: one that became a mere confirmation was not."""
    return _weighed(done, ON + key)


def _weighed(done: Mapping[str, Done], key: str) -> bool:
    return key in done and bool(done[key].event["kind"] == "weighed")


def done_by(step: Step, event: Event, ordered: Sequence[Event]) -> Done:
    """A step as an event completes it, with what was put right since. ordered: all events of the block, in order."""
    reading, unit = event.get("reading"), event.get("unit")
    corrections = []
    for other in ordered:
        if other["kind"] == "corrected" and other.get("corrects") == event.get("id"):
            corrections.append(
                Correction(
                    f"{reading or ''} {_sign(unit)}".strip(),
                    str(other["reading"]),
                    str(other.get("unit") or unit or ""),
                    str(other.get("reason", "")),
                    str(other.get("person", "")),
                    str(other.get("local", "")),
                )
            )
            reading, unit = other["reading"], other.get("unit") or unit
    return Done(step, event, reading, unit, tuple(corrections))


def _sign(unit: str | None) -> str:
    """The unit's sign; "" of what is counted in pieces."""
    return "" if unit in (None, "", BARS_UNIT) else show_unit(str(unit))


def _pending(
    steps: Sequence[Step], done: Mapping[str, Done], ordered: Sequence[Event], decisions: Sequence[Event]
) -> str | None:
    place = {event.get("id"): n for n, event in enumerate(ordered)}
    for step in steps:
        found = done.get(step["key"])
        if found is None or not found.outside or any(_weighed(done, prefix + step["key"]) for prefix in (ON, OUT)):
            continue
        touched = [found.event.get("id")] + [
            e.get("id") for e in ordered if e["kind"] == "corrected" and e.get("corrects") == found.event.get("id")
        ]
        since = max(place[id_] for id_ in touched)
        if not any(e.get("step") == step["key"] and place[e.get("id")] > since for e in decisions):
            return str(step["key"])
    return None


def _decimal(text: str) -> Decimal:
    typed = text.strip()
    if not _READING.fullmatch(typed):
        raise ValueError(tr("{text} isn't a reading", text=repr(text)))
    return Decimal(typed.replace(",", "."))
