"""The scales of a workshop as they are judged: which limits each is held to, and which one the vessel stands on."""

from collections.abc import Mapping, Sequence

from calc.entry.fields import check
from calc.scales.weighing import Scale
from calc.workshop.equipment import ScaleItem


def scales_of(items: Sequence[ScaleItem], scheme: str) -> dict[str, tuple[Scale, ScaleItem]]:
    """The shop's scales with the limits they are held to; a plate without a class is taken as class III.

    Class IIII has no row in Handbook 44's table here and is held to OIML R 76 under either scheme.
    """
    found = {}
    for entry in items:
        accuracy_class = "III" if entry.accuracy_class == "unmarked" else entry.accuracy_class
        held_to = "R76" if accuracy_class == "IIII" else scheme
        check(entry)
        scale = Scale(entry.name, entry.capacity_g, entry.division_g, held_to, accuracy_class, unit=entry.reads_in)
        found[entry.name] = (scale, entry)
    return found


def vessel_scale(scales: Mapping[str, tuple[Scale, ScaleItem]]) -> tuple[Scale, ScaleItem]:
    """The scale that the vessel stands on: the one of largest capacity, of two such the finer."""
    return max(scales.values(), key=lambda pair: (pair[0].capacity_g, -pair[0].division_g))
