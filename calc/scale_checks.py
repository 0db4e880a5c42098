"""The checks of the vessel's scale: zero, check weight, tare."""

from calc.display import Display
from calc.weigh_step import WeighStep, confirm
from calc.weighing import Scale, limit_of_error_g
from calc.workshop import Vessel


def zero_check(scale: Scale, display: Display, vessel: Vessel, check_weight_g: float | None, tares: bool) -> WeighStep:
    """Zero, and the check weight [g] within the limit of error at that load (OIML R 76-1, NIST Handbook 44 2.20)."""
    words = [f"With nothing on {scale.name} the display shows {display.said(0)}."]
    stop = "Stop if it doesn't come to zero."
    if check_weight_g is not None and check_weight_g <= scale.capacity_g:
        shows = display.counts(check_weight_g)
        off = max(display.counts_within(limit_of_error_g(scale, check_weight_g)), display.division)
        words.append(f"With the check weight on, it shows {display.said(shows)}. Take the weight off.")
        stop = (
            f"Stop if the check weight shows less than {display.text(shows - off)} "
            f"or more than {display.said(shows + off)}."
        )
    if not tares:
        empty = display.said(display.counts(vessel.tare_g))
        words.append(f"Set {vessel.name} on it and don't tare: it shows {empty}.")
    return confirm("check:zero", "Check the scale", " ".join(words), stop=stop)


def tare_empty(scale: Scale, display: Display, vessel: Vessel) -> WeighStep:
    """The empty vessel on its scale: its weight tells it from another one."""
    empty = display.counts(vessel.tare_g)
    return confirm(
        "check:tare-oils",
        "Vessel on, tare",
        f"Set {vessel.name} on {scale.name}: the display shows {display.said(empty)}. "
        f"Press tare: it shows {display.said(0)}.",
        stop=f"Stop if the empty vessel does not show about {display.said(empty)}: it may be another one.",
        gross_text=display.text(empty),
    )


def tare_again(display: Display, on_scale_g: float) -> WeighStep:
    """Before the lye, with vessel and oils [g] on the scale."""
    return confirm(
        "check:tare-lye",
        "Tare again",
        f"Press tare: the display shows {display.said(0)}. No lye is in yet.",
        gross_text=display.text(display.counts(on_scale_g)),
    )
