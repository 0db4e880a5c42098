"""The scales of a workshop as they are judged: which limits each is held to, and which one the vessel stands on."""

from collections.abc import Mapping, Sequence

from calc.entry.fields import check
from calc.entry.language import tr
from calc.scales.weighing import Scale
from calc.workshop.equipment import ASSUMED, ScaleItem

# Of what it carries: about a tenth, a reading of everyday, with a last digit that shows the step.
READING_SHOWN = 0.0943


def scales_of(items: Sequence[ScaleItem], scheme: str) -> dict[str, tuple[Scale, ScaleItem]]:
    """The shop's scales with the limits they are held to; a plate without a class is taken as class III.

    One whose plate nobody has read may be any scale: it is held to the widest limits, those of class IIII.
    Class IIII has no row in Handbook 44's table here and is held to OIML R 76 under either scheme.
    """
    found = {}
    for entry in items:
        accuracy_class = "III" if entry.accuracy_class == "unmarked" else entry.accuracy_class
        if entry.figures == ASSUMED:
            accuracy_class = "IIII"
        held_to = "R76" if accuracy_class == "IIII" else scheme
        check(entry)
        scale = Scale(entry.name, entry.capacity_g, entry.division_g, held_to, accuracy_class, unit=entry.reads_in)
        found[entry.name] = (scale, entry)
    return found


def vessel_scale(scales: Mapping[str, tuple[Scale, ScaleItem]]) -> tuple[Scale, ScaleItem]:
    """The scale that the vessel stands on: the one of largest capacity, of two such the finer."""
    return max(scales.values(), key=lambda pair: (pair[0].capacity_g, -pair[0].division_g))


def read_back(entry: ScaleItem) -> str:
    """A scale in its own words, as somebody at it would see it.

    >>> read_back(ScaleItem(name="Floor", capacity_g=136_077.711, division_g=45.359237, reads_in="lb", accuracy_class="III"))
    'shows 28.3 lb in steps of 0.1'
    """
    display = entry.display
    reading = max(display.counts(entry.capacity_g * READING_SHOWN), display.division)
    return tr("shows {reading} in steps of {step}", reading=display.said(reading), step=display.text(display.division))
