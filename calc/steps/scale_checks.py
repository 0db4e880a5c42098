"""The checks of the vessel's scale: zero, check weight, tare."""

from calc.entry.language import tr
from calc.scales.display import Display
from calc.scales.weighing import Scale, limit_of_error_g
from calc.steps.keys import TARE_AGAIN, TARE_EMPTY
from calc.steps.step import WeighStep, confirm
from calc.workshop.equipment import ASSUMED, Vessel


def zero_check(scale: Scale, display: Display, vessel: Vessel, check_weight_g: float | None, tares: bool) -> WeighStep:
    """Zero, and the check weight [g] within the limit of error at that load (OIML R 76-1, NIST Handbook 44 2.20)."""
    words = [tr("With nothing on {scale} the display shows {shows}.", scale=scale.name, shows=display.said(0))]
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
    if not tares and vessel.figures == ASSUMED:
        words.append(
            tr("Set {vessel} on it and don't tare. Note what it shows: its empty weight isn't known yet.", vessel=vessel.name)
        )
    elif not tares:
        empty = display.said(display.counts(vessel.tare_g))
        words.append(tr("Set {vessel} on it and don't tare: it shows {shows}.", vessel=vessel.name, shows=empty))
    return confirm("check:zero", tr("Check the scale"), " ".join(words), stop=stop)


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
        stop=tr(
            "Stop if the empty vessel does not show about {shows}: it may be another one.", shows=display.said(empty)
        ),
        gross_text=display.text(empty),
    )


def tare_again(display: Display, on_scale_g: float) -> WeighStep:
    """Before the lye, with vessel and oils [g] on the scale."""
    return confirm(
        TARE_AGAIN,
        tr("Tare again"),
        tr("Press tare: the display shows {zero}. No lye is in yet.", zero=display.said(0)),
        gross_text=display.text(display.counts(on_scale_g)),
    )
