"""What a fill has really put into its tank, read out of its stored events, and the ways on after a slip.

Its deeds are those of a block under names of their own (`fill_weighed`), and are folded as a block's are. What was weighed apart
and goes into lye counts once it is in; all else as it was weighed. How warm the lye was before each portion is judged by the
reading that counts, as site/static/js/rules/fill.mjs does; both are asked the stories of tests/fixtures/stories/fill.json.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal, NotRequired, TypedDict, TypeGuard, cast

from calc.block.declared import COMMON, EVENTS, GROUPS, check_of, event_check
from calc.block.events import BlockEvents, Done, Event, fold
from calc.entry.language import tr
from calc.entry.shown import percent, quantity
from calc.scales.weighing import ALLOWED_MAIN
from calc.steps.frozen import Step, Weighing, display_of_step, frozen, weighing
from calc.steps.keys import AGAIN, SCALE_CHECK, added, into_tank
from calc.steps.pour_names import within
from calc.steps.step import Band, ReadOn, Said, Weighed, weigh
from calc.steps.words import in_each_language, in_words

PREFIX = "fill_"  # of the kinds of its events; the rest of each is a kind of a block's
WATER = "water"
# Choices about lye that was read as too warm for its portion, or that nobody could read: to wait and read again, or to add it.
WAIT_AGAIN, TOO_WARM, UNREAD_WAIT, UNREAD = "wait-again", "too-warm", "unread-wait", "unread"
BY_CLOCK: Final = "by-clock"  # note of a temperature that nobody read, and that its time made cool enough


class FrozenGoes(TypedDict):
    """One thing that goes in, as it is kept with the fill: its key in steps, else as a part of a load."""

    key: str
    name: str
    grams: float
    lot: NotRequired[str | None]
    oil: NotRequired[str | None]
    alkali: NotRequired[str | None]
    hydroxide_fraction: NotRequired[float | None]


class FrozenBefore(TypedDict):
    """What stood in the tank [g], and of lye its pure hydroxide."""

    grams: float
    hydroxide_fraction: NotRequired[float | None]


class FrozenFill(TypedDict):
    """A fill as it was planned."""

    tank: str
    steps: list[Step]
    pours: list[FrozenGoes]
    as_lot: NotRequired[str | None]
    formulas: NotRequired[list[str] | None]
    wanted_fraction: NotRequired[float | None]
    before: NotRequired[FrozenBefore | None]


def deeds_of(events: Iterable[Mapping[str, Any]]) -> list[Event]:
    """The events under the names that they have at a block."""
    return [cast(Event, {**event, "kind": str(event.get("kind")).removeprefix(PREFIX)}) for event in events]


_any_event = check_of({"type": "object", "required": ["id", "kind"], "properties": COMMON})


def can_be_filled(record: object, events: object) -> TypeGuard[FrozenFill]:
    """Whether a fill can be read from these two, just as the store gives them."""
    if not (event_check("fill_issued")(record) and isinstance(events, (list, tuple)) and all(map(_is_deed, events))):
        return False
    assert isinstance(record, Mapping)
    keys = {pour["key"] for pour in record["pours"]}
    put_in = [step for event in events if event["kind"] == "fill_decided" for step in (*(event.get("steps") or ()), *(event.get("replaced") or {}).values())]
    return all(step["pour"] in keys or (step["pour"] is None and step["kind"] != "weigh") for step in (*record["steps"], *put_in))


def _is_deed(value: Any) -> bool:
    if not _any_event(value):
        return False
    kind = str(value["kind"]).removeprefix(PREFIX)
    return kind not in GROUPS["block"]["kinds"] or EVENTS[kind].get("at_scale") is None or event_check(kind)({**value, "kind": kind})


Warmth = Literal["", "cool", "warm", "by-clock", "unread"]


@dataclass(frozen=True)
class Gate:
    """A temperature that stands last before its portion of caustic: how warm the lye was, and whether the portion is in it.

    warmth: "" before it is done. choice: what was decided about it since the reading that counts.
    """

    step: Step
    warmth: Warmth
    inside: bool
    done: Done | None = None
    choice: Event | None = None

    @property
    def open(self) -> bool:
        """Whether something is to be decided before the portion goes in."""
        return self.warmth in ("warm", "unread") and not self.inside and self.choice is None

    @property
    def read(self) -> str:
        """The reading that counts, with its unit; "" where there is none."""
        return "" if self.done is None or not self.done.reading else quantity(float(self.done.reading.replace(",", ".")), str(self.done.unit))


@dataclass(frozen=True)
class Fill:
    """A fill and what was done of it. hydroxide_of: of lots that are known, how much is pure hydroxide, by their code."""

    record: FrozenFill
    events: BlockEvents
    hydroxide_of: Mapping[str, float] = field(default_factory=dict)

    @property
    def is_lye(self) -> bool:
        """Whether lye is made."""
        return any(pour.get("alkali") for pour in self.record["pours"])

    def goes(self, key: str | None) -> FrozenGoes:
        """What goes in by its key."""
        return next(pour for pour in self.record["pours"] if pour["key"] == key)

    def weighed(self) -> list[Done]:
        """The weighings of what is in the tank, in the order of time; what was weighed anew in its pail counts by the last of them."""
        steps, back = {step["key"] for step in self.events.steps}, self.events.set_back
        return [
            done for done in self.events.in_time()
            if done.event["kind"] == "weighed" and done.step["key"] not in back
            and (_goes_in(done.step["key"]) not in steps or _goes_in(done.step["key"]) in self.events.done)
        ]  # fmt: skip

    @property
    def in_pail(self) -> bool:
        """Whether it is weighed in a pail and not in the tank: such a scale is checked first."""
        return any(step["key"] == SCALE_CHECK for step in self.record["steps"])

    def gates(self) -> list[Gate]:
        """Every temperature that decides about a portion, in order."""
        found, read = [], None
        for step in self.events.steps:
            if step["kind"] == "temperature":
                read = step
            elif step["kind"] == "weigh" and step.get("pour_kind") == "alkali" and read is not None:
                found.append(self._gate(read, into_tank(step["key"]) if self.in_pail else step["key"]))
                read = None
        return found

    def _gate(self, step: Step, goes_in_by: str) -> Gate:
        done, inside = self.events.done.get(step["key"]), goes_in_by in self.events.done
        if done is None:
            return Gate(step, "", inside)
        warm, place = done.too_warm, {event["id"]: n for n, event in enumerate(self.events.events)}
        unread: Warmth = BY_CLOCK if done.event.get("note") == BY_CLOCK else "unread"
        read_at = max(place[event["id"]] for event in self.events.events if event is done.event or event.get("corrects") == done.event["id"])
        since = [each for each in self.events.decisions if each.get("step") == step["key"] and place[each["id"]] > read_at]
        return Gate(step, unread if warm is None else "warm" if warm else "cool", inside, done, since[-1] if since else None)

    def parts(self, also: Sequence[tuple[Step, float]] = (), of: Sequence[Done] | None = None) -> list[dict[str, Any]]:
        """What is in it by this fill, lot by lot, as a load has it.

        also: steps that are taken as done, with so much [g]. of: the weighings that count, else those of what is in the tank.
        """
        found: dict[tuple[str, str | None], dict[str, Any]] = {}
        rows = [(done.step, done.event.get("lot"), done.reading_g) for done in (self.weighed() if of is None else of)]
        rows += [(step, self.events.lots.get(step["pour"] or "") or step["lot"], grams) for step, grams in also]
        for step, lot, grams in rows:
            goes = self.goes(step["pour"])
            lot = None if lot is None else str(lot)
            part = found.setdefault((goes["key"], lot), self._part(goes, lot))
            part["grams"] += grams
        return [part for part in found.values() if part["grams"] > 0.0]

    def _part(self, goes: FrozenGoes, lot: str | None) -> dict[str, Any]:
        part: dict[str, Any] = {**goes, "lot": lot, "grams": 0.0}
        del part["key"]
        if goes.get("alkali") and lot is not None and lot != goes.get("lot"):
            part["hydroxide_fraction"] = self.hydroxide_of.get(lot, goes.get("hydroxide_fraction"))
        return {name: value for name, value in part.items() if value is not None}

    def to_come(self) -> list[tuple[Step, float]]:
        """The weighings that are not in yet, at their targets [g]; of what stands weighed and waits, what was read."""
        inside = {done.step["key"] for done in self.weighed()}
        back = self.events.set_back
        waiting = {key: done.reading_g for key, done in self.events.done.items() if done.event["kind"] == "weighed"}
        steps = [step for step in self.events.steps if step["kind"] == "weigh" and step["key"] not in inside | back]
        return [
            (step, waiting[step["key"]] if step["key"] in waiting else display_of_step(weighing(step)).grams(weighing(step)["target"]))
            for step in steps if step["key"] not in self.events.done or step["key"] in waiting
        ]  # fmt: skip

    def strength(self, parts: Sequence[Mapping[str, Any]]) -> tuple[float, float]:
        """Mass in the tank [g] with these parts in, and how much of it is pure hydroxide [g/g]; 0 of an empty one."""
        before = self.record.get("before") or {"grams": 0.0}
        before_g = max(before["grams"], 0.0)
        mass_g = before_g + math.fsum(part["grams"] for part in parts)
        pure_g = before_g * (before.get("hydroxide_fraction") or 0.0) + math.fsum(part["grams"] * part.get("hydroxide_fraction", 0.0) for part in parts)
        return mass_g, pure_g / mass_g if mass_g > 0.0 else 0.0


def _goes_in(key: str) -> str:
    """The step that puts in what the step of a key weighed, also anew."""
    while key.startswith(AGAIN):
        key = key.removeprefix(AGAIN)
    return into_tank(key)


def read_fill(record: FrozenFill, events: Iterable[Mapping[str, Any]], hydroxide_of: Mapping[str, float] | None = None) -> Fill:
    """A fill from the store, whatever order its events come in."""
    return Fill(record, fold(record["steps"], _that_hold(deeds_of(events))), hydroxide_of or {})


def _that_hold(deeds: Sequence[Event]) -> list[Event]:
    """Without each wait for lye that was too warm whose reading was put right before anything of the wait was done."""
    in_time = sorted(deeds, key=lambda event: (str(event.get("at", "")), str(event["id"])))
    # Of two phones' readings the first counts.
    reads = {event.get("step"): event["id"] for event in reversed(in_time) if event["kind"] == "checked"}
    corrected = {event.get("corrects"): n for n, event in enumerate(in_time) if event["kind"] == "corrected"}
    touched = {event.get("step") for event in in_time if event["kind"] != "decided"}
    return [
        event for n, event in enumerate(in_time)
        if event["kind"] != "decided" or event.get("choice") != WAIT_AGAIN or corrected.get(reads.get(event.get("step")), -1) < n
        or any(step["key"] in touched for step in event.get("steps") or ())
    ]  # fmt: skip


@dataclass(frozen=True)
class Way:
    """One way on after a slip: its key and name, what it comes to, and the steps it puts in or changes."""

    key: str
    title: str
    told: str
    steps: tuple[Step, ...] = ()
    replaced: Mapping[str, Step] = field(default_factory=dict)


def ways_on(fill: Fill, key: str) -> tuple[Way, ...]:
    """The ways on after a reading outside its band, the best first. key: of that step."""
    done = fill.events.done[key]
    step = weighing(done.step)
    over_g = done.reading_g - display_of_step(step).grams(step["target"])
    ways = [] if over_g > 0.0 else [_missing(fill, step, -over_g)]
    if over_g > 0.0 and fill.in_pail:
        ways.append(_taken_out(fill, step, over_g))
    if over_g > 0.0 and fill.is_lye:
        ways += _balanced(fill, step)
    return (*ways, _kept(fill, step))


def _kept(fill: Fill, step: Weighing) -> Way:
    """Nothing changes; what it comes to is told."""
    title = tr("Put all of it in anyway") if fill.in_pail else tr("Go on with what’s in it")
    return Way("as-it-is", title, _comes_to(fill, step, fill.parts(fill.to_come())))


def _comes_to(fill: Fill, step: Weighing, parts: Sequence[Mapping[str, Any]]) -> str:
    _, fraction = fill.strength(parts)
    wanted = fill.record.get("wanted_fraction")
    if wanted is not None:
        return tr("That makes the lye {strength}; {wanted} was planned.", strength=percent(fraction, 2), wanted=percent(wanted, 2))
    goes = fill.goes(step["pour"])
    now_g, all_g = (math.fsum(part["grams"] for part in parts if not name or part["name"] == name) for name in (goes["name"], ""))
    planned_g = math.fsum(pour["grams"] for pour in fill.record["pours"])
    return tr("That makes {oil} {share} of what goes in; {planned} was planned.", share=percent(now_g / all_g, 2),
              oil=within(goes["name"]), planned=percent(goes["grams"] / planned_g, 2))  # fmt: skip


def _taken_out(fill: Fill, step: Weighing, over_g: float) -> Way:
    """What is too much comes out of the pail, which is weighed anew: the reading that was too high counts no more."""
    display = display_of_step(step)
    key = AGAIN + step["key"]

    def anew() -> Step:
        said = in_words(step)
        title = tr("Weigh again: {step}", step=said["title"])
        return _weigh_anew(said, display.grams(step["target"]), key=key, title=title)

    title = tr("It’s still in the pail: take {mass} out and weigh again", mass=display.said(display.counts(over_g)))
    made = in_each_language(anew)
    kept = [(each, grams) for each, grams in fill.to_come() if each["key"] != step["key"]]
    without = [done for done in fill.weighed() if done.step["key"] != step["key"]]
    return Way("taken-out", title, _comes_to(fill, step, fill.parts([*kept, (made, display.grams(step["target"]))], of=without)), (made,))


def _missing(fill: Fill, step: Weighing, grams: float) -> Way:
    """What a pour is short of, in a step of its own right behind it."""
    key = added(str(step["pour"]), len(fill.events.events))

    def more() -> Step:
        said = in_words(step)
        title = tr("What’s missing: {step}", step=said["title"])
        return _weigh_anew(said, grams, key=key, title=title)

    made = in_each_language(more)
    steps = [made]
    behind = next((each for each in fill.events.steps if each["key"] == into_tank(step["key"])), None)
    if behind is not None:
        steps.append(cast(Step, {**behind, "key": into_tank(key)}))
    to_come = [*fill.to_come(), (made, grams)]
    return Way("missing", tr("Add what’s missing"), _comes_to(fill, step, fill.parts(to_come)), tuple(steps))


def _balanced(fill: Fill, step: Weighing) -> list[Way]:
    """The strength that was planned, by what is still to come; too much of the last caustic, by more water."""
    wanted, alkali = fill.record.get("wanted_fraction"), next(pour for pour in fill.record["pours"] if pour.get("alkali"))
    source = alkali.get("hydroxide_fraction") or 0.0
    if wanted is None or not 0.0 < wanted < source:
        return []
    ahead = [(each, grams) for each, grams in fill.to_come() if each["key"] != step["key"] and fill.goes(each["pour"]).get("alkali") and each["key"] not in fill.events.done]
    keys = {each["key"] for each, _ in ahead}
    fixed = fill.parts([(each, grams) for each, grams in fill.to_come() if each["key"] not in keys])
    mass_g, fraction = fill.strength(fixed)
    planned_g, wants_g = math.fsum(grams for _, grams in ahead), mass_g * (wanted - fraction) / (source - wanted)
    if ahead and wants_g > 0.0:
        factor = wants_g / planned_g
        replaced = {each["key"]: _of_mass(each, factor * grams) for each, grams in ahead}
        told = _comes_to(fill, step, fill.parts([*((each, grams) for each, grams in fill.to_come() if each["key"] not in keys),
                                                 *((each, factor * grams) for each, grams in ahead)]))  # fmt: skip
        return [Way("balanced", tr("Change what’s still to come"), told, replaced=replaced)]
    water = next((each for each in fill.events.steps if each["kind"] == "weigh" and each["pour"] == WATER), None)
    if ahead or water is None or fraction <= wanted:
        return []
    more_g = mass_g * (fraction / wanted - 1.0)
    key = added(WATER, len(fill.events.events))
    made = in_each_language(lambda: _weigh_anew(weighing(in_words(water)), more_g, key=key, title=tr("More water")))
    return [Way("balanced", tr("Add more water"), _comes_to(fill, step, fill.parts([*fill.to_come(), (made, more_g)])), (made,))]


def _of_mass(step: Step, grams: float) -> Step:
    return in_each_language(lambda: _weigh_anew(in_words(step), grams))


def _weigh_anew(step: Step, grams: float, key: str | None = None, title: str | None = None) -> Step:
    """A weighing as it was frozen, of so much [g] in place of its own amount; in the words it stands in."""
    old = weighing(step)
    display = display_of_step(old)
    most_g = display.grams(old.get("most") or 10 * old["target"])
    said = Said(title=title or old["title"], how=old["how"], stop=old["stop"], next=old["next"])
    what = Weighed(grams=grams, pour=old["pour"], kind=old.get("pour_kind"), lot=old["lot"], twice=old["twice"])
    return frozen(weigh(key or old["key"], said, what, ReadOn(old["scale"], display, most_g), Band(allowed_g=ALLOWED_MAIN * grams)))
