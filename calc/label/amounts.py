"""What went into a batch, out of its formula, of its issued sheet, or of what was really weighed, as the two lists of ingredients need it."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from calc.chemistry.lye import acid_uptake_koh_g, demand_koh_g
from calc.entry.language import tr
from calc.formula.declaration import Formula
from calc.formula.sheet import OILS_G, FormulaSheet
from calc.label.composition import ExtraAdded, Mixture, OilAdded
from calc.tables.fragrance import fragrance_allergens
from calc.tables.reference import additives
from calc.tables.rows import Oil


def of_formula(formula: Formula, sheet: FormulaSheet) -> Mixture:
    """A kilogram of the formula's oils, and what goes with them."""
    oils = [
        OilAdded(row.key, row.name, row.share_fraction * OILS_G, demand_koh_g(row.share_fraction * OILS_G, row.used), row.oil.kind)
        for row in sheet.oils
    ]
    extras = _numbered(_extra(row.kind, row.share_fraction * OILS_G, row.strength_fraction) for row in formula.additives)
    scent_g = formula.scent_fraction * OILS_G
    solids_g = math.fsum((OILS_G, *(extra.mass_g for extra in extras), scent_g, sheet.naoh_g, sheet.koh_g))
    return Mixture(tuple(oils), sheet.naoh_g, sheet.koh_g, sheet.batter_g - solids_g, tuple(extras), scent_g)


@dataclass(frozen=True)
class Weighed:
    """What really went into blocks, by pour: so much of it a block on average [g]; and which blocks those are."""

    by_pour_g: Mapping[str, float] = field(default_factory=dict)
    blocks: tuple[int, ...] = ()


def weighed_in(used: Sequence[Mapping[str, Any]]) -> Weighed:
    """By the records of closed blocks. used: "n" of the block, "pour" and "g" of each pour that was weighed."""
    blocks = tuple(sorted({int(row["n"]) for row in used}))
    pours = dict.fromkeys(str(row["pour"]) for row in used)
    return Weighed({key: math.fsum(float(row["g"]) for row in used if row["pour"] == key) / len(blocks) for key in pours}, blocks)


def of_issued(sheet: Mapping[str, Any], oils: Mapping[str, Oil], weighed: Weighed | None = None) -> Mixture:
    """One block as it was weighed, or else by its issued sheet. ValueError, KeyError or TypeError where that is too old to tell.

    sheet: its pours, oils, chemistry and additives ("kind" and strength by row). oils: every known oil by key. weighed: of some
    block at least; what was never weighed then is not in it, whatever the sheet has.
    """
    pours = {str(pour["key"]): pour for pour in sheet["pours"]}
    if weighed is not None and weighed.blocks:
        pours = {key: {**pour, "exact_g": weighed.by_pour_g.get(key, 0.0)} for key, pour in pours.items()}
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
    extras = _numbered(
        _extra(str(row["kind"]), float(pours[f"additive:{n}"]["exact_g"]), row.get("strength_fraction"))
        for n, row in enumerate(sheet["additives"])
    )
    scent_g = float(pours["scent"]["exact_g"]) if "scent" in pours else 0.0
    mixture = Mixture(tuple(used), hydroxide["naoh"], hydroxide["koh"], lye_g - math.fsum(hydroxide.values()), tuple(extras), scent_g)
    if not mixture.makes_soap:
        raise ValueError("no soap comes of these amounts")
    return mixture


def named_above(shares: Mapping[str, float], load_fraction: float) -> tuple[str, ...]:
    """The allergens that a rinsed-off product must name. shares: of the scent, by label name; load_fraction: the scent's of the bar."""
    # Above means above; a share typed in per cent can lie a hair above its decimal value.
    above = {each.label_name: each.above_fraction * (1.0 + 1e-9) for each in fragrance_allergens()}
    return tuple(name for name, share in shares.items() if name in above and share * load_fraction > above[name])


def _numbered(extras: Iterable[ExtraAdded]) -> list[ExtraAdded]:
    """Each with which one of its kind it is."""
    so_far = Counter[str]()
    found = []
    for each in extras:
        so_far[each.key] += 1
        found.append(replace(each, nth=so_far[each.key]))
    return found


def _extra(kind: str, mass_g: float, strength_fraction: float | None) -> ExtraAdded:
    additive = additives()[kind]
    if not additive.takes_alkali:
        return ExtraAdded(kind, tr(additive.label), mass_g)
    strength = 1.0 if strength_fraction is None else strength_fraction
    return ExtraAdded(kind, tr(additive.label), mass_g, strength * mass_g, acid_uptake_koh_g(additive, mass_g, strength))

