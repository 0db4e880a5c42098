"""The label of a soap: what it says, what is still open, and how it prints."""

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import Any

from answers import label_drawings
from answers.qr import modules
from answers.racks_read import racks_of, today_of
from answers.rendering import render
from answers.request import Answer, Request
from answers.scent_read import scent_in_bar
from answers.state import UNREADABLE, State
from answers.tasks.label import lawful_g
from calc.entry.declare import describe
from calc.entry.fields import Reading, check, read
from calc.entry.language import speaking, spoken, tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import number
from calc.formula.declaration import AdditiveShare
from calc.formula.sheet import formula_sheet
from calc.label.amounts import of_formula, of_issued
from calc.label.claims import Standing, standing
from calc.label.composition import Mixture, as_added, in_bar
from calc.label.dates import best_before
from calc.label.declared import Label, Printing
from calc.label.layout import Content, Face, Heights, filled, laid_out, net_is_low, sheet_of
from calc.label.listing import Listing, listing
from calc.label.names import Confirmed, name_of
from calc.label.quantity import Letters, NetQuantity, Panel, letters, net_quantity
from calc.tables.reference import constant

SQUARE_INCH_MM2 = 25.4**2


@dataclass(frozen=True)
class Source:
    """What a label is made of: amounts, allergens by name with their shares of the bar, what they lack, and the batch."""

    soap: str
    mixture: Mixture
    allergens: Mapping[str, float | None]
    allergens_lack: tuple[str, ...]
    code: str
    made_on: date | None
    old_soap: bool


def soap_label(request: Request) -> Answer:
    """The label as it prints, what is open on it, its list in the way chosen, and its class by what is said of it."""
    asked, printing = _both(request.values)
    label, state, today = asked.value, request.state, today_of(request)
    source = _source(printing.value, state)
    lost, lost_known = _lost_fraction(source, state, today)
    bar = in_bar(source.mixture, lost)
    confirmed = {str(e.get("key")): Confirmed(str(e.get("name")), str(e.get("person"))) for e in state.inci}
    style = {"us": "us", "eu": "eu", "both": "both"}[label.market]
    told = source.allergens if "eu" in label.markets or not source.allergens_lack else {}
    found = listing(
        label.way, as_added(source.mixture) if label.way == "added" else bar.ingredients,
        lambda each: name_of(each, style, printing.value.formula, confirmed), told,
    )  # fmt: skip
    lawful = _lawful(source.code, label.market, state, today)
    net_g = label.net_g or lawful
    if net_g is None:
        message = tr("The net weight is missing.")
        raise InputProblems(Problem("net_g", "net-missing", message, tr("Type it, or weigh bars of the batch one by one on the cure rack.")))
    net = net_quantity(net_g, _leads(request.values, label, state))
    made_on = printing.value.made_on or source.made_on or today
    called = label.name or source.soap
    class_ = standing(label.identity, [called, label.words or "", label.claims or ""], bar.salts_of_solids_fraction)
    panel = _panel(label)
    needed = letters(panel, net_g, label.markets)
    sizes = _heights(label, needed)
    # 21 CFR 701.2(b), from memory: a label in the United States is in English.
    language = "en" if "us" in label.markets else spoken()
    with speaking(language):
        content = _content(label, called, net, found, source, made_on)
    # The largest small print that fits: at its least height nobody reads it gladly.
    tried = (laid_out(content, each, label.width_mm, label.height_mm, two=label.parts == "two") for each in sizes)
    faces = next((each for each in tried if all(face.fits for face in each)), None) or laid_out(
        content, sizes[-1], label.width_mm, label.height_mm, two=label.parts == "two"
    )
    opened = _open(label, source, found, faces, net, lawful, class_, panel)
    sheet = sheet_of(printing.value.paper, label.width_mm, label.height_mm)
    if not sheet.places or (len(faces) > len(sheet.places)):
        message = tr("This label is too large for the paper.")
        raise InputProblems(Problem("width_mm", "over-paper", message, tr("Make it smaller, or choose the other paper.")))
    placed = filled(faces, sheet, printing.value.sheets or 1)
    draft = tr("DRAFT") if opened else ""
    scale = label_drawings.SCREEN_LINE_MM / (printing.value.screen_line_mm or label_drawings.SCREEN_LINE_MM)
    html = render(
        "soap_label.html", label=label, source=source, net=net, listing=found, standing=class_, letters=needed, panel_in2=panel.area_in2,
        faces=[label_drawings.face(each, _described(each), scale, draft, language) for each in faces], open=opened, lost=lost, lost_known=lost_known,
        line=label_drawings.screen_line(scale), sheets=label_drawings.sheets(faces, sheet, placed, draft, language), on_sheet=len(placed[0]),
        of_faces=len(faces), paper=printing.value.paper, lawful_g=lawful, bar=bar, one_percent=constant("label_list_one_percent").value,
        needed_mm=max(each.needed_mm for each in faces), fits=all(each.fits for each in faces), units=state.units, formula=printing.value.formula,
        height_put=_height_put(request.values, max(each.needed_mm for each in faces)),
    )  # fmt: skip
    record = {"items": [{"kind": "label", "id": printing.value.formula, "values": _kept(request.values)}]} if request.check else None
    return Answer({"soap_label": html}, (*asked.cautions, *printing.cautions), record)


def _both(values: Mapping[str, str]) -> tuple[Reading[Label], Reading[Printing]]:
    """Both halves of the form; the problems of both at once."""
    problems: list[Problem] = []
    found: list[Any] = []
    for cls in (Label, Printing):
        try:
            found.append(read(cls, values))
        except InputProblems as faults:
            problems.extend(faults.problems)
    if problems:
        raise InputProblems(*problems)
    check(found[0].value)
    return found[0], found[1]


def _kept(values: Mapping[str, str]) -> dict[str, str]:
    names = {info.name for info in describe(Label)}
    return {key: text for key, text in values.items() if key.removesuffix(".unit") in names}


def _source(printing: Printing, state: State) -> Source:
    if printing.batch is not None:
        return _of_batch(printing, state)
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
    return Source(formula.name or entry.id, of_formula(formula, sheet), shares, lack, "", None, old_soap=False)


def _of_batch(printing: Printing, state: State) -> Source:
    sheet = next((each for each in state.label_sheets if each.get("code") == printing.batch), None)
    if sheet is None:
        raise InputProblems(Problem("batch", "sheet-missing", tr("This batch sheet isn’t on this device."), tr("Choose another batch, or none.")))
    if sheet.get("formula") != printing.formula:
        message = tr("This batch was made from another formula.")
        raise InputProblems(Problem("batch", "other-formula", message, tr("Choose that formula, or another batch.")))
    old = sheet.get("set_aside") or {}
    scent = sheet.get("scent") or {}
    try:
        mixture = of_issued({**sheet, "additives": _additives(sheet)}, state.oils())
        own: Mapping[str, float] = scent.get("allergens") or {}
        names = [str(name) for name in (old.get("label") or scent.get("label") or ())]
        shares = {name: float(own[name]) * float(scent["load_fraction"]) if name in own else None for name in names}
        lack = tuple(str(name) for name in (old.get("label_incomplete") or scent.get("label_incomplete") or ()))
        made_on = date.fromisoformat(str(sheet["local"])[:10])
    except UNREADABLE as unreadable:
        message = tr("This sheet is too old to tell what a label needs.")
        raise InputProblems(Problem("batch", "sheet-too-old", message, tr("Choose no batch: the label then goes by the formula."))) from unreadable
    return Source(str(sheet.get("soap", "")), mixture, shares, lack, str(sheet["code"]), made_on, old_soap=bool(old.get("lots")))


def _additives(sheet: Mapping[str, Any]) -> list[dict[str, Any]]:
    """What the formula of an issued sheet said of its additives, by the texts that the sheet froze."""
    texts: Mapping[str, str] = sheet.get("typed") or {}
    numbers = sorted({int(key.split(".")[1]) for key in texts if key.startswith("additives.")})
    rows = [read(AdditiveShare, texts, f"additives.{n}.").value for n in numbers if texts.get(f"additives.{n}.kind")]
    return [{"kind": row.kind, "strength_fraction": row.strength_fraction} for row in rows]


def _lost_fraction(source: Source, state: State, today: date) -> tuple[float, bool]:
    """What bars have lost of their weight, and whether anybody weighed or said it: by the rack, by Workshop, else the middle of what is usual."""
    for batch in racks_of(state, today).batches:
        if batch.code == source.code and len(batch.weighings) > 1:
            first, last = batch.weighings[0].bar_g, batch.weighings[-1].bar_g
            return min(max(1.0 - last / first, 0.0), 0.9), True
    with suppress(InputProblems):
        if state.stored("shop") and (loss := state.shop().cure_loss_fraction) is not None:
            return loss, True
    return (constant("cure_loss_usual_low").value + constant("cure_loss_usual_high").value) / 2.0, False


def _lawful(code: str, market: str, state: State, today: date) -> float | None:
    """The lowest of what the blocks of a batch allow on a label [g], of those whose bars were weighed one by one."""
    if not code:
        return None
    found = [lawful_g(batch, state, market, today) for batch in racks_of(state, today).batches if batch.code == code]
    return min((each for each in found if each is not None), default=None)


def _leads(values: Mapping[str, str], label: Label, state: State) -> str:
    """From which figure the other is worked out: the one that was typed, else the one that the workshop weighs in."""
    if label.net_g is None:
        return "oz" if state.units == "us" else "g"
    return "oz" if values.get("net_g.unit") in ("oz", "lb") else "g"


def _panel(label: Label) -> Panel:
    if label.shape == "label" or label.panel_height_mm is None or label.panel_width_mm is None:
        return Panel("flat", label.height_mm, label.width_mm)
    return Panel(label.shape, label.panel_height_mm, label.panel_width_mm, label.panel_height_mm * label.panel_width_mm)


def _heights(label: Label, needed: Sequence[Letters]) -> list[Heights]:
    """The heights of letters to try, from comfortable small print down to the least that the law allows."""
    surface_in2 = label.width_mm * label.height_mm / SQUARE_INCH_MM2 * (2 if label.parts == "two" else 1)
    low = surface_in2 < constant("label_small_surface_in2").value
    of_list = constant("label_ingredient_small_mm" if low else "label_ingredient_mm").value
    us = max((each.height_mm for each in needed if each.law == "us"), default=0.0)
    eu = max((each.height_mm for each in needed if each.law == "eu"), default=0.0)
    return [Heights(us, eu, times * of_list) for times in (2.0, 1.75, 1.5, 1.25, 1.0)] if low else [Heights(us, eu, of_list)]


def _content(label: Label, called: str, net: NetQuantity, found: Listing, source: Source, made_on: date) -> Content:
    """The words of the label, in its language."""
    quantity = net.metric if label.market == "eu" else f"NET WT {net.inch_pound} ({net.metric})"
    # The word that Article 19(1)(g) of Regulation (EC) 1223/2009 asks for, whatever the language.
    small = [f"Ingredients: {found.text}."]
    jar = ""
    if label.keeps_months is not None:
        until = best_before(made_on, label.keeps_months)
        if until is not None:
            small.append(tr("Best used before the end of {month}", month=f"{until[0]:02}/{until[1]}"))
        elif label.opened_months is not None:
            jar = tr("{n}M", n=label.opened_months)
    if source.code:
        small.append(tr("Batch {code}", code=source.code))
    small.append(", ".join(label.maker.split("\n")))
    if label.responsible and "eu" in label.markets:
        small.append(tr("EU responsible person: {who}", who=", ".join(label.responsible.split("\n"))))
    if label.contact and "us" in label.markets:
        small.append(tr("To report a reaction: {how}", how=label.contact))
    dots = modules(source.code) if source.code else ()
    return Content(called, label.identity, label.words or "", quantity, tuple(small), dots, jar)


def _open(
    label: Label, source: Source, found: Listing, faces: Sequence[Face], net: NetQuantity, lawful: float | None, class_: Standing, panel: Panel
) -> list[str]:
    """What keeps it a draft, each in a line."""
    eu = "eu" in label.markets
    us_cosmetic = "us" in label.markets and class_.us != "soap"
    low = constant("label_net_low_part").value
    misplaced = (
        "us" in label.markets
        and panel.area_in2 > constant("label_small_panel_in2").value
        and not net_is_low(faces[0], low)
    )
    told = [
        (not all(face.fits for face in faces), tr("It doesn't all fit.")),
        (misplaced and all(face.fits for face in faces), tr("The net weight doesn't fit into the lowest 30 % of the front.")),
        (bool(found.unsure), tr("Ingredient names nobody has looked up yet: {n}.", n=len(found.unsure))),
        (eu and bool(source.allergens_lack), tr("The list of allergens is incomplete. Get the supplier's statement for: {names}.", names=", ".join(source.allergens_lack))),
        (source.old_soap, tr("Set-aside soap went into this batch: what it brought isn't in this list.")),
        (lawful is not None and net.binding_g > lawful + 1e-6, tr("The bars weighed allow less than this net weight.")),
        (class_.us == "drug", tr("Words that make it a drug.")),
        (eu and not label.responsible, tr("The EU wants a responsible person with an address.")),
        (eu and not source.code, tr("The EU wants a batch code: choose the batch.")),
        (eu and label.keeps_months is None, tr("How long it keeps isn't said.")),
        (eu and (label.keeps_months or 0) > constant("label_best_before_months").value and label.opened_months is None,
         tr("Over 30 months, the months after opening are wanted.")),
        (us_cosmetic and not label.contact, tr("A cosmetic in the US needs a US address, phone or web address for reactions.")),
    ]  # fmt: skip
    return [words for holds, words in told if holds]


def _described(face: Face) -> str:
    return " ".join(line.text for line in face.lines)


def _height_put(values: Mapping[str, str], needed_mm: float) -> dict[str, str]:
    """What the form's height becomes for all to fit: whole millimeters, or sixteenths of an inch in decimals."""
    unit = values.get("height_mm.unit", "mm")
    per = {"mm": 1.0, "cm": 10.0, "in": 25.4}.get(unit, 1.0)
    step = {"mm": 1.0, "cm": 0.1, "in": 0.0625}.get(unit, 1.0)
    return {"height_mm": number(math.ceil(needed_mm / per / step - 1e-9) * step, 4).rstrip("0").rstrip(".")}
