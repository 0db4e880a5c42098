"""What a label is made of, as the workshop and its records tell it."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import Any

from answers.racks_read import racks_of
from answers.scent_read import scent_in_bar
from answers.state import UNREADABLE, State
from answers.tasks.label import lawful_g
from calc.entry.fields import read
from calc.entry.language import speaking, tr
from calc.entry.problems import InputProblems, Problem
from calc.formula.declaration import AdditiveShare
from calc.formula.sheet import formula_sheet
from calc.label.amounts import named_above, of_formula, of_issued, weighed_in
from calc.label.composition import Mixture, in_bar
from calc.label.declared import Label, Printing
from calc.label.origin import country, imported_into
from calc.tables.reference import constant


@dataclass(frozen=True)
class Source:
    """What a label is made of: amounts, allergens by name with their shares of the bar, what they lack, and the batch.

    lost_fraction: what its bars lose in cure, and whether anybody has weighed or said that. weighed: the blocks whose weighings the
    amounts are; none of a formula, and of a sheet that still is only a plan.
    """

    soap: str
    mixture: Mixture
    lost_fraction: float
    lost_known: bool
    allergens: Mapping[str, float | None]
    allergens_lack: tuple[str, ...]
    code: str
    made_on: date | None
    old_soap: bool
    weighed: tuple[int, ...] = ()


def source_of(printing: Printing, state: State, today: date) -> Source:
    """By the batch that is chosen, else by the formula as it stands."""
    if printing.batch is not None:
        return _of_batch(printing, state, today)
    entry, formula = state.formula(printing.formula, "formula")
    sheet = formula_sheet(formula, state.oils(), state.lots_in_use())
    scent = scent_in_bar(formula, sheet.batter_g, state, "formula")
    shares: dict[str, float | None] = {}
    lack: tuple[str, ...] = ()
    if scent is not None:
        shares = {each.allergen.label_name: each.share_fraction for each in scent.label.names if each.named}
        lack = scent.label.incomplete
    elif formula.scent_fraction > 0.0:
        lack = (tr("the scent: the formula doesn't name it"),)
    return Source(formula.name or entry.id, of_formula(formula, sheet), *_lost("", state, today), shares, lack, "", None, old_soap=False)


def _of_batch(printing: Printing, state: State, today: date) -> Source:
    sheet = next((each for each in state.label_sheets if each.get("code") == printing.batch), None)
    if sheet is None:
        raise InputProblems(Problem("batch", "sheet-missing", tr("This batch sheet isn’t on this device."), tr("Choose another batch, or none.")))
    if sheet.get("formula") != printing.formula:
        message = tr("This batch was made from another formula.")
        raise InputProblems(Problem("batch", "other-formula", message, tr("Choose that formula, or another batch.")))
    old = sheet.get("set_aside") or {}
    scent = sheet.get("scent") or {}
    try:
        stated = {**sheet, "additives": _additives(sheet)}
        weighed = weighed_in(sheet.get("used") or ())
        mixture = of_issued(stated, state.oils(), weighed)
        own: Mapping[str, float] = scent.get("allergens") or {}
        lost, lost_known = _lost(str(sheet["code"]), state, today)
        load = float(scent.get("load_fraction") or 0.0)
        if load and lost_known:
            load = mixture.scent_g / in_bar(mixture, lost).total_g
        elif load and weighed.blocks:
            # The sheet's load, which reckons with the loss that is on the safe side, moved as far as the scent moved its share of the batter.
            planned = of_issued(stated, state.oils())
            load *= (mixture.scent_g / mixture.total_g) / (planned.scent_g / planned.total_g)
        names = dict.fromkeys([*map(str, old.get("label") or scent.get("label") or ()), *named_above(own, load)])
        shares = {name: float(own[name]) * load if name in own else None for name in names}
        lack = tuple(str(name) for name in (old.get("label_incomplete") or scent.get("label_incomplete") or ()))
        made_on = date.fromisoformat(str(sheet["local"])[:10])
    except UNREADABLE as unreadable:
        message = tr("This sheet is too old to tell what a label needs.")
        raise InputProblems(Problem("batch", "sheet-too-old", message, tr("Choose no batch: the label then goes by the formula."))) from unreadable
    return Source(
        str(sheet.get("soap", "")), mixture, lost, lost_known, shares, lack, str(sheet["code"]), made_on, bool(old.get("lots")), weighed.blocks
    )


def _additives(sheet: Mapping[str, Any]) -> list[dict[str, Any]]:
    """What the formula of an issued sheet said of its additives, by the texts that the sheet froze."""
    texts: Mapping[str, str] = sheet.get("typed") or {}
    numbers = sorted({int(key.split(".")[1]) for key in texts if key.startswith("additives.")})
    rows = [read(AdditiveShare, texts, f"additives.{n}.").value for n in numbers if texts.get(f"additives.{n}.kind")]
    return [{"kind": row.kind, "strength_fraction": row.strength_fraction} for row in rows]


def _lost(code: str, state: State, today: date) -> tuple[float, bool]:
    """What bars have lost of their weight, and whether anybody weighed or said it: by the rack, by Workshop, else the middle of what is usual."""
    for batch in racks_of(state, today).batches:
        if batch.code == code and len(batch.weighings) > 1:
            first, last = batch.weighings[0].bar_g, batch.weighings[-1].bar_g
            return min(max(1.0 - last / first, 0.0), 0.9), True
    with suppress(InputProblems):
        if state.stored("shop") and (loss := state.shop().cure_loss_fraction) is not None:
            return loss, True
    return (constant("cure_loss_usual_low").value + constant("cure_loss_usual_high").value) / 2.0, False


def lawful_of(code: str, market: str, state: State, today: date) -> float | None:
    """The lowest of what the blocks of a batch allow on a label [g], of those whose bars were weighed one by one."""
    if not code:
        return None
    found = [lawful_g(batch, state, market, today) for batch in racks_of(state, today).batches if batch.code == code]
    return min((each for each in found if each is not None), default=None)


def origin_of(label: Label, state: State, language: str) -> tuple[tuple[str, ...] | None, str | None]:
    """Into which of its markets it's imported, None where Workshop doesn't say where it's made; and the country, where one has to be named."""
    shop = None
    with suppress(InputProblems):
        shop = state.shop() if state.stored("shop") else None
    if shop is None or shop.made_where is None:
        return None, None
    imported = imported_into(label.markets, shop.made_where)
    with speaking(language):
        return imported, country(shop.made_where, shop.made_in) if imported else None
