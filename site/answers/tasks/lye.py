"""How strong the lye is, what that means for the sheets that wait and for the night; and how lye is made."""

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, urlencode

from answers import lye_drawings
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State, Stored
from answers.tasks.tanks import shown_tank
from calc.batch.pours import source_of
from calc.chemistry.enthalpy import Part
from calc.chemistry.water import crystallisation_c
from calc.cure.declared import By
from calc.entry.fields import check, read
from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import degrees_apart, number, percent, plain_weight, quantity, room, warmth
from calc.scales.weighing import limit_of_error_g
from calc.tables.reference import constant
from calc.tables.rows import ValueRange
from calc.tanks.dilution import CannotReach, TopUp, top_up
from calc.tanks.dissolving import (
    Additions,
    Peak,
    additions,
    hottest_c,
    koh_additions,
    material_bears_c,
    peak,
    usable_after,
)
from calc.tanks.heating import tank_loss_w_per_k
from calc.tanks.liquid import Liquid, liquid, no_easier_than_bought
from calc.tanks.lye_question import LyeToMake
from calc.tanks.lye_volume import lye_in_tank_ml
from calc.tanks.spread import Spread
from calc.tanks.strength import (
    CAUSES,
    Instrument,
    Measured,
    OutsideTable,
    Weighed,
    by_hydrometer,
    by_jug,
    by_jug_of_water,
    by_titration,
    carbonate_reads_as,
    reading_usual,
    told_apart,
)
from calc.tanks.strength_question import (
    JUG,
    JUG_OF_WATER,
    LYE_TEMPERATURE,
    MADE_FOR_C,
    TITRATION,
    StrengthQuestion,
)
from calc.workshop.equipment import ScaleItem
from calc.workshop.kinds import KINDS
from calc.workshop.lots import AlkaliLot
from calc.workshop.scales import scales_of
from calc.workshop.shop import Shop
from calc.workshop.tanks import Tank

READING_OF = {"baume": "baume", "gravity": "gravity", "density": "density_g_per_ml", "twaddell": "twaddell"}
# What each way of measuring can't do without, in the order in which it is asked.
NEEDED = {
    **{method: (name, "temperature_c") for method, name in READING_OF.items()},
    JUG: ("lye_net_g", "jug_ml", "temperature_c", "scale"),
    JUG_OF_WATER: ("lye_net_g", "water_net_g", "jug_water_c", "temperature_c", "scale"),
    TITRATION: ("sample_g", "acid_ml", "acid_mol_per_l", "scale"),
}
# Further than this from what a tank or lot had, a strength is rather a slip (common practice, no source).
FAR_APART = 0.05
# No lye that is kept shows so few degrees; as specific gravity it may be any.
LIKE_GRAVITY = (1.0, 2.0)
NOT_OF_THE_ORDER = ("code", "issued_by", "reason", "replaces")
CURVE = tuple(percent / 100.0 for percent in range(20, 53))


@dataclass(frozen=True)
class Waiting:
    """An issued sheet of which nothing is weighed yet, and what it takes the lye for."""

    code: str
    soap: str
    blocks: int
    reckoned_fraction: float
    stated_fraction: float
    then_fraction: float  # its superfat with the lye as it is
    formula_changed: bool
    again: str  # what opens the batch form as it was filled in


def lye_strength(request: Request) -> Answer:
    """Strength with its interval, the sheets that reckon with another one, and whether it stays liquid."""
    reading = read(StrengthQuestion, request.values)
    question, state = reading.value, request.state
    lot = None if question.lot is None else state.read_item("alkali_lot", AlkaliLot, question.lot, "lot", KINDS["alkali_lot"][1])
    tank = None if question.tank is None else state.read_item("tank", Tank, question.tank, "tank", KINDS["tank"][1])
    alkali = _alkali(question, lot)
    missing = [name for name in NEEDED[question.method] if getattr(question, name) is None]
    measured = None if missing else _measured(question, state, alkali)
    kept = None if lot is None else source_of(lot).hydroxide_fraction
    now = measured.fraction if measured else kept
    unsure = measured.half_width_fraction if measured else lot.stated.plus_minus_fraction if lot else None
    holds = None if question.tank is None else shown_tank(question.tank, request).contents.strength
    before = {name: fraction for name, fraction in ((tank.name if tank else "", holds.fraction if holds else None), (lot.code if lot else "", kept)) if fraction is not None}
    cautions = (*reading.cautions, *_slips(question, measured, before), *_cautions(question, measured, alkali, state))
    html = render(
        "lye_strength.html",
        question=question,
        measured=measured,
        missing=missing,
        causes=CAUSES,
        lot=lot,
        tank=tank,
        kept=kept,
        alkali=alkali,
        waiting=[] if lot is None or now is None else _waiting(question.lot, now, told_apart(unsure), state),
        is_kept=measured is None,
        now=now,
        liquid=None if now is None else liquid(alkali, now),
        no_easier=now is not None and alkali == "naoh" and no_easier_than_bought(now),
        picture=_picture(alkali, now, question.coldest_c, state.units),
        carbonate=carbonate_reads_as(),
        strong=constant("strong_lye_from").value / 100.0,
        syrupy_c=constant("bought_lye_syrupy").value,
        potash=constant("koh_solubility_0c").value,
        cautions=cautions,
        units=state.units,
    )
    return Answer({"lye_strength": html}, cautions, _record(request, question, measured, missing) if request.check else None)


def _alkali(question: StrengthQuestion, lot: AlkaliLot | None) -> str:
    if lot is not None and question.alkali not in (None, lot.alkali):
        message = tr("{lot} is a lot of the other caustic.", lot=lot.code)
        raise InputProblems(Problem("alkali", "other-alkali", message, tr("Choose another lot, or leave the caustic to it.")))
    return question.alkali or (lot.alkali if lot else "naoh")


def _measured(question: StrengthQuestion, state: State, alkali: str) -> Measured:
    if question.method == TITRATION:
        return _titrated(question, state, alkali)
    off_c, at_c = constant("thermometer_off").value, question.temperature_c or 0.0
    try:
        if question.method in READING_OF:
            instrument = Instrument(question.method, question.modulus or "", MADE_FOR_C[question.made_for or "20"])
            shown = getattr(question, READING_OF[question.method])
            return by_hydrometer(alkali, instrument, shown, question.reads_to or reading_usual(question.method), at_c, off_c)
        lye = _weighed(question.lye_net_g, "lye_net_g", question, state)
        if question.method == JUG:
            volume_ml = question.jug_ml or 0.0
            return by_jug(alkali, lye, volume_ml, constant("jug_mark_unsure").value * volume_ml, at_c, off_c)
        water = _weighed(question.water_net_g, "water_net_g", question, state)
        return by_jug_of_water(alkali, lye, water, question.jug_water_c or 0.0, at_c, off_c)
    except OutsideTable as outside:
        raise InputProblems(_outside(outside, question, state.units)) from outside


def _titrated(question: StrengthQuestion, state: State, alkali: str) -> Measured:
    sample = _weighed(question.sample_g, "sample_g", question, state)
    first_ml, all_ml = question.acid_ml or 0.0, question.acid_all_ml
    if all_ml is not None and not first_ml <= all_ml < 2.0 * first_ml:
        message = tr("The second color change comes after the first, at less than twice the acid.")
        raise InputProblems(Problem("acid_all_ml", "second-change", message, tr("Check both readings of the burette.")))
    found = by_titration(alkali, sample, first_ml, question.acid_mol_per_l or 0.0, all_ml)
    if found.fraction >= 1.0:
        message = tr("That’s more hydroxide than the sample weighs.")
        raise InputProblems(Problem("sample_g", "more-than-all", message, tr("Check the sample, the acid and its strength.")))
    return found


def _weighed(mass_g: float | None, field: str, question: StrengthQuestion, state: State) -> Weighed:
    item = state.read_item("scale", ScaleItem, question.scale, "scale", "scale")
    shop: Shop = state.shop()
    ((scale, _),) = scales_of([item], shop.tolerance_scheme).values()
    try:
        return Weighed(mass_g or 0.0, limit_of_error_g(scale, mass_g or 0.0), scale.division_g)
    except ValueError as too_much:
        message = tr("{scale} doesn't carry that much.", scale=item.name)
        raise InputProblems(Problem(field, "over-capacity", message, tr("Choose another scale, or check the weight."))) from too_much


def _outside(outside: OutsideTable, question: StrengthQuestion, units: str) -> Problem:
    field = READING_OF.get(question.method, "lye_net_g")
    said = {"density": quantity(outside.density_g_per_ml, "g/ml", 3), "at": warmth(question.temperature_c or 0.0, units)}
    if outside.light:
        message = tr("That’s {density} at {at}: lighter than water.", **said)
        return Problem(field, "lighter-than-water", message, tr("Check which hydrometer it is, the reading and the temperature."))
    message = tr("That’s {density} at {at}: heavier than 50 % lye, where the tables end.", **said)
    remedy = tr("Check the reading and the temperature. For lye that strong, stir a sample into its own weight of water, let it cool, measure that and double the percent.")
    return Problem(field, "beyond-table", message, remedy)


def _slips(question: StrengthQuestion, measured: Measured | None, before: Mapping[str, float]) -> Iterator[Caution]:
    """What looks like a slip: a specific gravity typed as degrees, or a strength far from what was there. before: by tank or lot."""
    field = READING_OF.get(question.method)
    shown = None if field is None else getattr(question, field)
    if field is not None and question.method in ("baume", "twaddell") and shown is not None and LIKE_GRAVITY[0] <= shown < LIKE_GRAVITY[1]:
        message = tr("{reading}: did you mean specific gravity?", reading=number(shown, 3))
        yield Caution(field, "like-gravity", message, tr("Then choose “Specific gravity” and type it there: as degrees this would be almost water."))
    for name, fraction in before.items():
        if measured is not None and abs(measured.fraction - fraction) > FAR_APART:
            message = tr("{now} is a long way from the {before} of {name}.", now=percent(measured.fraction), before=percent(fraction), name=name)
            yield Caution(field or "", "far-apart", message, tr("Before you keep it, check what you measured with, stir the tank, and measure again."))


def _cautions(question: StrengthQuestion, measured: Measured | None, alkali: str, state: State) -> tuple[Caution, ...]:
    if measured is None or question.temperature_c is None or alkali != "naoh":
        return ()
    point_c = crystallisation_c(measured.fraction)
    if question.temperature_c > point_c:
        return ()
    message = tr("{percent} lye starts to crystallize below {at}.", percent=percent(measured.fraction), at=warmth(point_c, state.units))
    return (Caution("temperature_c", "crystals", message, tr("What’s still liquid isn’t the tank’s strength: warm it, stir, and measure again.")),)


def _waiting(lot: str | None, now_fraction: float, apart: float, state: State) -> list[Waiting]:
    """Sheets that nobody has begun, whose lye of this lot is not of this strength. apart: from which difference on it isn't."""
    found = []
    for sheet in state.unstarted:
        # What another build has stored may lack any of it.
        with suppress(AttributeError, KeyError, TypeError, ValueError, ZeroDivisionError):
            order: Mapping[str, str] = sheet["order"]
            for alkali in sheet["alkalis"]:
                reckoned = float(alkali["hydroxide_fraction"])
                if alkali["form"] != "premixed" or order.get(f"{alkali['alkali']}_lot") != lot or abs(reckoned - now_fraction) <= apart:
                    continue
                superfat = float(sheet["superfat"])
                found.append(
                    Waiting(
                        str(sheet["code"]), str(sheet["soap"]), int(sheet["blocks"]), reckoned, superfat,
                        1.0 - (1.0 - superfat) * now_fraction / reckoned, _changed(sheet["formula"], state), _again(sheet["code"], order),
                    )
                )  # fmt: skip
    return found


def _changed(formula: Mapping[str, Any], state: State) -> bool:
    stored: Stored | None = next((each for each in state.stored("formula") if each.id == formula["id"]), None)
    return stored is None or stored.revision != formula["revision"]


def _again(code: str, order: Mapping[str, str]) -> str:
    """The part of the batch form's address that fills it in as it was, naming the sheet to be replaced."""
    values = {name: text for name, text in order.items() if name not in (*NOT_OF_THE_ORDER, "formula") and text}
    return f"#{quote(order['formula'])}?{urlencode({**values, 'replaces': code})}"


def _picture(alkali: str, now: float | None, room_c: float | None, units: str) -> Any:
    if alkali != "naoh":
        return None
    curve = [(each, crystallisation_c(each)) for each in CURVE]
    lye = None if now is None else (now, crystallisation_c(now))
    described = tr("Where caustic soda lye crystallizes, from 20 to 52 %.")
    if lye:
        said = tr("{percent} lye: below {at}.", percent=percent(lye[0]), at=warmth(lye[1], units))
        described = f"{described} {said}"
    return lye_drawings.crystals(curve, lye, room_c, lambda at_c: warmth(at_c, units), described)


def _record(request: Request, question: StrengthQuestion, measured: Measured | None, missing: list[str]) -> dict[str, Any]:
    """The measurement for the tank's record, and its strength for the lot that batch sheets reckon with."""
    person = read(By, request.values).value.person
    if measured is None:
        raise InputProblems(Problem(missing[0], "missing", tr("The strength hasn’t been measured yet."), tr("Type what’s still missing.")))
    if question.tank is None and question.lot is None:
        raise InputProblems(Problem("tank", "nowhere-to-keep", tr("There’s nowhere to keep it."), tr("Choose the tank, or the lot of premixed lye.")))
    record: dict[str, Any] = {}
    if question.tank is not None:
        typed = {name: text for name, text in request.values.items() if text != "" and name != "person"}
        record = {
            "kind": "tank_strength", "subject": f"contents:{question.tank}",
            "fields": {"person": person, "strength_fraction": measured.fraction, "low_fraction": measured.low_fraction,
                       "high_fraction": measured.high_fraction, "method": question.method, "values": typed},
        }  # fmt: skip
    if question.lot is not None:
        record["items"] = [{"kind": "alkali_lot", "id": question.lot, "values": _lot_values(question, measured, request.state)}]
    return record


def _lot_values(question: StrengthQuestion, measured: Measured, state: State) -> dict[str, str]:
    """The lot as stored, with this strength; what a titration of both changes found is hydroxide alone."""
    values = dict(state.find("alkali_lot", question.lot, "lot", KINDS["alkali_lot"][1]).values)
    told = {"strength_fraction": measured.fraction, "plus_minus_fraction": measured.half_width_fraction}
    for name, fraction in told.items():
        values |= {name: number(100.0 * fraction, 2), f"{name}.unit": "%"}
    if measured.carbonate_fraction is not None:
        values["carbonate_fraction"] = ""
    try:
        check(read(AlkaliLot, values).value)
    except InputProblems as faults:
        first = faults.problems[0]
        raise InputProblems(Problem("lot", first.code, first.message, first.remedy)) from faults
    return values


def make_lye(request: Request) -> Answer:
    """What goes in, in which order, how hot it gets, with which waits, and how long until it may be used."""
    reading = read(LyeToMake, request.values)
    question, state = reading.value, request.state
    check(question)
    lot = None if question.lot is None else state.read_item("alkali_lot", AlkaliLot, question.lot, "lot", KINDS["alkali_lot"][1])
    tank = None if question.tank is None else state.read_item("tank", Tank, question.tank, "tank", KINDS["tank"][1])
    made = _made(question, lot, tank, state)
    cautions = (*reading.cautions, *_warmth_untold(question, made, state.units))
    html = render(
        "make_lye.html", question=question, tank=tank, made=made, units=state.units, cautions=cautions,
        peak_range=ValueRange(made.peak.low_c, made.peak.high_c, "°C", "", ""), rise_said=degrees_apart(constant("portion_rise_most").value), wait_s=constant("portion_wait_usual").value,
    )  # fmt: skip
    return Answer({"make_lye": html}, cautions)


def _warmth_untold(question: LyeToMake, made: "Made", units: str) -> tuple[Caution, ...]:
    if not question.have_g or question.have_c is not None:
        return ()
    message = tr("The lye in it counts as being at room temperature, {room}.", room=warmth(made.room_c, units))
    return (Caution("have_c", "warmth-untold", message, tr("Warmer lye ends up that much hotter: read it and type it.")),)


@dataclass(frozen=True)
class Made:
    """Lye as it is made: amounts [g], heat, portions, vessel and waits [s]. What is not known is None."""

    alkali: str
    solid: bool
    source_fraction: float
    source_g: float
    water_g: float
    water_c: float
    room_c: float
    wanted_c: float
    peak: Peak
    bears_c: float | None
    most_c: float
    additions: Additions | None
    takes_s: Spread | None
    bare_s: Spread | None
    lagged_s: Spread | None
    liquid: Liquid
    no_easier: bool

    @property
    def too_hot_for_vessel(self) -> bool:
        """Whether all at once would pass what the vessel bears."""
        return self.bears_c is not None and self.peak.high_c is not None and self.peak.high_c > self.bears_c


def _made(question: LyeToMake, lot: AlkaliLot | None, tank: Tank | None, state: State) -> Made:
    if lot is not None and question.alkali not in (None, lot.alkali):
        message = tr("{lot} is a lot of the other caustic.", lot=lot.code)
        raise InputProblems(Problem("alkali", "other-alkali", message, tr("Choose another lot, or leave the caustic to it.")))
    alkali = question.alkali or (lot.alkali if lot else "naoh")
    solid = (lot.form if lot else question.made_of) == "solid"
    source_fraction = question.source_fraction or _usual_source(alkali, solid, lot)
    top = _top_up(question, source_fraction, state.units)
    room_c = question.room_c if question.room_c is not None else 0.5 * (constant("room_usual_low").value + constant("room_usual_high").value)
    water_c = question.water_c if question.water_c is not None else room_c
    wanted_c = question.wanted_c if question.wanted_c is not None else constant("lye_pour_usual").value
    have_c = room_c if question.have_c is None else question.have_c
    start = [Part(question.have_g or 0.0, question.have_fraction or 0.0, have_c), Part(top.water_g, 0.0, water_c)]
    added = Part(top.source_g, source_fraction, room_c, solid)
    if not any(part.mass_g > 0.0 for part in start):
        message = tr("There would be no water to put it into.")
        raise InputProblems(Problem("wanted_fraction", "no-water", message, tr("Make it weaker than what it’s made of.")))
    try:
        found = peak(alkali, start, added)
    except ValueError as beyond:
        message = tr("The heat of lye is known up to 50 %: what stands in it already, or the bought lye, is stronger.")
        raise InputProblems(Problem("source_fraction", "beyond-heat", message, tr("Thin it in steps, and let each one cool."))) from beyond
    material = tank.material if tank else question.material
    bears_c = None if material is None else material_bears_c(material)
    most_c = hottest_c(material, state.lye_limits().hottest_lye_c)
    volume_ml = _volume_ml(question, alkali, tank, state.units)
    losses = {
        lagging: tank_loss_w_per_k(min(volume_ml, tank.volume_ml) if tank else volume_ml, tank.volume_ml if tank else volume_ml,
                                   material or "polypropylene", lagging,
                                   tank.lagging_mm if tank and lagging == "lagged" else None)
        for lagging in ("none", "lagged")
    }  # fmt: skip
    portions: Additions | None = None
    takes: Spread | None = None
    if alkali == "naoh" and top.source_g > 0.0:
        # By the same loss that tells when all of it may be used: most of it makes the waits shortest.
        waits = [additions(start, added, most_c, room_c, loss, volume_ml=tank.volume_ml if tank else volume_ml) for loss in reversed(losses[tank.lagging if tank else "none"])]
        portions = waits[1]
        takes = Spread(*(each.takes_s or 0.0 for each in waits))
    elif solid and found.high_c is not None and top.source_g > 0.0:
        portions = koh_additions(start, added, most_c)
    from_c = portions.portions[-1].to_c if portions and portions.portions else found.high_c
    cools = {}
    if alkali == "naoh" and from_c is not None and from_c > wanted_c:
        cools = {
            lagging: usable_after(question.total_g, question.wanted_fraction, from_c, wanted_c, room_c, loss, tank.volume_ml if tank else volume_ml)
            for lagging, loss in losses.items()
        }
    fraction = question.wanted_fraction
    return Made(
        alkali, solid, source_fraction, top.source_g, top.water_g, water_c, room_c, wanted_c, found, bears_c, most_c, portions, takes,
        cools.get("none"), cools.get("lagged"), liquid(alkali, fraction), alkali == "naoh" and no_easier_than_bought(fraction),
    )  # fmt: skip


def _usual_source(alkali: str, solid: bool, lot: AlkaliLot | None) -> float:
    if lot is not None:
        return source_of(lot).hydroxide_fraction
    if not solid:
        return constant("lye_bought_strength").value / 100.0
    return constant({"naoh": "soda_unknown_assay", "koh": "potash_unknown_assay"}[alkali]).value


def _top_up(question: LyeToMake, source_fraction: float, units: str) -> TopUp:
    if source_fraction <= question.wanted_fraction:
        message = tr("It’s made of {source}: that can’t become {wanted}.", source=percent(source_fraction), wanted=percent(question.wanted_fraction))
        raise InputProblems(Problem("wanted_fraction", "too-strong", message, tr("Make it weaker, or of something stronger.")))
    try:
        return top_up(question.have_g or 0.0, question.have_fraction or 0.0, question.total_g, question.wanted_fraction, source_fraction)
    except CannotReach as cannot:
        least = plain_weight(cannot.least_g, units)
        if cannot.too_strong:
            message = tr("What is in it is too strong for that: with water alone it becomes {least}.", least=least)
        else:
            message = tr("What is in it is too weak for that: with no water at all it becomes {least}.", least=least)
        raise InputProblems(Problem("total_g", "cannot-reach", message, tr("Make at least {least}, or draw some off first.", least=least))) from cannot


def _volume_ml(question: LyeToMake, alkali: str, tank: Tank | None, units: str) -> float:
    """The lye at its warmest in the tables [ml]; a problem where the tank is too small for it."""
    warmest_c = LYE_TEMPERATURE.high
    volume_ml = lye_in_tank_ml(question.total_g, alkali, question.wanted_fraction, warmest_c)
    if tank is not None and volume_ml > tank.volume_ml:
        message = tr("Hot, that is {volume}, and {tank} holds {room}.", volume=room(volume_ml, units), tank=tank.name, room=room(tank.volume_ml, units))
        raise InputProblems(Problem("total_g", "over-volume", message, tr("Make less, or in two goes.")))
    return volume_ml
