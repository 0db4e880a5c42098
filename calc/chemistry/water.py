"""The water of a batch, stated in three ways, and the lye that is made from the lots in the shop.

Lye strength is hydroxide / (hydroxide + water) by mass, NaOH and KOH together. The water to lye ratio is water /
hydroxide. The share is water / oils.

Water that comes with a premixed lye, with the rest of a solid's assay or with additives is water too. It is taken off
what is poured. The additives' water comes in only at trace, so the caustic dissolves in the rest. That lye is the
strongest there is: it must stay clear and be within the tables. Source of the limits: constants.csv,
naoh_crystallisation.csv.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from calc.chemistry.interpolation import cell, on_line
from calc.chemistry.lye import Hydroxide
from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import degrees, number, percent, percent_down, points
from calc.tables.reference import constant, naoh_crystallisation

# Water below zero by less than this share of the hydroxide is the rounding of floats, not too weak a source.
ROUNDING = 1e-9
# The density grids of both alkalis end here (naoh_solution_density.csv, koh_solution_density.csv).
STRONGEST_LYE = 0.50
# Two strengths that differ by less are told as one.
SHOWN_APART = 0.001
# Scales round the oils and water of a batch. So a strength named in a remedy stays this far from what is refused.
SCALES_ROUND = 0.001


class WaterStated(NamedTuple):
    """The same water, stated in each of the three ways."""

    lye_strength_fraction: float
    water_to_lye_ratio: float
    share_of_oils_fraction: float


@dataclass(frozen=True)
class AlkaliSource:
    """What the hydroxide comes from: `form` 'solid' or 'premixed', and the hydroxide in it by mass."""

    form: str
    hydroxide_fraction: float


@dataclass(frozen=True)
class LyePlan:
    """What goes into the lye [g]: solid or premix of each alkali as weighed, and the water to pour.

    `strength_fraction` counts all water of the batch, `mixed_strength_fraction` only that in the lye itself, without
    the additives' water.
    """

    naoh_source_g: float
    koh_source_g: float
    water_in_sources_g: float
    additive_water_g: float
    water_to_add_g: float
    strength_fraction: float
    mixed_strength_fraction: float
    cautions: tuple[Caution, ...]

    @property
    def lye_g(self) -> float:
        """Mass of the lye as poured [g], without the additives."""
        return self.naoh_source_g + self.koh_source_g + self.water_to_add_g

    @property
    def water_g(self) -> float:
        """All water of the batch [g]."""
        return self.water_in_sources_g + self.additive_water_g + self.water_to_add_g


def _strength(lye_strength_fraction: float) -> float:
    if not 0.0 < lye_strength_fraction <= 1.0:
        raise ValueError(f"lye strength is {lye_strength_fraction:g}; it must lie above 0 and up to 1")
    return lye_strength_fraction


def strength_from_ratio(water_to_lye_ratio: float) -> float:
    """Lye strength [mass fraction] of a water to lye ratio at or above 0: 1 / (1 + ratio); 2 -> 0.3333."""
    if not water_to_lye_ratio >= 0.0:
        raise ValueError("a water to lye ratio is not negative")
    return 1.0 / (1.0 + water_to_lye_ratio)


def ratio_from_strength(lye_strength_fraction: float) -> float:
    """Water to lye ratio of a lye strength above 0 and up to 1: (1 - w) / w; 0.33 -> 2.0303."""
    return (1.0 - _strength(lye_strength_fraction)) / lye_strength_fraction


def strength_from_share(water_share_fraction: float, oils_g: float, hydroxide_g: float) -> float:
    """Lye strength of a water stated as share of the oils: h / (h + share · oils), masses in g.

    Raises ValueError without hydroxide or with a negative mass.
    """
    if not (hydroxide_g > 0.0 and oils_g >= 0.0 and water_share_fraction >= 0.0):
        raise ValueError("a lye strength needs hydroxide, and oils and water that are not negative")
    return hydroxide_g / (hydroxide_g + water_share_fraction * oils_g)


def share_from_strength(lye_strength_fraction: float, oils_g: float, hydroxide_g: float) -> float:
    """Water as a share of the oils at a lye strength: h · (1 - w) / w / oils, masses in g. ValueError without oils."""
    if not (oils_g > 0.0 and hydroxide_g >= 0.0):
        raise ValueError("a share of the oils needs oils")
    return hydroxide_g * ratio_from_strength(lye_strength_fraction) / oils_g


def stated_three_ways(lye_strength_fraction: float, oils_g: float, hydroxide_g: float) -> WaterStated:
    """A lye strength with its ratio and share of oils beside it."""
    return WaterStated(
        lye_strength_fraction,
        ratio_from_strength(lye_strength_fraction),
        share_from_strength(lye_strength_fraction, oils_g, hydroxide_g),
    )


def crystallisation_c(naoh_strength_fraction: float) -> float:
    """Temperature [°C] below which NaOH lye of that strength [mass fraction] drops crystals (ice, below 19 %).

    Straight lines between the points of naoh_crystallisation.csv, good to ±1 °C: 0.33 -> 8, 0.50 -> 11. Beyond the
    ends of the curve (0.3 and 79 %) its last point holds.
    """
    percents = [point.strength_percent for point in naoh_crystallisation()]
    within = min(max(naoh_strength_fraction * 100.0, percents[0]), percents[-1])
    return on_line([point.temperature_c for point in naoh_crystallisation()], cell(percents, within, "Crystals", "%"))


def koh_saturation_fraction(temperature_c: float) -> float:
    """Strongest KOH lye [mass fraction] that stays clear: the 20 °C value from 20 °C up, below it the 0 °C value."""
    return constant("koh_solubility_20c" if temperature_c >= 20.0 else "koh_solubility_0c").value


def _undissolved(needed: Hydroxide, strength_fraction: float, temperature_c: float) -> str | None:
    """Why a lye of that strength does not stay clear at that temperature, or None.

    Each alkali is held to the whole strength, since no data for the mixture are at hand. Together the two dissolve more
    easily, if anything.
    """
    percent = points(strength_fraction)
    if needed.naoh_g > 0.0 and crystallisation_c(strength_fraction) > temperature_c:
        at = degrees(crystallisation_c(strength_fraction))
        return tr("{percent} % lye starts to crystallize at about {at}.", percent=percent, at=at)
    if needed.koh_g > 0.0 and strength_fraction > koh_saturation_fraction(temperature_c):
        return tr(
            "{percent} % lye is more than the {limit} % of caustic potash that dissolves at {at}.",
            percent=percent, limit=points(koh_saturation_fraction(temperature_c)), at=degrees(temperature_c),
        )
    return None


def lye_plan(
    needed: Hydroxide,
    lye_strength_fraction: float,
    sources: Mapping[str, AlkaliSource],
    *,
    additive_water_g: float = 0.0,
    working_temperature_c: float = 20.0,
    field: str = "lye_strength_fraction",
) -> LyePlan:
    """The lye for so much pure hydroxide [g] at a strength, from the sources 'naoh' and 'koh' at hand.

    `additive_water_g` [g] is taken off the water to pour; where it is more than that, the batch is wetter than stated.
    `working_temperature_c` [°C] is that of the lye. `field` names the control in which the water was stated.
    Raises InputProblems when the sources bring more water than that strength has (field 'naoh_lot' or 'koh_lot'), and
    when the lye itself would not stay dissolved (field 'additives' where they leave it too little water). Raises
    ValueError without hydroxide or without a source for it.
    """
    hydroxide_g = needed.naoh_g + needed.koh_g
    # Said as "not (fine)", so that nan is refused too.
    if not (hydroxide_g > 0.0 and min(*needed, additive_water_g) >= 0.0):
        raise ValueError("a lye needs hydroxide, and masses that are not negative")
    weighed = {"naoh": 0.0, "koh": 0.0}
    for alkali, pure_g in (("naoh", needed.naoh_g), ("koh", needed.koh_g)):
        if pure_g > 0.0:
            if alkali not in sources:
                raise ValueError(f"the lye needs {alkali}, but no source of it is given")
            weighed[alkali] = pure_g / _strength(sources[alkali].hydroxide_fraction)
    in_sources_g = math.fsum(weighed.values()) - hydroxide_g
    wanted_g = hydroxide_g * ratio_from_strength(lye_strength_fraction)
    if wanted_g - in_sources_g < -ROUNDING * hydroxide_g:
        raise InputProblems(_premix_too_weak(needed, lye_strength_fraction, sources, in_sources_g))
    to_add_g = max(0.0, wanted_g - in_sources_g - additive_water_g)
    strength = hydroxide_g / (hydroxide_g + in_sources_g + additive_water_g + to_add_g)
    mixed = hydroxide_g / (hydroxide_g + in_sources_g + to_add_g)
    reason = _undissolved(needed, lye_strength_fraction, working_temperature_c)
    if additive_water_g > 0.0 and reason is None and not _can_be_made(needed, mixed, working_temperature_c):
        at_most = _reachable(needed, in_sources_g, additive_water_g, working_temperature_c)
        raise InputProblems(_short_of_water(mixed, additive_water_g, at_most))
    if reason is not None:
        raise InputProblems(
            Problem(
                field,
                "lye-not-dissolved",
                tr("{reason} It wouldn't stay clear at {at}.", reason=reason, at=degrees(working_temperature_c)),
                tr("Work warmer, or use a weaker lye."),
            )
        )
    return LyePlan(
        weighed["naoh"],
        weighed["koh"],
        in_sources_g,
        additive_water_g,
        to_add_g,
        strength,
        mixed,
        (
            *_wetter(lye_strength_fraction, strength, additive_water_g),
            *_cautions(needed, strength, mixed, working_temperature_c, field),
        ),
    )


def _can_be_made(needed: Hydroxide, strength: float, temperature_c: float) -> bool:
    # Tighter than ROUNDING: the density grid ends here too.
    return strength <= STRONGEST_LYE + 1e-12 and _undissolved(needed, strength, temperature_c) is None


def _reachable(needed: Hydroxide, in_sources_g: float, additive_water_g: float, temperature_c: float) -> str:
    """The strongest lye, by all water, at which additives still leave enough water to dissolve the caustic."""
    steps = (each / 1000 for each in range(int(1000 * STRONGEST_LYE), 0, -1))
    strongest = next(each for each in steps if _can_be_made(needed, each, temperature_c))
    hydroxide_g = math.fsum(needed)
    least_g = max(in_sources_g, hydroxide_g * ratio_from_strength(strongest))
    return percent_down(hydroxide_g / (hydroxide_g + least_g + additive_water_g) - SCALES_ROUND)


def _short_of_water(mixed: float, additive_water_g: float, at_most: str) -> Problem:
    return Problem(
        "additives",
        "lye-short-of-water",
        tr(
            "{water} g of the water comes with the additives, and only at trace. That leaves too little to dissolve the "
            "caustic: the lye would be {percent} %.",
            water=number(additive_water_g, 0), percent=points(mixed),
        ),
        tr("Use less of them, or drier ones, or set the lye strength to {at_most} or less.", at_most=at_most),
    )


def _premix_too_weak(
    needed: Hydroxide, strength: float, sources: Mapping[str, AlkaliSource], in_sources_g: float
) -> Problem:
    hydroxide_g = math.fsum(needed)
    at_most = percent_down(hydroxide_g / (hydroxide_g + in_sources_g))
    alkali = min(
        (key for key, pure in zip(("naoh", "koh"), needed, strict=True) if pure > 0.0),
        key=lambda key: sources[key].hydroxide_fraction,
    )
    return Problem(
        f"{alkali}_lot",
        "premix-too-weak",
        tr(
            "This lot is {held} hydroxide: too weak for {strength} lye.",
            held=percent(sources[alkali].hydroxide_fraction, 2), strength=percent(strength, 2),
        ),
        tr("Choose a stronger lot or solid caustic, or set the lye strength to {at_most} or less.", at_most=at_most),
    )


def _wetter(stated: float, strength: float, additive_water_g: float) -> Iterator[Caution]:
    if stated - strength >= SHOWN_APART:
        yield Caution(
            "additives",
            "additives-too-wet",
            tr(
                "The additives bring {water} g of water: that makes the lye {strength}, not {stated}.",
                water=number(additive_water_g, 0), strength=percent(strength), stated=percent(stated),
            ),
            tr("No other water goes in. The batter sets more slowly, and the bars lose more weight."),
        )


def _cautions(
    needed: Hydroxide, strength: float, mixed: float, temperature_c: float, field: str
) -> tuple[Caution, ...]:
    low, high = constant("lye_strength_usual_low"), constant("lye_strength_usual_high")
    watch, warm = constant("naoh_crystal_watch_strength"), constant("naoh_crystal_watch_temperature")
    found = []
    if strength < low.value:
        found.append(
            Caution(
                field,
                "lye-weak",
                tr("The lye is weaker than {limit}.", limit=percent(low.value, 0)),
                tr("Batter sets slowly, and bars lose a lot of weight and warp in cure ({source}).", source=tr(low.source)),
            )
        )
    if mixed > high.value:
        message = tr("The lye is stronger than {limit}.", limit=percent(high.value, 0))
        if mixed - strength >= SHOWN_APART:
            message = tr(
                "The lye itself is {strength}, stronger than {limit}: the additives bring their water only at trace.",
                strength=percent(mixed), limit=percent(high.value, 0),
            )
        reason = tr("Batter thickens fast, and false trace and hot spots are likely ({source}).", source=tr(high.source))
        found.append(Caution(field, "lye-strong", message, reason))
    if needed.naoh_g > 0.0 and mixed > watch.value and temperature_c < warm.value:
        found.append(
            Caution(
                field,
                "lye-near-crystals",
                tr("Keep this lye at {at} or above.", at=degrees(warm.value)),
                tr(
                    "NaOH lye above {limit} can drop crystals in a cold room: this one below about {at}. 40 % lye is no "
                    "easier to keep than 50 %.",
                    limit=percent(watch.value, 0), at=degrees(crystallisation_c(mixed)),
                ),
            )
        )
    return tuple(found)
