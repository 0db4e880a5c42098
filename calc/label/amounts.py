"""What went into a batch, out of its formula or of its issued sheet, as the two lists of ingredients need it."""

import math
from collections.abc import Mapping
from typing import Any

from calc.chemistry.lye import acid_uptake_koh_g, demand_koh_g
from calc.formula.declaration import Formula
from calc.formula.sheet import OILS_G, FormulaSheet
from calc.label.composition import ExtraAdded, Mixture, OilAdded
from calc.tables.reference import additives
from calc.tables.rows import Oil


def of_formula(formula: Formula, sheet: FormulaSheet) -> Mixture:
    """A kilogram of the formula's oils, and what goes with them."""
    oils = [
        OilAdded(row.key, row.name, row.share_fraction * OILS_G, demand_koh_g(row.share_fraction * OILS_G, row.used), row.oil.kind)
        for row in sheet.oils
    ]
    extras = [_extra(row.kind, row.share_fraction * OILS_G, row.strength_fraction) for row in formula.additives]
    scent_g = formula.scent_fraction * OILS_G
    solids_g = math.fsum((OILS_G, *(extra.mass_g for extra in extras), scent_g, sheet.naoh_g, sheet.koh_g))
    return Mixture(tuple(oils), sheet.naoh_g, sheet.koh_g, sheet.batter_g - solids_g, tuple(extras), scent_g)


def of_issued(sheet: Mapping[str, Any], oils: Mapping[str, Oil]) -> Mixture:
    """One block by its issued sheet. ValueError, KeyError or TypeError where it is too old to tell.

    sheet: its pours, oils, chemistry and additives ("kind" and strength by row). oils: every known oil by key.
    """
    pours = {str(pour["key"]): pour for pour in sheet["pours"]}
    rows = zip(sheet["chemistry"]["oils"], sheet["oils"], strict=True)
    used = []
    for chemistry, named in rows:
        mass_g, key = float(pours[chemistry["pour"]]["exact_g"]), str(named["key"])
        kind = oils[key].kind if key in oils else ("wax" if chemistry["acid_value"] is not None else "triglyceride")
        used.append(OilAdded(key, str(named["name"]), mass_g, demand_koh_g(mass_g, float(chemistry["used"])), kind))
    hydroxide = {"naoh": 0.0, "koh": 0.0}
    for alkali in sheet["chemistry"]["alkalis"]:
        hydroxide[alkali["alkali"]] += float(pours[alkali["pour"]]["exact_g"]) * float(alkali["hydroxide_fraction"])
    lye_g = math.fsum(float(pour["exact_g"]) for pour in pours.values() if pour["kind"] in ("alkali", "water"))
    extras = [
        _extra(str(row["kind"]), float(pours[f"additive:{n}"]["exact_g"]), row.get("strength_fraction"))
        for n, row in enumerate(sheet["additives"])
    ]
    scent_g = float(pours["scent"]["exact_g"]) if "scent" in pours else 0.0
    return Mixture(tuple(used), hydroxide["naoh"], hydroxide["koh"], lye_g - math.fsum(hydroxide.values()), tuple(extras), scent_g)


def _extra(kind: str, mass_g: float, strength_fraction: float | None) -> ExtraAdded:
    additive = additives()[kind]
    if not additive.takes_alkali:
        return ExtraAdded(kind, additive.label, mass_g)
    strength = 1.0 if strength_fraction is None else strength_fraction
    return ExtraAdded(kind, additive.label, mass_g, strength * mass_g, acid_uptake_koh_g(additive, mass_g, strength))

