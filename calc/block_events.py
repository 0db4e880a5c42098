"""What was done at one block, read out of its stored events: steps as they stand, readings, what waits for a decision.

Follows the page's own fold: a step is done by its first completing event, a correction replaces the reading of the
event it names, a decision replaces steps and puts others in behind the step it is about.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any

from calc.units import convert

Step = Mapping[str, Any]
Event = Mapping[str, Any]

AGAIN = "again:"  # a step of this key weighs anew what the step after the colon weighed
COMPLETING = {"confirm": "checked", "temperature": "checked", "weigh": "weighed", "timer": "timed"}


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
    def reading_c(self) -> float | None:
        """The temperature read [°C], None where none was."""
        if not self.reading or self.unit not in ("degC", "degF"):
            return None
        return convert(float(_decimal(self.reading)), self.unit, "degC")

    @property
    def outside(self) -> bool:
        """Whether the reading lies outside the band it was asked for."""
        asked = self.event.get("asked")
        if self.event["kind"] != "weighed" or not asked or self.reading is None:
            return False
        count = _decimal(self.reading).scaleb(int(asked["decimals"]))
        return not asked["low"] <= count <= asked["high"]


@dataclass(frozen=True)
class BlockEvents:
    """Steps in order with what is done of them."""

    steps: tuple[Step, ...]
    done: Mapping[str, Done]
    decisions: tuple[Event, ...]
    lots: Mapping[str, str]
    events: tuple[Event, ...]
    pending: str | None  # the done step outside its band with nothing decided since
    closed: Event | None = None
    started: frozenset[str] = field(default=frozenset())  # timers that run or have run

    @property
    def current(self) -> str | None:
        """The step in hand; None when all are done."""
        return next((step["key"] for step in self.steps if step["key"] not in self.done), None)

    @property
    def set_back(self) -> frozenset[str]:
        """Steps whose amount is back in its jug, to be weighed anew or weighed anew already: theirs counts no more."""
        keys = {step["key"] for step in self.steps}
        back = {key for key in keys if AGAIN + key in keys}
        # One that was corrected since is asked about first.
        return frozenset(key for key in back if key != self.pending or AGAIN + key in self.done)

    @property
    def finished(self) -> bool:
        """All done; a last timer only has to be running, the block then lies in its mould."""
        last = self.steps[-1]["key"] if self.steps else None
        return self.current is None or (self.current == last and last in self.started)

    def corrected_since(self, decision: Event) -> bool:
        """Whether a reading that a decision rested on has been corrected after it."""
        at = self.events.index(decision)
        before = {event["id"] for event in self.events[:at]}
        return any(later["kind"] == "corrected" and later.get("corrects") in before for later in self.events[at:])

    def weighings(self) -> tuple[Done, ...]:
        """The weighings that are done, in the order of the steps."""
        found = (self.done.get(step["key"]) for step in self.steps)
        return tuple(done for done in found if done is not None and done.event["kind"] == "weighed")


def fold(steps: Sequence[Step], events: Sequence[Event]) -> BlockEvents:
    """The block as its events leave it. steps: of the issued record; events: of this block, in any order."""
    once = {str(event.get("id", "")): event for event in events}
    ordered = sorted(once.values(), key=lambda event: (str(event.get("at", "")), str(event.get("id", ""))))
    decisions = tuple(event for event in ordered if event["kind"] == "decided")
    standing = _after_decisions(steps, decisions)
    kinds = {step["key"]: COMPLETING[step["kind"]] for step in standing}
    first: dict[str, Event] = {}
    for event in ordered:
        running = event["kind"] == "timed" and event.get("action") != "ended"
        if kinds.get(event.get("step")) == event["kind"] and not running:
            first.setdefault(event["step"], event)
    done = {step["key"]: _done(step, first[step["key"]], ordered) for step in standing if step["key"] in first}
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
        _pending(standing, done, ordered),
        next((event for event in ordered if event["kind"] == "closed"), None),
        started,
    )


def _after_decisions(steps: Sequence[Step], decisions: Sequence[Event]) -> tuple[Step, ...]:
    standing = list(steps)
    for decision in decisions:
        replaced = decision.get("replaced") or {}
        standing = [replaced.get(step["key"], step) for step in standing]
        keys = {step["key"] for step in standing}
        at = next((n for n, step in enumerate(standing) if step["key"] == decision.get("step")), len(standing) - 1)
        standing[at + 1 : at + 1] = [step for step in decision.get("steps") or () if step["key"] not in keys]
    return tuple(standing)


def _done(step: Step, event: Event, ordered: Sequence[Event]) -> Done:
    reading, unit = event.get("reading"), event.get("unit")
    corrections = []
    for other in ordered:
        if other["kind"] == "corrected" and other.get("corrects") == event.get("id"):
            corrections.append(
                Correction(
                    f"{reading or ''} {unit or ''}".strip(),
                    str(other["reading"]),
                    str(other.get("unit") or unit or ""),
                    str(other.get("reason", "")),
                    str(other.get("person", "")),
                    str(other.get("local", "")),
                )
            )
            reading, unit = other["reading"], other.get("unit") or unit
    return Done(step, event, reading, unit, tuple(corrections))


def _pending(steps: Sequence[Step], done: Mapping[str, Done], ordered: Sequence[Event]) -> str | None:
    place = {event.get("id"): n for n, event in enumerate(ordered)}
    for step in steps:
        found = done.get(step["key"])
        if found is None or not found.outside:
            continue
        touched = [found.event.get("id")] + [
            e.get("id") for e in ordered if e["kind"] == "corrected" and e.get("corrects") == found.event.get("id")
        ]
        since = max(place[id_] for id_ in touched)
        if not any(e["kind"] == "decided" and e.get("step") == step["key"] for e in ordered[since + 1 :]):
            return str(step["key"])
    return None


def _decimal(text: str) -> Decimal:
    try:
        return Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        raise ValueError(f"{text!r} is no reading") from None
