"""Whether the bars of a block may be sold: the checks that the workshop has set, what was found, and who decided."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from calc.entry.counting import total
from calc.entry.taken_back import standing
from calc.record.told import Event, day_of_event, in_order
from calc.workshop.selling import ReleaseChecks

State = Literal["passed", "failed", "unknown"]
BEGINS = "release:"
DECISIONS = ("released", "reworked", "rejected")
# In the order in which they are shown. The keys are frozen with each decision.
KEYS = ("free_caustic", "superfat", "moisture", "loss", "weight", "scent", "look")


@dataclass(frozen=True)
class Found:
    """What is known of one thing: a figure, or whether it holds; and where it is from, in words. None is known of neither."""

    value: float | None = None
    holds: bool | None = None
    source: str = ""
    limit: float | None = None  # where it is not the workshop's own


@dataclass(frozen=True)
class Check:
    """One thing asked of a block before its sale."""

    key: str
    state: State
    value: float | None
    limit: float | None
    source: str

    def record(self) -> dict[str, Any]:
        """As it is stored with the decision."""
        return {"key": self.key, "state": self.state, "value": self.value, "limit": self.limit, "source": self.source}


def checked(asked: ReleaseChecks, found: Mapping[str, Found]) -> tuple[Check, ...]:
    """Each check that is set, as what is known decides it. found: by key; what it lacks is not known."""
    return tuple(_check(key, limit, found.get(key, Found())) for key, limit in _limits(asked))


def _limits(asked: ReleaseChecks) -> list[tuple[str, float | None]]:
    """The checks that are set, each with the workshop's limit; None for one that holds or doesn't."""
    figures = {
        "free_caustic": asked.free_caustic_most_fraction,
        "superfat": asked.superfat_least_fraction,
        "moisture": asked.moisture_most_fraction,
        "loss": asked.loss_least_fraction,
    }
    told = {"weight": asked.weight, "scent": asked.scent, "look": asked.look}
    return [(key, figures.get(key)) for key in KEYS if figures.get(key) is not None or told.get(key) == "yes"]


# Of which figure the limit is the least, not the most.
_AT_LEAST = ("superfat", "loss")


# A share that is worked out of two weights misses its exact value by some 1e-16; no scale tells so little apart.
_DUST = 1e-9


def _check(key: str, limit: float | None, found: Found) -> Check:
    holds = found.holds
    if limit is not None and found.value is not None:
        holds = found.value >= limit - _DUST if key in _AT_LEAST else found.value <= limit + _DUST
    state: State = "unknown" if holds is None else "passed" if holds else "failed"
    return Check(key, state, found.value, limit if limit is not None else found.limit, found.source)


@dataclass(frozen=True)
class Decision:
    """What somebody decided about a block's bars, or of a sample of them."""

    id: str
    kind: str
    day: date
    person: str
    reason: str
    bars: int | None
    net_g: float | None
    checks: tuple[Mapping[str, Any], ...]


@dataclass(frozen=True)
class Sample:
    """Bars kept of a block."""

    id: str
    code: str
    block: int
    bars: int
    place: str
    until: date | None
    day: date
    person: str


@dataclass(frozen=True)
class Release:
    """All that was decided about one block, in the order of time; what comes last counts."""

    decisions: tuple[Decision, ...] = ()
    samples: tuple[Sample, ...] = ()
    unread: int = 0

    @property
    def last(self) -> Decision | None:
        """The decision that counts."""
        return self.decisions[-1] if self.decisions else None

    @property
    def released(self) -> bool:
        """Whether its bars may be packed."""
        return self.last is not None and self.last.kind == "released"

    @property
    def kept(self) -> int:
        """Bars kept as samples."""
        return total(sample.bars for sample in self.samples)


def releases(events: Sequence[Event], today: date) -> dict[str, Release]:
    """By block, "CODE/N", what its events come to."""
    by_block: dict[str, list[Event]] = {}
    for event in standing(in_order(events)):
        by_block.setdefault(str(event.get("subject")).removeprefix(BEGINS), []).append(event)
    return {block: _of_block(block, told, today) for block, told in by_block.items()}


def _of_block(block: str, events: Sequence[Event], today: date) -> Release:
    decisions: list[Decision] = []
    samples: list[Sample] = []
    unread = 0
    for event in events:
        try:
            if event["kind"] in DECISIONS:
                decisions.append(_decision(event, today))
            elif event["kind"] == "sample_kept":
                samples.append(_sample(block, event, today))
        except (KeyError, OverflowError, TypeError, ValueError):
            unread += 1
    return Release(tuple(decisions), tuple(samples), unread)


def _decision(event: Event, today: date) -> Decision:
    bars, net_g = event.get("bars"), event.get("net_g")
    return Decision(
        str(event["id"]), str(event["kind"]), day_of_event(event, today), str(event["person"]), str(event.get("reason") or ""),
        None if bars is None else int(bars), None if net_g is None else float(net_g), tuple(event.get("checks") or ()),
    )  # fmt: skip


def _sample(block: str, event: Event, today: date) -> Sample:
    code, _, number = block.rpartition("/")
    until = event.get("until")
    return Sample(
        str(event["id"]), code, int(number), int(event["bars"]), str(event.get("place") or ""),
        None if until is None else date.fromisoformat(str(until)), day_of_event(event, today), str(event["person"]),
    )  # fmt: skip


def left_to_pack(released_bars: int, kept: int, packed: int, in_store: int | None = None) -> int:
    """The good bars of a released block that are still to be packed; none where more went.

    in_store: what is left as reckoned, less what was thrown or counted off; more found than were released makes no more for sale.
    """
    left = released_bars - kept - packed
    return max(left if in_store is None else min(left, in_store), 0)
