"""The order of work from the poured mould to the rack: the second part of a block, frozen with its sheet beside the first.

The first part ends at the pour, where its record is closed; the clock of this one starts there. A shop that does not want
it leaves it untouched.
"""

from collections.abc import Iterator

from calc.batch.order import BatchSetting
from calc.batch.sheet import BatchSheet
from calc.entry.language import tr
from calc.entry.shown import plain_weight
from calc.scales.display import Display
from calc.scales.questions import Question
from calc.steps.keys import (
    BARS,
    COVERED,
    DEMOULD,
    FIRST_BAR,
    FRAME,
    GEL,
    GOOD,
    LIFT,
    LOAVES,
    RACK,
    SET_ASIDE,
    SKIM,
    TRIM,
)
from calc.steps.step import BARS_UNIT, WeighStep, confirm
from calc.tables.reference import constant
from calc.workshop.equipment import ScaleItem
from calc.workshop.scales import scales_of, vessel_scale

HOUR_S = 3600


def after_steps(sheet: BatchSheet, setting: BatchSetting) -> tuple[WeighStep, ...]:
    """Every step of one block from the mould to the rack, in the order of work; in the language spoken."""
    return tuple(_steps(sheet, setting))


def _steps(sheet: BatchSheet, setting: BatchSetting) -> Iterator[WeighStep]:
    yield WeighStep(
        key=COVERED,
        kind="cover",
        title=tr("How is it covered?"),
        how=tr("What lies over it and where it stands tell, block by block, how long it needs in the mold."),
    )
    yield WeighStep(
        key=GEL,
        kind="gel",
        title=tr("Check for gel"),
        how=tr("Lift a corner of the cover. Gelled soap looks darker and see-through. How far has it spread?"),
        seconds=round(HOUR_S * constant("gel_look_hours").value),
    )
    hours = setting.habits.unmould_hours
    usual_hours = constant("unmould_usual").value if hours is None else hours
    yield _lift(sheet, setting.units, round(HOUR_S * usual_hours))
    # Fresh soap and pockets of lye: row cut_block of shared/safety/statements.csv.
    yield confirm(
        DEMOULD,
        tr("Take the mold off"),
        tr("Gloves and safety glasses on: fresh soap is still alkaline. Open the sides, peel the liner off."),
        stop=tr("Stop if liquid runs out: don't cut it. Set it apart; a trained person tests it."),
    )
    # Rows cut_wires, cut_air and cut_hands there.
    yield confirm(
        LOAVES,
        tr("Cut the loaves"),
        tr("Loaf frame on, wires tight, guard on. Both hands of whoever cuts on the controls, everybody else back."),
        safety=True,
        stop=tr("Stop if a wire is frayed, the air isn't at its set pressure, or a hand is near the frame."),
    )
    yield confirm(SKIM, tr("Skim the loaves"), tr("Take ash and high spots off. Keep all trim together: it is weighed."))
    # 29 CFR 1910.147(d), the steps of OSHA 3120; blocking what can fall: rows cut_jam there.
    yield confirm(
        FRAME,
        tr("Change to the bar frame, and check it"),
        tr(
            "Shut the air valve and cut the power. Lock and tag. Block what can fall. Bleed the air. Try to start it. "
            "Only then change the frame. Every wire sound, tight and square; then the guard back on."
        ),
        safety=True,
        stop=tr("Stop if any of these is missing: air left in the cylinder moves the frame."),
    )
    yield confirm(BARS, tr("Cut the bars, layer by layer"), _how_bars(sheet))
    yield from _counted(sheet, setting)


def _lift(sheet: BatchSheet, units: str, seconds: int) -> WeighStep:
    """29 CFR 1910.184(c) and a legal summary of 1910 on suspended loads: rows lift_* of shared/safety/statements.csv."""
    return WeighStep(
        key=LIFT,
        kind="lift",
        safety=True,
        title=tr("Lift the block"),
        how=tr(
            "Press the top: firm and cool. One person stays at the hoist's control, the other guides it by handle or rope. "
            "Fingers out before the chain tightens. Raise it a little and stop: it must stay.",
        ),
        stop=tr("Stop if the tag is missing, sling or chain is damaged, or anybody is under the load or close to it."),
        # Told where the weight can't be worked out from what was weighed.
        next=tr("By the sheet it holds {mass} of batter. Add the mold.", mass=plain_weight(sheet.batter_g, units)),
        seconds=seconds,
    )


def _how_bars(sheet: BatchSheet) -> str:
    act = tr("Stack the loaves no higher than the frame clears. Hands clear before each cut.")
    if sheet.bars is None:
        return act
    return tr("{bars} bars are planned. {act}", bars=sheet.bars.total, act=act)


def _counted(sheet: BatchSheet, setting: BatchSetting) -> Iterator[WeighStep]:
    """What is measured and counted at the cutter, and the rack."""
    scales = scales_of(setting.scales, setting.shop.tolerance_scheme)
    fits = [item for _, item in scales.values() if item.capacity_g >= (sheet.bar_g or constant("bar_weight_most").value)]
    widest = vessel_scale(scales)[1]
    finest = min(fits or [widest], key=lambda item: item.division_g)
    about = "" if sheet.bar_g is None else tr("About {mass} by plan.", mass=plain_weight(sheet.bar_g, setting.units))
    first = tr("One good bar, as it comes off the wires, on {scale}.", scale=finest.name)
    asked = () if sheet.bar_g is None else _far_off(finest, sheet.bar_g)
    yield _read_on(finest, FIRST_BAR, tr("Weigh the first bar"), " ".join(filter(None, (first, about))), asked)
    trim = tr("All that was skimmed and cut off, in a tared tub on {scale}.", scale=widest.name)
    yield _read_on(widest, TRIM, tr("Weigh the trim"), trim)
    planned = None if sheet.bars is None else sheet.bars.total
    yield _count(GOOD, tr("Count the good bars"), tr("Those that go on the trays."), planned)
    yield _count(SET_ASIDE, tr("Bars set aside?"), tr("Whole bars that can't be sold: say how many, and why."), 0)
    yield WeighStep(
        key=RACK,
        kind="rack",
        title=tr("Tray and rack the bars"),
        how=tr("A gap on every side so that air gets round. Batch and block written on each tray."),
        unit=BARS_UNIT,
        decimals=0,
        division=1,
    )


def _far_off(scale: ScaleItem, bar_g: float) -> tuple[Question, ...]:
    """Readings of a bar that only a slip of the keypad or another unit gives. bar_g: by plan, above 0."""
    display = scale.display
    half, double = display.counts(bar_g / 2.0), display.counts(2.0 * bar_g)
    plan = plain_weight(bar_g, "us" if display.unit in ("lb", "oz") else "metric")
    return (
        Question("half", 0, half, tr("Under half of the {mass} by plan. Does the display show this?", mass=plan)),
        Question("double", double, max(double, display.counts(scale.capacity_g)), tr("Over twice the {mass} by plan. Does the display show this?", mass=plan)),
    )


def _read_on(scale: ScaleItem, key: str, title: str, how: str, asked: tuple[Question, ...] = ()) -> WeighStep:
    display: Display = scale.display
    return WeighStep(
        key=key,
        kind="measure",
        title=title,
        how=how,
        scale=scale.name,
        unit=display.unit,
        decimals=display.decimals,
        division=display.division,
        most=display.counts(scale.capacity_g),
        questions=asked,
    )


def _count(key: str, title: str, how: str, offered: int | None) -> WeighStep:
    """Pieces. offered: what one tap says."""
    return WeighStep(
        key=key,
        kind="measure",
        title=title,
        how=how,
        unit=BARS_UNIT,
        decimals=0,
        division=1,
        target=offered,
        target_text=None if offered is None else str(offered),
    )
