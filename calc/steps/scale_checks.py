"""The checks of the vessel's scale: level, zero and check weight, which hold for a shift; the empty vessel, in each block."""

from calc.entry.language import tr
from calc.scales.display import Display
from calc.scales.weighing import Scale, limit_of_error_g
from calc.steps.keys import SCALE_CHECK, TARE_AGAIN, TARE_EMPTY, VESSEL_ON
from calc.steps.step import WeighStep, confirm
from calc.workshop.equipment import ASSUMED, Vessel


def zero_check(scale: Scale, display: Display, check_weight_g: float | None) -> WeighStep:
    """Level (tilting: OIML R 76-1, from memory), zero, and the check weight [g] within the limit of error at that load (OIML R
    76-1, NIST Handbook 44 2.20). It says nothing of the vessel: one check serves all blocks of a shift.
    """
    words = [
        tr("{scale} is level, and nothing touches it.", scale=scale.name),
        tr("With nothing on it the display shows {shows}.", shows=display.said(0)),
    ]
    stop = tr("Stop if it doesn't come to zero.")
    if check_weight_g is not None and check_weight_g <= scale.capacity_g:
        shows = display.counts(check_weight_g)
        off = max(display.counts_within(limit_of_error_g(scale, check_weight_g)), display.division)
        words.append(tr("With the check weight on, it shows {shows}. Take the weight off.", shows=display.said(shows)))
        stop = tr(
            "Stop if the check weight shows less than {low} or more than {high}.",
            low=display.text(shows - off),
            high=display.said(shows + off),
        )
    return confirm(SCALE_CHECK, tr("Check the scale"), " ".join(words), stop=stop)


def vessel_on(scale: Scale, display: Display, vessel: Vessel) -> WeighStep:
    """The empty vessel where nobody tares: its weight tells it from another one."""
    if vessel.figures == ASSUMED:
        how = tr(
            "Set {vessel} on {scale} and don't tare. Note what it shows: its empty weight isn't known yet.",
            vessel=vessel.name,
            scale=scale.name,
        )
        return confirm(VESSEL_ON, tr("Vessel on, no tare"), how)
    empty = display.said(display.counts(vessel.tare_g))
    return confirm(
        VESSEL_ON,
        tr("Vessel on, no tare"),
        tr("Set {vessel} on {scale} and don't tare: it shows {shows}.", vessel=vessel.name, scale=scale.name, shows=empty),
        stop=_another(empty),
    )


def tare_empty(scale: Scale, display: Display, vessel: Vessel) -> WeighStep:
    """The empty vessel on its scale: its weight tells it from another one."""
    empty = display.counts(vessel.tare_g)
    if vessel.figures == ASSUMED:
        how = tr(
            "Set {vessel} on {scale} and note what the display shows: its empty weight isn't known yet. Press tare: it shows {zero}.",
            vessel=vessel.name,
            scale=scale.name,
            zero=display.said(0),
        )
        return confirm(TARE_EMPTY, tr("Vessel on, tare"), how)
    return confirm(
        TARE_EMPTY,
        tr("Vessel on, tare"),
        tr(
            "Set {vessel} on {scale}: the display shows {shows}. Press tare: it shows {zero}.",
            vessel=vessel.name,
            scale=scale.name,
            shows=display.said(empty),
            zero=display.said(0),
        ),
        stop=_another(display.said(empty)),
        gross_text=display.text(empty),
    )


def _another(shows: str) -> str:
    return tr("Stop if the empty vessel doesn't show about {shows}: it may be another one.", shows=shows)


def tare_again(display: Display, on_scale_g: float) -> WeighStep:
    """Before the lye, with vessel and oils [g] on the scale."""
    return confirm(
        TARE_AGAIN,
        tr("Tare again"),
        tr("Press tare: the display shows {zero}. No lye is in yet.", zero=display.said(0)),
        gross_text=display.text(display.counts(on_scale_g)),
    )
