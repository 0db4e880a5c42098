"""The pitcher of lye that a held-back pour is topped up from."""

from collections.abc import Mapping, Sequence

from calc.batch.pours import Pour, lye_key
from calc.batch.sheet import BatchSheet
from calc.entry.language import tr
from calc.entry.shown import about, jugful
from calc.entry.units import convert
from calc.steps.keys import RESERVE
from calc.steps.pour_names import within
from calc.steps.safety import drips, lye_wear, splash
from calc.steps.step import WeighStep, confirm

# Nobody runs short at the top-up, and what is left goes back.
AMPLE = 2.0


def held(sheet: BatchSheet) -> list[Pour]:
    """The lyes that a part is held back of."""
    return [pour for pour in sheet.pours if pour.kind == "alkali" and pour.in_vessel and len(pour.portions) > 1]


def amounts(pours: Sequence[Pour], lye_per_ml: Mapping[str, float], units: str) -> list[str]:
    """Twice what the plan leaves of each lye, by the display that tops up and as a pitcher holds it.

    lye_per_ml: density of each premixed lye [g/ml], "naoh" or "koh"; where it is not known, the weight stands alone.
    """
    densities = {lye_key(alkali): density for alkali, density in lye_per_ml.items()}
    return [_amount(pour, [each.name for each in pours], densities.get(pour.key), units) for pour in pours]


def reserve(sheet: BatchSheet, units: str) -> WeighStep:
    """The pitcher drawn, labelled and covered before the lye is poured."""
    parts = amounts(held(sheet), sheet.lye_per_ml, units)
    # 29 CFR 1910.1200(f)(6): what holds a dangerous chemical says so.
    if len(parts) == 1:
        draw = tr("Draw {amount} into a labeled pitcher, and cover it.", amount=parts[0])
    else:
        draw = tr("Draw {amounts} into a labeled pitcher each, and cover it.", amounts=tr(" and ").join(parts))
    return confirm(
        RESERVE,
        tr("Draw the reserve of lye"),
        tr("{draw} This reserve tops up the pour. {wear}", draw=draw, wear=lye_wear()),
        stop=f"{drips()} {splash()}",
    )


def _amount(pour: Pour, beside: Sequence[str], density_g_per_ml: float | None, units: str) -> str:
    rest = pour.portions[1]
    ample_g = AMPLE * rest.grams
    mass, name = about(convert(ample_g, "g", rest.display.unit), rest.display.unit), within(pour.name, pour.scent, beside)
    if density_g_per_ml is None:
        return tr("about {mass} of {pour}", mass=mass, pour=name)
    return tr("about {mass} of {pour} ({volume})", mass=mass, pour=name, volume=jugful(ample_g / density_g_per_ml, units))
