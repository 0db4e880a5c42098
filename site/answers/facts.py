"""What follows from one workshop item, in a line or two; and its line in the workshop's list.

What the set-up asks about stands in Spanish too, the rest in English alone; what a problem or a caution says goes through `tr` all the same.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import Any

from answers.state import State
from calc.batch.pours import source_of
from calc.batch.size import bar_size_mm
from calc.chemistry.oils import SaponificationUsed, saponification_used, surely_taken
from calc.entry.declare import FieldInfo, describe
from calc.entry.fields import check, read
from calc.entry.language import all_of, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import interval, length, mass, number, percent, percent_down, points, room, size, volume
from calc.entry.units import show_unit, typed_units
from calc.formula.chemistry import certificate_of, oil_of
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
from calc.workshop.frames import BarFrame, LoafFrame
from calc.workshop.habits import Habits
from calc.workshop.kinds import KINDS
from calc.workshop.lots import AlkaliLot, OilLot
from calc.workshop.own_oils import OwnOil
from calc.workshop.safety_place import SafetyPlace, dialled, own_limits
from calc.workshop.scales import read_back, scales_of
from calc.workshop.scents import Scent, ScentLot
from calc.workshop.tanks import Tank

Facts = list[tuple[str, str]]
Found = tuple[Facts, tuple[Caution, ...]]


def facts(value: object, state: State) -> Found:
    """What the values of an item come to. Raises InputProblems for what only the whole item shows."""
    of_the_whole = check(value)
    found, cautions = _FOUND[type(value)](value, state) if type(value) in _FOUND else ([], ())
    return found, (*of_the_whole, *cautions)


def _mould(mould: Mould, state: State) -> Found:
    unit = "gal" if state.units == "us" else "l"
    filled = fill_volume_ml(mould.length_mm, mould.width_mm, mould.fill_height_mm)
    brim = fill_volume_ml(mould.length_mm, mould.width_mm, mould.height_mm)
    assumed = _assumed(mould.figures, tr("Measure it before you pour: if it's smaller, the batter runs over."))
    return [(tr("Holds at the usual fill"), volume(filled, unit)), (tr("Holds to the brim"), volume(brim, unit))], assumed


def _assumed(figures: str | None, why: str) -> tuple[Caution, ...]:
    return (Caution("figures", "assumed", tr("Assumed for now, and each batch sheet says so."), why),) if figures == ASSUMED else ()


def _vessel(vessel: Vessel, state: State) -> Found:
    room_ml = vessel.capacity_ml * constant("room_to_mix").value
    assumed = _assumed(vessel.figures, tr("At your first batch, set it empty on the floor scale and enter what it shows."))
    return [(tr("Most batter it takes"), room(room_ml, state.units))], (*_too_small(vessel, state), *assumed)


def _too_small(vessel: Vessel, state: State) -> tuple[Caution, ...]:
    """Said where the vessel is chosen, not first at a batch sheet: that it holds no whole block of any mould."""
    fills = []
    for entry in state.stored("mould"):
        with suppress(InputProblems):  # a mould that can't be read is told at its own form
            mould = read(Mould, entry.values).value
            fills.append((fill_volume_ml(mould.length_mm, mould.width_mm, mould.fill_height_mm), mould.name))
    if not fills or vessel.capacity_ml > min(fills)[0]:
        return ()
    fill_ml, name = min(fills)
    message = tr("{mould} takes {fill} at its usual fill: more than this vessel holds.", mould=name, fill=room(fill_ml, state.units))
    return (Caution("capacity_ml", "smaller-than-mould", message, tr("Choose a bigger vessel, or make smaller blocks.")),)


def _scale(item: ScaleItem, state: State) -> Found:
    scheme = state.shop().tolerance_scheme if state.stored("shop") else "R76"
    ((scale, _),) = scales_of([item], scheme).values()
    assumed = _assumed(item.figures, tr("It counts as a coarse scale, and the superfat is less sure, until you read its plate."))
    return [
        (tr("Its display reads like this"), read_back(item)),
        (tr("Smallest amount to weigh on it"), mass(minimum_load_g(scale), item.reads_in)),
        (tr("Limit of error there"), mass(scale.limit_steps()[0][1] * scale.interval_g, item.reads_in)),
    ], assumed


def _cutter(cutter: Cutter, state: State) -> Found:
    bar_mm, us = bar_size_mm(cutter), state.units == "us"
    found = [("Bar", " × ".join(length(side, "in" if us else "mm") for side in bar_mm))]
    if state.stored("shop"):
        low_g, high_g = (bar_mass_g(bar_mm, density) for density in state.shop().set_densities_g_per_ml)
        found.append(("Fresh bar weighs about", interval(low_g, high_g, lambda mass_g: mass(mass_g, "oz" if us else "g"))))
    return found, ()


def _frame(frame: LoafFrame | BarFrame, state: State) -> Found:
    least, most = min(frame.spaces_mm) - frame.kerf_mm, max(frame.spaces_mm) - frame.kerf_mm
    return [(tr("Pieces come out"), interval(least, most, lambda mm: size(mm, state.units)))], ()


def _tank(tank: Tank, state: State) -> Found:
    return [(tr("Runs out by itself"), room(tank.volume_ml - tank.dead_ml, state.units))], ()


def _alkali_lot(lot: AlkaliLot, state: State) -> Found:
    hydroxide, off = source_of(lot).hydroxide_fraction, points(lot.stated.plus_minus_fraction)
    found = [(tr("Hydroxide used"), tr("{percent}, give or take {points}", percent=percent(hydroxide, 2), points=off))]
    if lot.stated.known:
        return found, ()
    reason = tr("The superfat is less sure by about {points} points until you know it.", points=off)
    return found, (Caution("assay_fraction", "assumed", tr("Assumed for now, and each batch sheet says so."), reason),)


def _oil_lot(lot: OilLot, state: State) -> Found:
    oil = state.oils().get(lot.oil)
    if oil is None:
        raise InputProblems(Problem("oil", "oil-unknown", tr("This oil isn't known."), tr("Choose one from the list.")))
    used = saponification_used(oil, certificate_of(lot))
    if not used.outside_range:
        return _saponification(used), ()
    message = tr(
        "The certificate's value is outside the table's range for {oil}, {low} to {high} mg KOH/g.",
        oil=tr(oil.name), low=number(oil.saponification_low), high=number(oil.saponification_high),
    )
    reason = tr("It's used anyway. Check that it's the right oil and the right unit.")
    return _saponification(used), (Caution("saponification_value", "certificate-outside-range", message, reason),)


def _own_oil(own: OwnOil, state: State) -> Found:
    oil = oil_of(own, "")
    found, surely = _saponification(saponification_used(oil)), surely_taken(oil)
    if surely is not None:
        found.append(("Lye takes for sure", f"{number(surely, 1)} mg KOH/g"))
    listed = math.fsum(row.share_fraction for row in own.fatty_acids)
    return [*found, ("Fatty acids listed", percent(listed))], ()


def _saponification(used: SaponificationUsed) -> Facts:
    return [
        ("Saponification value used", f"{number(used.used, 1)} mg KOH/g"),
        ("It may be from", f"{number(used.low, 1)} to {number(used.high, 1)} mg KOH/g"),
        ("Source", "; ".join(used.sources)),
    ]


def _scent(scent: Scent, state: State) -> Found:
    return _limits(parts_of(scent, state.scent_materials(scent)), state)


def _scent_lot(lot: ScentLot, state: State) -> Found:
    found, cautions = _limits([Part(of_lot(lot, essential_oils()), 1.0)], state)
    listed = supplier_list(lot.list_text or "")
    if listed.read:
        found.append((f"Read from its list: {len(listed.read)}", "; ".join(f"{tr(line.name)} {line.percent} %" for line in listed.read)))
    if listed.absent:
        found.append(("Lines that say none", number(listed.absent)))
    return found, cautions


def _limits(parts: Sequence[Part], state: State) -> Found:
    # Who has no workshop yet has not said where the soap is sold: the strictest set holds.
    shop = state.shop() if state.stored("shop") else None
    rule_set = rules_for(shop.market, shop.scent_rules) if shop else rules_for(None, None)
    limits, cautions = scent_limits(parts, rule_set), paper_cautions(parts, rule_set, "")
    if limits.prohibited:
        return [("It may not be used", ", ".join(limits.prohibited))], cautions
    if limits.unknown:
        return [("Not known", ", ".join(limits.unknown))], cautions
    found = [("Limit", "no known limit")]
    if limits.binding is not None:
        most = percent_down(limits.binding.load_fraction, 2)
        found = [("Tightest limit, of the finished bar", most), ("Because of", limits.binding.what)]
    if limits.memory_alone:
        found.append(("Known only from memory", ", ".join(limits.memory_alone)))
    if limits.laxer is not None:
        found.append(("Another source would allow", percent_down(limits.laxer.load_fraction, 2)))
    if limits.asked is not None:
        found.append(("Ask the supplier: it may be", f"{percent_down(limits.asked.load_fraction, 2)}, because of {limits.asked.what}"))
    skin = irritation(parts)
    if skin is not None:
        found.append(("Undiluted on skin", f"{'burns' if skin.burns else 'irritates'}, because of {all_of(skin.names)}"))
    return found, cautions


def _floor(habits: Habits, state: State) -> Found:
    return [("Safety steps", "always there, confirmed by name")], ()


def _safety(place: SafetyPlace, state: State) -> Found:
    found = [("The card dials", dialled(place.emergency_number))]
    if place.poison_centre:
        found.append(("For the poison center", dialled(place.poison_centre)))
    found.append(("Limits stricter than built in", number(own_limits(place))))
    return [*found, ("Your own points", number(len(place.own)))], ()


# Of what is missing here nothing follows.
_FOUND: dict[type, Callable[[Any, State], Found]] = {
    Mould: _mould,
    Vessel: _vessel,
    Tank: _tank,
    Cutter: _cutter,
    LoafFrame: _frame,
    BarFrame: _frame,
    ScaleItem: _scale,
    Habits: _floor,
    SafetyPlace: _safety,
    AlkaliLot: _alkali_lot,
    OilLot: _oil_lot,
    OwnOil: _own_oil,
    Scent: _scent,
    ScentLot: _scent_lot,
}


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
        typed.insert(0, oil.name if oil else "an unknown oil")
        typed.append("in use" if values.get("in_use") == "yes" else "not in use")
    try:
        found, cautions = facts(read(declaration, values).value, state)
    except InputProblems as faults:
        return [*typed, f"Needs attention: {faults.problems[0].message}"]
    # An oil lot's line stays short: of many lots only what sets them apart.
    follows = [] if kind == "oil_lot" else [f"{label}: {value}" for label, value in found]
    return [*typed, *follows, *(caution.message for caution in cautions)]
