"""The label of a soap: what it says, what is still open, and how it prints."""

import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from answers import label_drawings
from answers.label_open import open_of_origin, open_of_sign, open_on, signed
from answers.label_read import Source, lawful_of, origin_of, source_of
from answers.qr import modules
from answers.racks_read import today_of
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from calc.entry.declare import describe
from calc.entry.fields import Reading, check, read
from calc.entry.language import speaking, spoken, tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import number
from calc.label.claims import standing
from calc.label.composition import Bar, as_added, in_bar
from calc.label.dates import best_before
from calc.label.declared import BEST_BEFORE_MONTHS, Label, Printing
from calc.label.layout import Content, Face, Heights, filled, laid_out, sheet_of
from calc.label.listing import Listing, listing
from calc.label.names import Confirmed, name_of
from calc.label.quantity import Letters, NetQuantity, Panel, letters, net_quantity
from calc.tables.reference import constant

SQUARE_INCH_MM2 = 25.4**2


def soap_label(request: Request) -> Answer:
    """The label as it prints, what is open on it, its list in the way chosen, and its class by what is said of it."""
    asked, printing = _both(request.values)
    label, state, today = asked.value, request.state, today_of(request)
    source = source_of(printing.value, state, today)
    bar = in_bar(source.mixture, source.lost_fraction)
    found = _listed(label, printing.value, source, bar, state)
    lawful = lawful_of(source.code, label.market, state, today)
    net_g = label.net_g or lawful
    if net_g is None:
        message = tr("The net weight is missing.")
        raise InputProblems(Problem("net_g", "net-missing", message, tr("Type it, or weigh bars of the batch one by one on the cure rack.")))
    net, panel = net_quantity(net_g, _leads(request.values, label, state)), _panel(label)
    called = label.name or source.soap
    class_ = standing(label.identity, [called, label.words or "", label.claims or ""], bar.salts_of_solids_fraction)
    # 21 CFR 701.2(b), from memory: a label in the United States is in English.
    language = "en" if "us" in label.markets else spoken()
    imported, origin = origin_of(label, state, language)
    with speaking(language):
        content = _content(label, called, net, found, source, printing.value.made_on or source.made_on or today, origin)
    needed = letters(panel, net_g, label.markets)
    faces = _faces(label, content, needed)
    opened = open_on(label, source, found, faces, net, lawful, class_, panel)
    opened += open_of_origin(label, imported, origin) + open_of_sign(label, net, lawful)
    draft = tr("DRAFT") if opened else ""
    scale = label_drawings.SCREEN_LINE_MM / (printing.value.screen_line_mm or label_drawings.SCREEN_LINE_MM)
    needed_mm = max(each.needed_mm for each in faces)
    html = render(
        "soap_label.html", label=label, source=source, units=state.units, open=opened, fits=all(each.fits for each in faces), needed_mm=needed_mm,
        height_put=_height_put(request.values, needed_mm), faces=[label_drawings.face(each, _described(each), scale, draft, language) for each in faces],
        listing=found, one_percent=constant("label_list_one_percent").value, bar=bar, standing=class_,
        imported=imported, net=net, lawful_g=lawful, letters=needed, panel_in2=panel.area_in2, small_panel_in2=constant("label_small_panel_in2").value,
        low_part=constant("label_net_low_part").value, best_before_months=BEST_BEFORE_MONTHS, line=label_drawings.screen_line(scale),
        **_sheets(printing.value, label, faces, draft, language),
    )  # fmt: skip
    record = {"items": [{"kind": "label", "id": printing.value.formula, "values": _kept(request.values)}]} if request.check else None
    return Answer({"soap_label": html}, (*asked.cautions, *printing.cautions), record)


def _listed(label: Label, printing: Printing, source: Source, bar: Bar, state: State) -> Listing:
    """The list of ingredients in the way that is chosen, by the names that tables and people have."""
    confirmed = {
        str(each.get("key")): Confirmed(str(each.get("name")), str(each.get("person")), str(each.get("id") or "")) for each in state.inci
    }
    return listing(
        label.way,
        as_added(source.mixture) if label.way == "added" else bar.ingredients,
        lambda each: name_of(each, label.market, printing.formula, confirmed),
        source.allergens if "eu" in label.markets or not source.allergens_lack else {},
    )


def _faces(label: Label, content: Content, needed: Sequence[Letters]) -> tuple[Face, ...]:
    """With the largest small print that fits: at its least height nobody reads it gladly."""
    tried = [
        laid_out(content, each, label.width_mm, label.height_mm, two=label.parts == "two") for each in _heights(label, needed)
    ]
    return next((each for each in tried if all(face.fits for face in each)), tried[-1])


def _sheets(printing: Printing, label: Label, faces: Sequence[Face], draft: str, language: str) -> dict[str, Any]:
    """The sheets of paper as they print, and how many labels stand on one."""
    sheet = sheet_of(printing.paper, label.width_mm, label.height_mm)
    if len(faces) > len(sheet.places):
        message = tr("This label is too large for the paper.")
        raise InputProblems(Problem("width_mm", "over-paper", message, tr("Make it smaller, or choose the other paper.")))
    placed = filled(faces, sheet, printing.sheets or 1)
    return {"sheets": label_drawings.sheets(faces, sheet, placed, draft, language), "on_sheet": len(placed[0]) // len(faces)}


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


def _content(
    label: Label, called: str, net: NetQuantity, found: Listing, source: Source, made_on: date, origin: str | None
) -> Content:
    """The words of the label, in its language."""
    # A figure never stands on another line than its unit.
    metric, inch_pound = (each.replace(" ", "\N{NO-BREAK SPACE}") for each in (net.metric, net.inch_pound))
    quantity = metric if label.market == "eu" else f"NET WT {inch_pound} ({metric})"
    # The word that Article 19(1)(g) of Regulation (EC) 1223/2009 asks for, whatever the language.
    small = [f"Ingredients: {found.text}."]
    if label.precautions:
        small.append(" ".join(map(_sentence, label.precautions.split("\n"))))
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
    if origin is not None:
        small.append(tr("Made in {country}", country=origin))
    if label.responsible and "eu" in label.markets:
        small.append(tr("EU responsible person: {who}", who=", ".join(label.responsible.split("\n"))))
    if label.contact and "us" in label.markets:
        small.append(tr("To report a reaction: {how}", how=label.contact))
    dots = modules(source.code) if source.code else ()
    return Content(called, label.identity, label.words or "", quantity, tuple(small), dots, jar, estimated=signed(label))


def _sentence(words: str) -> str:
    words = words.strip()
    return words if words.endswith((".", "!", "?")) or not words else f"{words}."


def _described(face: Face) -> str:
    return " ".join([*(line.text for line in face.lines), *(["℮"] if face.estimated else [])])


def _height_put(values: Mapping[str, str], needed_mm: float) -> dict[str, str]:
    """What the form's height becomes for all to fit: whole millimeters, or sixteenths of an inch in decimals."""
    unit = values.get("height_mm.unit", "mm")
    per = {"mm": 1.0, "cm": 10.0, "in": 25.4}.get(unit, 1.0)
    step = {"mm": 1.0, "cm": 0.1, "in": 0.0625}.get(unit, 1.0)
    return {"height_mm": number(math.ceil(needed_mm / per / step - 1e-9) * step, 4).rstrip("0").rstrip(".")}
