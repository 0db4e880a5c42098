"""The steps at the scale as lines of a printed sheet: the same list in the same order, with room to write on.

A line keeps what somebody without a phone needs: what to do, how much on which scale, and what is in the vessel then.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from calc.batch.sheet import BatchSheet
from calc.entry.language import tr
from calc.entry.shown import duration, level, plain_weight
from calc.scales.display import Display
from calc.steps.keys import (
    COVERED,
    DISSOLVE,
    FIRST_BAR,
    GEL,
    INTO_MOULD,
    LIFT,
    MADE,
    MOULD_READY,
    OIL_BLEND,
    RACK,
    RESERVE,
    SCALE_CHECK,
    SET_ASIDE,
    TARE_EMPTY,
    TRIM,
    VESSEL_ON,
    puts_in,
)
from calc.steps.reserve import amounts, held
from calc.steps.step import WeighStep


@dataclass(frozen=True, kw_only=True)
class Line:
    """One step on paper. target: what the display is to show; of a step that weighs nothing, None.

    notes: lot, scale and band, a range of temperature, a time: in words. reads: whether something is written down for it.
    """

    key: str
    title: str
    safety: bool
    reads: bool
    target: str | None
    in_vessel: str | None
    notes: tuple[str, ...]
    lot: str | None
    lot_open: bool  # of an oil or a scent whose lot is to be written in by hand
    all_blocks: str | None


@dataclass(frozen=True)
class Part:
    """A part of the work, with a heading of its own."""

    heading: str
    lines: tuple[Line, ...]


def paper(steps: Sequence[WeighStep], sheet: BatchSheet, units: str) -> tuple[Part, ...]:
    """Every step of one block, by parts of the work. sheet: the one that the steps are of; in the language spoken."""
    return tuple(_Paper(sheet, units).parts(steps))


def after_paper(steps: Sequence[WeighStep], sheet: BatchSheet, units: str) -> tuple[Line, ...]:
    """Every step from the mould to the rack, with what is to be written down for it. sheet: the one that the steps are of."""
    return tuple(
        Line(
            key=step.key,
            title=step.title,
            safety=step.safety,
            reads=step.kind != "confirm",
            target=None,
            in_vessel=None,
            notes=tuple(_after_notes(step, sheet, units)),
            lot=None,
            lot_open=False,
            all_blocks=None,
        )
        for step in steps
    )


def _after_notes(step: WeighStep, sheet: BatchSheet, units: str) -> Iterator[str]:
    if step.key == COVERED:
        yield tr("write the cover and the room")
    elif step.key == GEL:
        yield tr("{time} after the pour: write how far it went", time=duration(step.seconds or 0))
    elif step.key == LIFT:
        yield tr("from {time} after the pour on: write the time. {how} {stop}", time=duration(step.seconds or 0), how=step.how, stop=step.stop)
    elif step.kind == "confirm":
        yield " ".join(filter(None, (step.how, step.stop)))
    elif step.key == RACK:
        yield tr("write the trays and the spot")
    elif step.key == SET_ASIDE:
        yield tr("write how many, and why")
    elif step.key in (FIRST_BAR, TRIM):
        yield str(step.scale)
        if sheet.cut is not None and step.key == TRIM:
            yield tr("the plan is about {mass}", mass=plain_weight(sheet.cut.trim_g, units))
        elif sheet.cut is not None:
            low, high = (plain_weight(mass_g, units) for mass_g in (sheet.cut.bar_g.low, sheet.cut.bar_g.high))
            yield tr("the plan is {low} to {high}", low=low, high=high)
    elif step.target_text is not None:
        yield tr("{n} planned", n=step.target_text)


# In the order of the work.
_PARTS = ("ready", "lye", "vessel", "trace", "mould")


def _headings() -> dict[str, str]:
    return {
        "ready": tr("Before anything is weighed"),
        "lye": tr("Lye, made separately: caustic into water"),
        "vessel": tr("Into the vessel, in this order"),
        "trace": tr("Mix, and at trace"),
        "mould": tr("Into the mold"),
    }


class _Paper:
    """Goes through the steps once and keeps what is in the vessel by then."""

    def __init__(self, sheet: BatchSheet, units: str) -> None:
        self.sheet, self.units = sheet, units
        self.display = sheet.tare.display
        self.pours = {pour.key: pour for pour in sheet.weighed}
        self.in_vessel_g = 0.0
        self.covered_g: dict[str, float] = {}  # weighed, and put in by a later step

    def parts(self, steps: Sequence[WeighStep]) -> Iterator[Part]:
        found: dict[str, list[Line]] = {}
        put_in = {pour for step in steps if (pour := puts_in(step.key)) is not None}
        part = _PARTS[0]
        for step in steps:
            part = max(part, self._begins(step, part), key=_PARTS.index)
            found.setdefault(part, []).append(self._line(step, put_in))
        headings = _headings()
        return (Part(headings[part], tuple(lines)) for part, lines in found.items())

    def _begins(self, step: WeighStep, before: str) -> str:
        """The part of the work that a step opens, or the one that it goes on with."""
        pour = self.pours.get(step.pour or "")
        if step.key == DISSOLVE or (pour is not None and pour.phase == "lye"):
            return "lye"
        if step.scale is not None or step.key in (SCALE_CHECK, TARE_EMPTY, VESSEL_ON):
            return before if before in ("trace", "mould") else "vessel"
        return {"mix": "trace", INTO_MOULD: "mould"}.get(step.key, before)

    def _line(self, step: WeighStep, put_in: Collection[str]) -> Line:
        weighed = step.kind == "weigh"
        in_vessel = self._put_in(step, put_in)
        return Line(
            key=step.key,
            title=step.title,
            safety=step.safety,
            reads=step.kind in ("weigh", "temperature"),
            target=_said(step, 1) if weighed else None,
            in_vessel=in_vessel,
            notes=tuple(self._notes(step)),
            lot=step.lot,
            lot_open=weighed and step.lot is None and step.pour_kind in ("oil", "scent") and step.key != OIL_BLEND,
            all_blocks=_said(step, self.sheet.blocks) if weighed and self.sheet.blocks > 1 else None,
        )

    def _put_in(self, step: WeighStep, put_in: Collection[str]) -> str | None:
        """Does a step, and says what the vessel holds then; that what is weighed is not in it yet; None of a step that moves nothing."""
        pour = self.pours.get(step.pour or "")
        later = puts_in(step.key)
        if step.key == MADE and pour is not None:
            self.in_vessel_g += pour.target_g
        elif later is not None:
            self.in_vessel_g += self.covered_g.pop(later, 0.0)
        elif step.kind != "weigh":
            return None
        elif pour is not None and pour.phase == "lye":
            return tr("separately")
        elif step.pour in put_in:
            self.covered_g[pour.key if pour else ""] = _grams(step)
            return tr("separately")
        else:
            self.in_vessel_g += _grams(step)
        return self.display.said(self.display.counts(self.in_vessel_g))

    def _notes(self, step: WeighStep) -> Iterator[str]:
        if step.kind == "weigh":
            yield str(step.scale)
            yield tr("take {band}", band=str(step.band_text))
            if step.twice:
                yield tr("read it twice")
        elif step.kind == "temperature" and step.band_text:
            yield step.band_text
        elif step.seconds is not None:
            yield duration(step.seconds)
        elif step.key == MADE and step.pour in self.pours:
            mass = self.display.said(self.display.counts(self.pours[step.pour].target_g))
            yield tr("all of it, {mass}", mass=mass)
        elif step.key == RESERVE:
            yield tr(" and ").join(amounts(held(self.sheet), self.sheet.lye_per_ml, self.units))
        elif step.key in (MOULD_READY, INTO_MOULD):
            yield tr("filled to {height}", height=level(self.sheet.fill_height_mm, self.units))


def _display(step: WeighStep) -> Display:
    assert step.unit is not None and step.decimals is not None and step.division is not None
    return Display(step.unit, step.decimals, step.division)


def _grams(step: WeighStep) -> float:
    return _display(step).grams(step.target or 0)


def _said(step: WeighStep, blocks: int) -> str:
    """So many of what is weighed, as its display would show it."""
    return _display(step).said(blocks * (step.target or 0))
