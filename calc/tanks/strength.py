"""How strong a lye really is: by hydrometer, by a weighed pitcher, or by titration; and how sure that is, cause by cause.

What is read becomes the true density at the lye's temperature, and that the strength (`calc.chemistry.density`). A hydrometer
of one scale is every hydrometer: all become specific gravity or density first. Each cause is a rectangle of its half width
(JCGM 100:2008 4.3.7), carried to the strength by reading anew with the cause at both of its ends; the interval leaves out
2.5 % on each side. Causes that nobody has looked into (a dirty stem, bubbles, layers in the tank) are not in it.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from calc.chemistry.density import lye_density_g_per_ml, strength_from_density
from calc.chemistry.rectangles import RectangleSum
from calc.entry.language import later
from calc.tables.reference import constant

SIXTY_F_C = (60.0 - 32.0) / 1.8
TWO_SIDED = 0.975  # 95 % lie between
HYDROMETERS = ("density", "gravity", "baume", "twaddell")
# What stands on a Baumé hydrometer: its modulus, and the temperature that its scale was made at (that of 144.3 from memory).
MODULI: Mapping[str, tuple[str, float]] = {
    "145": ("baume_modulus_us", SIXTY_F_C),
    "144.3": ("baume_modulus_rational", 15.0),
}
CAUSES = {
    "reading": later("Reading of the hydrometer"),
    "modulus": later("Which Baumé scale it is"),
    "thermometer": later("Thermometer"),
    "table": later("Table of densities"),
    "volume": later("Volume of the pitcher"),
    "scale": later("Scale"),
    "burette": later("Burette"),
    "acid": later("Strength of the acid"),
}


# Nearer than its tenths of a percent show, no strength is told as another one; further off than this every one is, however unsure
# it was measured: at 33 % that moves a superfat of 6 % by 0.9 points.
SHOWN_APART, ANYHOW_APART = 0.0005, 0.003


def told_apart(unsure_fraction: float | None) -> float:
    """From which difference on a lye counts as of another strength than was reckoned with [g/g].

    That is what its measurement leaves unsure to either side (None: nobody has measured it), within SHOWN_APART and ANYHOW_APART: the
    one rule by which tanks, sheets and loads go.

    >>> [told_apart(unsure) for unsure in (0.0, 0.002, 0.02, None)]
    [0.0005, 0.002, 0.003, 0.003]
    """
    return ANYHOW_APART if unsure_fraction is None else min(max(unsure_fraction, SHOWN_APART), ANYHOW_APART)


class OutsideTable(ValueError):
    """A density that no lye of 0 to 50 % has at that temperature: below that of water (`light`), or above that of 50 %."""

    def __init__(self, density_g_per_ml: float, light: bool) -> None:
        super().__init__("No lye in the tables has that density at that temperature.")
        self.density_g_per_ml, self.light = density_g_per_ml, light


class Cause(NamedTuple):
    """One reason why a strength is not sure: a key of CAUSES, its half width as strength [g/g], its share of the variance."""

    key: str
    half_width_fraction: float
    share: float


@dataclass(frozen=True)
class Measured:
    """A strength [g/g] with its 95 % interval and what that comes from, widest first.

    density_g_per_ml: the true density at the temperature it was read at; None by titration.
    glass_fraction: what the correction for the warmth of the glass moved the strength by.
    carbonate_fraction: Na2CO3 or K2CO3 in the lye [g/g]; None where the method can't tell.
    """

    fraction: float
    low_fraction: float
    high_fraction: float
    causes: tuple[Cause, ...]
    density_g_per_ml: float | None = None
    glass_fraction: float = 0.0
    carbonate_fraction: float | None = None

    @property
    def half_width_fraction(self) -> float:
        """Half of the interval [g/g]."""
        return 0.5 * (self.high_fraction - self.low_fraction)


class Instrument(NamedTuple):
    """A hydrometer: its scale (one of HYDROMETERS), for Baumé what is printed as its modulus, and the temperature it is made for.

    modulus: a key of MODULI. made_for_c counts where the scale itself does not fix it, on one that shows density [°C].
    """

    scale: str
    modulus: str = "145"
    made_for_c: float = 20.0


class Weighed(NamedTuple):
    """A net mass [g], the scale's limit of error at it and the step of its display [g]."""

    mass_g: float
    limit_g: float
    division_g: float

    @property
    def half_widths(self) -> tuple[float, float, float]:
        """The limit of error, and half a step of each of the two readings that make a net mass (JCGM 100)."""
        return self.limit_g, 0.5 * self.division_g, 0.5 * self.division_g


def hydrometer_density(instrument: Instrument, reading: float, temperature_c: float, *, glass: bool = True) -> float:
    """True density of a lye [g/ml] by what a hydrometer shows at the lye's temperature.

    reading: in the instrument's own marks; Baumé below its modulus. temperature_c: of the lye [°C].
    rho = R·(1 - γ·(t - t0)), R the density that the scale means at t0: warm glass displaces more (ISO 1768).
    glass: False leaves that correction out. Raises ValueError for a Baumé at or above its modulus.

    >>> round(hydrometer_density(Instrument("baume"), 38.0, 30.0), 4)
    1.3533
    """
    made_for_c = SIXTY_F_C
    if instrument.scale == "density":
        stated, made_for_c = reading, instrument.made_for_c
    elif instrument.scale == "gravity":
        stated = reading * constant("water_density_60f").value
    elif instrument.scale == "twaddell":
        stated = (1.0 + reading / constant("twaddell_per_unit").value) * constant("water_density_60f").value
    else:
        key, made_for_c = MODULI[instrument.modulus]
        modulus = constant(key).value
        if not reading < modulus:
            raise ValueError(f"No Baumé hydrometer shows {reading:g}.")
        water = constant("water_density_60f").value if made_for_c == SIXTY_F_C else lye_density_g_per_ml("naoh", 0.0, made_for_c)
        stated = modulus / (modulus - reading) * water
    warmer = temperature_c - made_for_c if glass else 0.0
    return stated * (1.0 - constant("hydrometer_glass_expansion").value * warmer)


def reading_usual(scale: str) -> float:
    """How far a hydrometer of a scale is taken to be off or misread, in its own marks (common practice, no source)."""
    return constant({"baume": "hydrometer_read_baume", "twaddell": "hydrometer_read_twaddell"}.get(scale, "hydrometer_read_density")).value


def by_hydrometer(
    alkali: str, instrument: Instrument, reading: float, within: float, temperature_c: float, thermometer_c: float
) -> Measured:
    """Strength by a hydrometer's reading and a thermometer's; ± in the marks of the one and [°C] of the other.

    alkali: "naoh" or "koh". temperature_c: 15 to 80, its ± may reach past the ends. instrument.modulus: a key of MODULI, or
    anything else where nothing is printed on it: then the middle of the two counts, and what lies between them is a cause.
    Raises OutsideTable; ValueError for what is no reading.
    """
    known = instrument.scale != "baume" or instrument.modulus in MODULI
    candidates = [instrument] if known else [instrument._replace(modulus=each) for each in MODULI]

    def strength(shown: float, at_c: float, glass: bool = True) -> float:
        densities = [hydrometer_density(each, shown, at_c, glass=glass) for each in candidates]
        return math.fsum(_strength(alkali, each, at_c) for each in densities) / len(densities)

    fraction = strength(reading, temperature_c)
    density = math.fsum(hydrometer_density(each, reading, temperature_c) for each in candidates) / len(candidates)
    widths = {
        "reading": [_carried(lambda shown: strength(shown, temperature_c), reading, within)],
        "thermometer": [_carried(lambda at_c: strength(reading, at_c), temperature_c, thermometer_c)],
        "table": [_table(alkali, density, temperature_c)],
    }
    if not known:
        ends = [_strength(alkali, hydrometer_density(each, reading, temperature_c), temperature_c) for each in candidates]
        widths["modulus"] = [0.5 * abs(ends[1] - ends[0])]
    return _measured(fraction, widths, density, glass_fraction=fraction - strength(reading, temperature_c, False))


def by_jug(
    alkali: str, lye: Weighed, volume_ml: float, volume_within_ml: float, temperature_c: float, thermometer_c: float
) -> Measured:
    """Strength by a pitcher of known volume [ml] weighed full of lye, net; masses in air are put right for its buoyancy.

    Raises OutsideTable; ValueError unless volume and mass are above 0. rho = a + m·(1 - a/8)/V, a the density of air (OIML D 28).
    """
    if not (volume_ml > 0.0 and lye.mass_g > 0.0):
        raise ValueError("Volume and mass must be above zero.")
    air = constant("air_density").value
    true_share = 1.0 - air / constant("check_weight_density").value

    def density(mass_g: float, ml: float) -> float:
        return air + mass_g * true_share / ml

    return _by_weighing(
        alkali, density(lye.mass_g, volume_ml), temperature_c, thermometer_c,
        {"scale": [(lambda mass_g: density(mass_g, volume_ml), lye.mass_g, width) for width in lye.half_widths],
         "volume": [(lambda ml: density(lye.mass_g, ml), volume_ml, volume_within_ml)]},
    )  # fmt: skip


def by_jug_of_water(
    alkali: str, lye: Weighed, water: Weighed, water_c: float, temperature_c: float, thermometer_c: float
) -> Measured:
    """Strength by one pitcher weighed full of lye and full of water, both net: its volume need not be known.

    alkali: "naoh" or "koh". lye, water: net masses [g], above 0. water_c: of the water, temperature_c: of the lye [°C], both 15 to
    80; thermometer_c: by how much the lye's thermometer may be off [K], 0 or more, and past the ends. rho - a = (rho_water - a)·m_lye/m_water,
    a the density of air [g/ml]. Raises OutsideTable for a density that no lye has there; ValueError unless masses are above 0, and
    for temperatures outside the table.
    """
    if not (water.mass_g > 0.0 and lye.mass_g > 0.0):
        raise ValueError("Masses must be above zero.")
    air = constant("air_density").value
    of_water = lye_density_g_per_ml("naoh", 0.0, water_c)

    def density(lye_g: float, water_g: float) -> float:
        return air + (of_water - air) * lye_g / water_g

    return _by_weighing(
        alkali, density(lye.mass_g, water.mass_g), temperature_c, thermometer_c,
        {"scale": [*((lambda mass_g: density(mass_g, water.mass_g), lye.mass_g, width) for width in lye.half_widths),
                   *((lambda mass_g: density(lye.mass_g, mass_g), water.mass_g, width) for width in water.half_widths)]},
    )  # fmt: skip


def by_titration(
    alkali: str, sample: Weighed, acid_ml: float, acid_mol_per_l: float, acid_all_ml: float | None = None
) -> Measured:
    """Hydroxide by titration of a weighed sample with strong acid: V·c·M/m.

    acid_ml: to the first change (phenolphthalein), which counts hydroxide and half of the carbonate. acid_all_ml: to the second
    (methyl orange), from the same start; with it hydroxide is (2·V1 - V2)·c and carbonate (V2 - V1)·c (Warder's method, from
    memory). acid_mol_per_l: H+ that the acid gives. Raises ValueError unless sample and acid are above 0 and hydroxide is left.
    """
    if not (sample.mass_g > 0.0 and acid_ml > 0.0 and acid_mol_per_l > 0.0):
        raise ValueError("Sample and acid must be above zero.")
    if acid_all_ml is not None and not acid_ml <= acid_all_ml < 2.0 * acid_ml:
        raise ValueError("The second change comes after the first, and before twice as much.")
    molar = constant(f"molar_mass_{alkali}").value

    def strength(first_ml: float, all_ml: float, mol_per_l: float, sample_g: float) -> float:
        return (2.0 * first_ml - all_ml) / 1000.0 * mol_per_l * molar / sample_g

    all_ml = acid_ml if acid_all_ml is None else acid_all_ml
    fraction = strength(acid_ml, all_ml, acid_mol_per_l, sample.mass_g)
    one_drop = constant("burette_drop").value / 1000.0 * acid_mol_per_l * molar / sample.mass_g
    widths = {
        # With one change only, both volumes are the same one; else the first counts twice.
        "burette": [one_drop] if acid_all_ml is None else [2.0 * one_drop, one_drop],
        "acid": [fraction * constant("acid_unsure").value],
        "scale": [fraction * width / sample.mass_g for width in sample.half_widths],
    }
    carbonate = None
    if acid_all_ml is not None:
        of = {"naoh": "molar_mass_na2co3", "koh": "molar_mass_k2co3"}[alkali]
        carbonate = (acid_all_ml - acid_ml) / 1000.0 * acid_mol_per_l * constant(of).value / sample.mass_g
    return _measured(fraction, widths, None, carbonate_fraction=carbonate)


def carbonate_reads_as() -> float:
    """What 1 % of carbonate reads as by density, in % of NaOH: both at 10 % and 20 °C, above water."""
    water = lye_density_g_per_ml("naoh", 0.0, 20.0)
    return (constant("carbonate_density_10").value - water) / (constant("naoh_density_10").value - water)


def _strength(alkali: str, density_g_per_ml: float, temperature_c: float) -> float:
    try:
        return strength_from_density(alkali, density_g_per_ml, temperature_c)
    except ValueError as outside:
        light = density_g_per_ml < lye_density_g_per_ml(alkali, 0.0, temperature_c)
        raise OutsideTable(density_g_per_ml, light) from outside


Changed = tuple[Callable[[float], float], float, float]


def _by_weighing(
    alkali: str, density: float, temperature_c: float, thermometer_c: float, causes: Mapping[str, list[Changed]]
) -> Measured:
    fraction = _strength(alkali, density, temperature_c)
    slope = _table(alkali, density, temperature_c) / constant("lye_density_unsure").value
    widths = {key: [slope * _carried(of, at, width) for of, at, width in changed] for key, changed in causes.items()}
    widths["thermometer"] = [_carried(lambda at_c: _strength(alkali, density, at_c), temperature_c, thermometer_c)]
    widths["table"] = [slope * constant("lye_density_unsure").value]
    return _measured(fraction, widths, density)


def _table(alkali: str, density: float, temperature_c: float) -> float:
    return _carried(lambda at: _strength(alkali, at, temperature_c), density, constant("lye_density_unsure").value)


def _carried(of: Callable[[float], float], at: float, width: float) -> float:
    """Half of what a quantity changes by between both ends of another; at the table's edge twice the one side that is in it."""
    ends = []
    for end in (at - width, at + width):
        try:
            ends.append(of(end))
        except ValueError:
            continue
    if len(ends) == 2:
        return 0.5 * abs(ends[1] - ends[0])
    return abs(ends[0] - of(at)) if ends else 0.0


def _measured(
    fraction: float,
    widths: Mapping[str, list[float]],
    density: float | None,
    glass_fraction: float = 0.0,
    carbonate_fraction: float | None = None,
) -> Measured:
    each = [width for of_cause in widths.values() for width in of_cause]
    half = RectangleSum(each).quantile(TWO_SIDED)
    whole = math.fsum(width * width for width in each) or 1.0
    causes = [
        Cause(key, math.sqrt(math.fsum(width * width for width in of_cause)), math.fsum(width * width for width in of_cause) / whole)
        for key, of_cause in widths.items()
    ]
    causes.sort(key=lambda cause: -cause.share)
    return Measured(
        fraction, max(0.0, fraction - half), min(1.0, fraction + half), tuple(causes), density, glass_fraction, carbonate_fraction
    )
