"""The order of work from the poured mould to the rack: the second part of a block, frozen with its sheet beside the first.

The first part ends at the pour, where its record is closed; the clock of this one starts there. A shop that does not want
it leaves it untouched.
"""

from collections.abc import Iterator

from calc.batch.order import BatchSetting
from calc.batch.sheet import BatchSheet
from calc.cut.block import Spread
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
        title=tr("Cover the mold"),
        how=tr("Say what covers it and where it stands: that decides how long it stays in the mold."),
    )
    yield WeighStep(
        key=GEL,
        kind="gel",
        title=tr("Check for gel"),
        how=tr("Lift a corner of the cover. Gelled soap looks darker and see-through. How far has it gone?"),
        seconds=round(HOUR_S * constant("gel_look_hours").value),
    )
    hours = setting.habits.unmould_hours
    usual_hours = constant("unmould_usual").value if hours is None else hours
    yield _lift(sheet, setting.units, round(HOUR_S * usual_hours))
    # Fresh soap and pockets of lye: row cut_block of shared/safety/statements.csv.
    yield confirm(
        DEMOULD,
        tr("Take the mold off"),
        tr("Gloves and safety glasses on: fresh soap is still alkaline. Open the sides and peel off the liner."),
        stop=tr("Stop if liquid runs out. Don’t cut it: set it aside for a trained person to test."),
    )
    # Rows cut_wires, cut_air and cut_hands there.
    yield confirm(
        LOAVES,
        tr("Cut the loaves"),
        _how_loaves(sheet),
        safety=True,
        stop=tr("Stop if a wire is frayed, the air isn't at its set pressure, or a hand is near the frame."),
    )
    yield confirm(SKIM, tr("Skim the loaves"), tr("Take off ash and high spots. Keep all the trim together: it gets weighed."))
    # 29 CFR 1910.147(d), the steps of OSHA 3120; blocking what can fall: rows cut_jam there.
    yield confirm(
        FRAME,
        tr("Put on the bar frame and check it"),
        tr(
            "Shut the air valve and cut the power. Lock and tag. Block what can fall. Bleed the air. Try to start it. "
            "Only then change the frame. Check that every wire is sound, tight and square. Guard back on."
        ),
        safety=True,
        stop=tr("Stop if any of these was skipped: air left in the cylinder can move the frame."),
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
            "Press the top: it should be firm and cool. One person stays on the hoist control, one guides the load by its "
            "handle or a rope. Fingers clear before the chain goes tight. Raise it a little and stop: it has to hold.",
        ),
        stop=tr("Stop if the tag is missing, the sling or chain is damaged, or anyone is under the load or near it."),
        # Told where the weight can't be worked out from what was weighed.
        next=tr("The sheet says {mass} of batter, plus the mold.", mass=plain_weight(sheet.batter_g, units)),
        seconds=seconds,
    )


def _how_loaves(sheet: BatchSheet) -> str:
    act = tr("Loaf frame on, wires tight, guard on. Whoever cuts keeps both hands on the controls. Everyone else stands back.")
    if sheet.cut is None:
        return act
    way = sheet.cut.way
    return tr("The plan is {loaves} loaves with “{frame}”. {act}", loaves=way.loaves, frame=way.names[0], act=act)


def _how_bars(sheet: BatchSheet) -> str:
    act = tr("Stack the loaves no higher than the frame clears. Hands clear before each cut.")
    if sheet.cut is None:
        return act
    way = sheet.cut.way
    if way.stack is not None and way.stack.layers:
        told = {"bars": way.bars, "frame": way.names[-1], "layers": way.stack.layers}
        return tr("The plan is {bars} bars with “{frame}”, loaves stacked {layers} high. {act}", **told, act=act)
    return tr("The plan is {bars} bars with “{frame}”. {act}", bars=way.bars, frame=way.names[-1], act=act)


def _counted(sheet: BatchSheet, setting: BatchSetting) -> Iterator[WeighStep]:
    """What is measured and counted at the cutter, and the rack."""
    scales = scales_of(setting.scales, setting.shop.tolerance_scheme)
    fits = [item for _, item in scales.values() if item.capacity_g >= (sheet.bar_g or constant("bar_weight_most").value)]
    widest = vessel_scale(scales)[1]
    finest = min(fits or [widest], key=lambda item: item.division_g)
    first = tr("One good bar, fresh off the wires, on {scale}.", scale=finest.name)
    about = "" if sheet.cut is None else _should_weigh(sheet.cut.bar_g, setting.units)
    asked = () if sheet.bar_g is None else _far_off(finest, sheet.bar_g)
    yield _read_on(finest, FIRST_BAR, tr("Weigh the first bar"), " ".join(filter(None, (first, about))), asked)
    trim = tr("Everything skimmed and cut off, in a tared tub on {scale}.", scale=widest.name)
    usual = "" if sheet.cut is None else tr("The plan is about {mass}.", mass=plain_weight(sheet.cut.trim_g, setting.units))
    yield _read_on(widest, TRIM, tr("Weigh the trim"), " ".join(filter(None, (trim, usual))))
    planned = None if sheet.bars is None else sheet.bars.total
    yield _count(GOOD, tr("Count the good bars"), tr("The ones that go on trays."), planned)
    yield _count(SET_ASIDE, tr("Bars set aside?"), tr("Whole bars you can’t sell: how many, and why?"), 0)
    yield WeighStep(
        key=RACK,
        kind="rack",
        title=tr("Tray and rack the bars"),
        how=tr("Leave a gap around each bar so air gets in. Write the batch and block on each tray."),
        unit=BARS_UNIT,
        decimals=0,
        division=1,
    )


def _should_weigh(bar_g: Spread, units: str) -> str:
    low, high = plain_weight(bar_g.low, units), plain_weight(bar_g.high, units)
    if low == high:
        return tr("It should weigh about {mass}.", mass=low)
    return tr("It should weigh {low} to {high}.", low=low, high=high)


def _far_off(scale: ScaleItem, bar_g: float) -> tuple[Question, ...]:
    """Readings of a bar that only a slip of the keypad or another unit gives. bar_g: by plan, above 0."""
    display = scale.display
    half, double = display.counts(bar_g / 2.0), display.counts(2.0 * bar_g)
    plan = plain_weight(bar_g, "us" if display.unit in ("lb", "oz") else "metric")
    return (
        Question("half", 0, half, tr("That’s under half of the {mass} planned. Does the display show this?", mass=plan)),
        Question("double", double, max(double, display.counts(scale.capacity_g)), tr("That’s over twice the {mass} planned. Does the display show this?", mass=plan)),
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
