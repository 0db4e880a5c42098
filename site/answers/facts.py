"""What follows from one workshop item, in a line or two; and its line in the workshop's list."""

import math
from collections.abc import Mapping, Sequence

from answers.state import State
from calc.batch.pours import source_of
from calc.batch.size import bar_size_mm
from calc.chemistry.oils import saponification_used
from calc.entry.declare import FieldInfo, describe
from calc.entry.fields import check, read
from calc.entry.language import all_of, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import interval, length, mass, number, percent, percent_down, points, room, volume
from calc.entry.units import show_unit, typed_units
from calc.formula.chemistry import certificate_of
from calc.mould.bars import bar_mass_g
from calc.mould.scaling import fill_volume_ml
from calc.scales.weighing import minimum_load_g
from calc.scent.irritants import irritation
from calc.scent.limits import rules_for, scent_limits
from calc.scent.material import Part, of_lot, parts_of
from calc.scent.papers import paper_cautions
from calc.scent.supplier_list import supplier_list
from calc.tables.fragrance import essential_oils
from calc.tables.reference import constant
from calc.workshop.equipment import ASSUMED, Cutter, Mould, ScaleItem, Vessel
from calc.workshop.habits import Habits
from calc.workshop.kinds import KINDS
from calc.workshop.lots import AlkaliLot, OilLot
from calc.workshop.own_oils import OwnOil
from calc.workshop.safety_place import SafetyPlace, dialled, own_limits
from calc.workshop.scales import read_back, scales_of
from calc.workshop.scents import Scent, ScentLot

Facts = list[tuple[str, str]]


def facts(value: object, state: State) -> tuple[Facts, tuple[Caution, ...]]:
    """What the values of an item come to. Raises InputProblems for what only the whole item shows."""
    of_the_whole = check(value)
    us = state.units == "us"
    if isinstance(value, Mould):
        return _mould(value, "gal" if us else "l"), _assumed(value.figures, tr("Measure it before you pour: if it is smaller, the batter runs over."))
    if isinstance(value, ScaleItem):
        scheme = state.shop().tolerance_scheme if state.stored("shop") else "R76"
        ((scale, _),) = scales_of([value], scheme).values()
        assumed = _assumed(value.figures, tr("It counts as a coarse scale, and the superfat is less sure, until you read its plate."))
        return [
            (tr("In its own words"), read_back(value)),
            (tr("Least it should weigh"), mass(minimum_load_g(scale), value.reads_in)),
            (tr("Limit of error there"), mass(scale.limit_steps()[0][1] * scale.interval_g, value.reads_in)),
        ], (*of_the_whole, *assumed)
    if isinstance(value, Vessel):
        room_ml = value.capacity_ml * constant("room_to_mix").value
        assumed = _assumed(value.figures, tr("Set it empty on the floor scale at your first batch and put in what that shows."))
        return [(tr("Batter it takes at most"), room(room_ml, state.units))], assumed
    if isinstance(value, Cutter):
        bar_mm = bar_size_mm(value)
        unit = "in" if us else "mm"
        found = [("Bar", " × ".join(length(side, unit) for side in bar_mm))]
        if state.stored("shop"):
            low_g, high_g = (bar_mass_g(bar_mm, density) for density in state.shop().set_densities_g_per_ml)
            found.append(("Fresh bar weighs about", interval(low_g, high_g, lambda mass_g: mass(mass_g, "oz" if us else "g"))))
        return found, ()
    if isinstance(value, AlkaliLot):
        return _alkali_lot(value)
    if isinstance(value, OilLot):
        return _oil_lot(value, state)
    if isinstance(value, OwnOil):
        return _own_oil(value), ()
    if isinstance(value, Scent):
        return _limits(parts_of(value, state.scent_materials(value)), state)
    if isinstance(value, ScentLot):
        return _scent_lot(value, state)
    if isinstance(value, Habits):
        return [("Safety steps", "always there, confirmed by name")], ()
    if isinstance(value, SafetyPlace):
        found = [("The card dials", dialled(value.emergency_number))]
        if value.poison_centre:
            found.append(("For the poison centre", dialled(value.poison_centre)))
        found.append(("Limits held more strictly than built in", number(own_limits(value))))
        return [*found, ("Points of your own", number(len(value.own)))], of_the_whole
    return [], ()


def _mould(mould: Mould, unit: str) -> Facts:
    filled = fill_volume_ml(mould.length_mm, mould.width_mm, mould.fill_height_mm)
    brim = fill_volume_ml(mould.length_mm, mould.width_mm, mould.height_mm)
    return [(tr("Holds at the usual fill"), volume(filled, unit)), (tr("Holds to the brim"), volume(brim, unit))]


def _assumed(figures: str | None, why: str) -> tuple[Caution, ...]:
    return (Caution("figures", "assumed", tr("Assumed for now, and each batch sheet says so."), why),) if figures == ASSUMED else ()


def _alkali_lot(lot: AlkaliLot) -> tuple[Facts, tuple[Caution, ...]]:
    hydroxide, off = source_of(lot).hydroxide_fraction, points(lot.stated.plus_minus_fraction)
    found = [(tr("Hydroxide counted"), tr("{percent}, give or take {points}", percent=percent(hydroxide, 2), points=off))]
    if lot.stated.known:
        return found, ()
    reason = tr("The superfat is less sure by about {points} points until you know it.", points=off)
    return found, (Caution("assay_fraction", "assumed", tr("Assumed for now, and each batch sheet says so."), reason),)


def _oil_lot(lot: OilLot, state: State) -> tuple[Facts, tuple[Caution, ...]]:
    oil = state.oils().get(lot.oil)
    if oil is None:
        raise InputProblems(Problem("oil", "oil-unknown", tr("This oil is not known."), tr("Choose one from the list.")))
    used = saponification_used(oil, certificate_of(lot))
    found = [
        ("Saponification value reckoned with", f"{number(used.used, 1)} mg KOH/g"),
        ("It may lie from", f"{number(used.low, 1)} to {number(used.high, 1)} mg KOH/g"),
        ("Source", "; ".join(used.sources)),
    ]
    if not used.outside_range:
        return found, ()
    reason = tr("It is used all the same. Check that it is the right oil and the right unit.")
    message = tr(
        "The certificate's value lies outside the table's range for {oil}, {low} to {high} mg KOH/g.",
        oil=tr(oil.name), low=number(oil.saponification_low), high=number(oil.saponification_high),
    )
    return found, (Caution("saponification_value", "certificate-outside-range", message, reason),)


def _scent_lot(lot: ScentLot, state: State) -> tuple[Facts, tuple[Caution, ...]]:
    found, cautions = _limits([Part(of_lot(lot, essential_oils()), 1.0)], state)
    listed = supplier_list(lot.list_text or "")
    if listed.read:
        found.append((f"Read from its list: {len(listed.read)}", "; ".join(f"{tr(line.name)} {line.percent} %" for line in listed.read)))
    if listed.absent:
        found.append(("Lines that say there is none", number(listed.absent)))
    return found, cautions


def _limits(parts: Sequence[Part], state: State) -> tuple[Facts, tuple[Caution, ...]]:
    rule_set = _rule_set(state)
    limits, cautions = scent_limits(parts, rule_set), paper_cautions(parts, rule_set, "")
    if limits.prohibited:
        return [("It may not be used", ", ".join(limits.prohibited))], cautions
    if limits.unknown:
        return [("Not known", ", ".join(limits.unknown))], cautions
    found = [("Limit", "nothing known limits it")]
    if limits.binding is not None:
        most = percent_down(limits.binding.load_fraction, 2)
        found = [("Tightest limit, of the finished bar", most), ("Because of", limits.binding.what)]
    if limits.memory_alone:
        found.append(("Known from memory alone", ", ".join(limits.memory_alone)))
    if limits.laxer is not None:
        found.append(("Another source would allow", percent_down(limits.laxer.load_fraction, 2)))
    if limits.asked is not None:
        found.append(("Ask the supplier: it may be", f"{percent_down(limits.asked.load_fraction, 2)}, because of {limits.asked.what}"))
    skin = irritation(parts)
    if skin is not None:
        found.append(("Undiluted on skin", f"{'burns' if skin.burns else 'irritates'}, because of {all_of(skin.names)}"))
    return found, cautions


def _rule_set(state: State) -> str:
    shop = state.shop() if state.stored("shop") else None
    return rules_for(None, None) if shop is None else rules_for(shop.market, shop.scent_rules)


def _own_oil(oil: OwnOil) -> Facts:
    listed = math.fsum(row.share_fraction for row in oil.fatty_acids)
    middle = (oil.saponification_low_value + oil.saponification_high_value) / 2.0
    found = [("Middle of the range", f"{number(middle, 1)} mg KOH/g"), ("Fatty acids listed", percent(listed))]
    if oil.ester == "wax":
        found.insert(1, ("Lye takes for sure", f"{number(oil.acid_value or 0.0, 1)} mg KOH/g"))
    return found


def _shown_unit(info: FieldInfo, values: Mapping[str, str]) -> str:
    unit = values.get(f"{info.name}.unit") or info.offered[0]
    return show_unit(unit) if unit in typed_units(info.kind) else unit


def details(kind: str, values: Mapping[str, str], state: State) -> list[str]:
    """The item's measures as typed, with what follows from them, for the workshop's list."""
    declaration = KINDS[kind][0]
    typed = [
        f"{info.label}: {values[info.name]} {_shown_unit(info, values)}".rstrip()
        for info in describe(declaration)
        if info.type == "measure" and values.get(info.name)
    ]
    if kind == "oil_lot":
        oil = state.oils().get(values.get("oil", ""))
        typed.insert(0, oil.name if oil else "an oil that is not known")
        typed.append("in use" if values.get("in_use") == "yes" else "not in use")
    try:
        found, cautions = facts(read(declaration, values).value, state)
    except InputProblems as faults:
        return [*typed, f"Needs attention: {faults.problems[0].message}"]
    return [*typed, *(f"{label}: {value}" for label, value in found if kind != "oil_lot"), *(c.message for c in cautions)]
