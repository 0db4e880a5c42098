"""What an issued batch freezes: its inputs, its amounts, and which rules and reference data made them.

A record is never changed; what comes later names it. It stays readable and weighable without any calculation.
"""

import hashlib
import math
from collections.abc import Collection, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from calc.batch.order import BatchSetting, Issue
from calc.batch.pours import Portion, Pour, additive_key, alkali_sources, lye_key, oil_key, soap_key, stated_as
from calc.batch.sheet import BatchSheet
from calc.batch.size import proportions
from calc.batch.soap import SoapsTaken, soap_may_be_issued
from calc.chemistry.lye import acid_value_of
from calc.cut.planned import PlannedCut
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.scent.batch import scent_may_be_issued
from calc.steps.after_pour import after_steps
from calc.steps.frozen import (
    FrozenAcid,
    FrozenAlkali,
    FrozenBars,
    FrozenChemistry,
    FrozenDisplay,
    FrozenPortion,
    FrozenPour,
    FrozenSoap,
    frozen,
)
from calc.steps.order_of_work import weigh_steps
from calc.steps.words import all_in_each_language
from calc.tables.reference import additives, digests
from calc.workshop.equipment import ASSUMED

# Raised whenever a change in calc/ can change an amount; a record says under which one it was made.
RULES_VERSION = "6"


def reference_digest() -> str:
    """One SHA-256 over the digests of all reference files, by name."""
    lines = "".join(f"{name} {digest}\n" for name, digest in sorted(digests().items()))
    return hashlib.sha256(lines.encode()).hexdigest()


def next_batch_code(prefix: str, now: datetime, taken: Collection[str]) -> str:
    """Prefix, date and the first free number of that day: QM-261125-1."""
    day = f"{prefix}-{now:%y%m%d}-"
    number = 1
    while f"{day}{number}" in taken:
        number += 1
    return f"{day}{number}"


def batch_code(issue: Issue, prefix: str, now: datetime, taken: Collection[str]) -> str:
    """The code typed, or the next free one. Raises InputProblems when the typed one is taken or can't stand."""
    if issue.code is None:
        return next_batch_code(prefix, now, taken)
    if not all(char.isascii() and (char.isalnum() or char in "-._") for char in issue.code):
        raise InputProblems(
            Problem(
                "code",
                "code-characters",
                tr("A batch code takes plain letters, digits, hyphens and dots."),
                tr("Leave out other characters, or leave the field empty."),
            )
        )
    if issue.code in taken:
        raise InputProblems(
            Problem(
                "code",
                "code-taken",
                tr("Batch {code} has already been issued.", code=issue.code),
                tr("Use another code, like {code}.", code=next_batch_code(prefix, now, taken)),
            )
        )
    return issue.code


def may_be_issued(sheet: BatchSheet, issue: Issue) -> None:
    """Raises InputProblems when free lye is possible, or the scent over its limit, and nobody says why it is made all the
    same; and whatever is said for a scent that is prohibited. So it does for a mould that nobody has measured, and for
    set-aside soap that asks first.
    """
    scent_may_be_issued(sheet.scent, issue.reason)
    soap_may_be_issued(sheet.soap, sheet.scent, issue.reason)
    if sheet.mould.figures == ASSUMED and issue.reason is None:
        raise InputProblems(
            Problem(
                "reason",
                "mould-not-measured",
                tr("Nobody has measured the inside of {mould}: the batter may run over.", mould=sheet.mould.name),
                tr("Measure it and enter that in Workshop, or write down why you're going ahead."),
            )
        )
    if sheet.free_lye_possible and issue.reason is None:
        raise InputProblems(
            Problem(
                "reason",
                "reason-missing",
                tr("The superfat may be below 0 %: the bars could have free lye."),
                tr("Raise the superfat, get a certificate, or write down why you're going ahead."),
            )
        )


def replaced_code(issue: Issue, code: str, taken: Collection[str]) -> str | None:
    """The code of the sheet in whose place this one is issued. Raises InputProblems where there is none of that code."""
    if issue.replaces is not None and (issue.replaces not in taken or issue.replaces == code):
        raise InputProblems(
            Problem(
                "replaces",
                "no-such-sheet",
                tr("There is no other sheet {code} on this device.", code=issue.replaces),
                tr("Type the code of the sheet that this one replaces, or leave the field empty."),
            )
        )
    return issue.replaces


def issued_record(
    sheet: BatchSheet, setting: BatchSetting, issue: Issue, code: str, inputs: Mapping[str, Any]
) -> dict[str, Any]:
    """The record of an issued batch as plain JSON values. inputs: every string it was made from."""
    return {
        "code": code,
        "issued_by": issue.issued_by,
        "reason": issue.reason,
        "replaces": issue.replaces,
        "inputs": dict(inputs),
        "rules_version": RULES_VERSION,
        "reference_digest": reference_digest(),
        "blocks": sheet.blocks,
        "mould": asdict(sheet.mould),
        "vessel": asdict(sheet.vessel),
        "scales": [asdict(scale) for scale in setting.scales],
        "pours": [_pour(pour) for pour in sheet.pours],
        "oils": [
            {"key": oil.key, "name": oil.name, "lot": oil.lot, "saponification_value": oil.used, "low": oil.low,
             "high": oil.high, "basis": oil.basis}
            for oil in sheet.oils
        ],
        "scent": None if sheet.scent is None else sheet.scent.record(),
        # Only where some goes in: what it brings.
        **({} if sheet.soap is None else {"set_aside": sheet.soap.record()}),
        "batter_g": sheet.batter_g,
        "fill_height_mm": sheet.fill_height_mm,
        "superfat": asdict(sheet.superfat),
        "superfat_stated_fraction": sheet.superfat_stated_fraction,
        "cautions": [asdict(caution) for caution in sheet.cautions],
        "steps": all_in_each_language(lambda: [frozen(step) for step in weigh_steps(sheet, setting)]),
        "after": all_in_each_language(lambda: [frozen(step) for step in after_steps(sheet, setting)]),
        "planned": _planned(sheet.cut),
        "chemistry": _chemistry(sheet, setting),
    }  # fmt: skip


def _planned(cut: PlannedCut | None) -> FrozenBars | None:
    if cut is None:
        return None
    way, soap = cut.way, cut.block.soap
    return {
        "total": way.bars,
        "bar_mm": list(cut.bar_mm),
        "bar_g": list(cut.bar_g),
        "tools": list(way.names),
        "loaves": way.loaves,
        "layers": None if way.stack is None else way.stack.layers,
        "trim_g": cut.trim_g,
        "set_g_per_ml": soap.set_g_per_ml.used,
        "own_blocks": soap.own_blocks,
    }


def _pour(pour: Pour) -> FrozenPour:
    return {
        "key": pour.key,
        "kind": pour.kind,
        "name": pour.name,
        "scent": pour.scent,
        "additive": pour.additive,
        "phase": pour.phase,
        "lot": pour.lot,
        "exact_g": pour.exact_g,
        "target_g": pour.target_g,
        "portions": [_portion(portion) for portion in pour.portions],
        "scale": pour.scale,
        "unit": pour.display.unit,
        "division_g": pour.division_g,
        "limit_g": pour.limit_g,
        "in_vessel": pour.in_vessel,
        "running_g": None if pour.running is None else pour.running.grams,
    }


def _portion(portion: Portion) -> FrozenPortion:
    unit, decimals, division = portion.display.unit, portion.display.decimals, portion.display.division
    display: FrozenDisplay = {"unit": unit, "decimals": decimals, "division": division}
    return {"scale": portion.scale, "display": display, "count": portion.count}


def _chemistry(sheet: BatchSheet, setting: BatchSetting) -> FrozenChemistry:
    """What turns grams poured into superfat and litres, by pour: a correction at the pot reads it without the tables."""
    sources = alkali_sources(setting)
    parts = proportions(setting, sheet.oils, sources)
    lye_g = math.fsum(pour.exact_g for pour in sheet.pours if pour.kind in ("water", "alkali"))
    alkalis: list[FrozenAlkali] = []
    for alkali, source in sources.items():
        lot = setting.alkali_lots[alkali]
        alkalis.append(
            {
                "pour": lye_key(alkali),
                "name": lot.code,
                "alkali": alkali,
                "form": "solid" if lot.form == "solid" else "premixed",
                "hydroxide_fraction": source.hydroxide_fraction,
                "relative": [(stated_as(lot), lot.stated.plus_minus_fraction / source.hydroxide_fraction)],
            }
        )
    acids: list[FrozenAcid] = []
    for n, row in enumerate(setting.formula.additives):
        acid_value = acid_value_of(additives()[row.kind])
        if acid_value > 0.0:
            strength = 1.0 if row.strength_fraction is None else row.strength_fraction
            acids.append(
                {
                    "pour": additive_key(n),
                    "name": additives()[row.kind].label,
                    "acid_value": acid_value,
                    "strength_fraction": strength,
                }
            )
    found: FrozenChemistry = {
        "oils": [
            {"pour": oil_key(n), "name": oil.name, "used": oil.used, "low": oil.low, "high": oil.high,
             "acid_value": oil.surely_taken, "density_g_per_ml": density}
            for n, (oil, (_, density)) in enumerate(zip(sheet.oils, parts.oils, strict=True))
        ],
        "alkalis": alkalis,
        "acids": acids,
        "lye_density_g_per_ml": parts.lye_density_g_per_ml,
        "lye_strength_fraction": (sheet.naoh_g + sheet.koh_g) / lye_g,
        "other_density_g_per_ml": sheet.batter_g / sheet.batter_ml,  # counted at the batter's own density
    }  # fmt: skip
    if sheet.soap is not None:
        found["soaps"] = _soaps(sheet.soap)
    return found


def _soaps(taken: SoapsTaken) -> list[FrozenSoap]:
    """What old soap does to superfat and litres, by pour."""
    return [
        {
            "pour": soap_key(n),
            "name": lot.lot,
            "demand_low_koh_per_g": lot.demand_low_koh_per_g,
            "demand_high_koh_per_g": lot.demand_high_koh_per_g,
            "superfat": {
                "value": lot.superfat_fraction, "low": lot.superfat_low_fraction, "high": lot.superfat_high_fraction,
            },
            "density_g_per_ml": taken.density_g_per_ml,
        }
        for n, (lot, _) in enumerate(taken.lots)
    ]  # fmt: skip
