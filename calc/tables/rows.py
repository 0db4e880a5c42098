"""The shapes in which reference.py hands out its numbers: each carries its source and how it was got."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Known:
    """One number: value [unit], where it comes from, and how it was got (read, memory, library, derived, ...)."""

    value: float
    unit: str
    source: str
    how: str


@dataclass(frozen=True)
class ValueRange:
    """A published range, low to high [unit]; one end may be open (None)."""

    low: float | None
    high: float | None
    unit: str
    source: str
    how: str


@dataclass(frozen=True)
class FattyAcidShare:
    """One fatty acid of one oil, in percent of all its fatty acids."""

    acid: str
    low_percent: float | None
    high_percent: float | None
    typical_percent: float | None
    source: str
    how: str
    typical_source: str
    typical_how: str


@dataclass(frozen=True, kw_only=True)
class Oil:
    """An oil, fat, wax or free fatty acid. Values in mg KOH/g, g I2/100 g, g/kg, °C; relative density as published."""

    key: str
    name: str
    kind: str
    saponification_low: float
    saponification_high: float
    saponification_source: str
    saponification_how: str
    acid_value: ValueRange | None = None  # stated for waxes
    calculated: float | None = None
    calculated_from: str = ""
    iodine: ValueRange | None = None
    iodine_calculated: float | None = None
    relative_density: ValueRange | None = None
    density_reference: str = ""
    density_at_c: float | None = None
    density_water_c: float | None = None
    unsaponifiable: Known | None = None
    melting: ValueRange | None = None
    fatty_acids: tuple[FattyAcidShare, ...] = ()
    inci_name: str = ""
    inci_sodium_salt: str = ""
    cas: str = ""
    notes: str = ""


@dataclass(frozen=True)
class OilOrigin:
    """What an oil is made from, where some who buy soap need to know: `kind` is "animal" or "allergen"."""

    origin: str
    kind: str


@dataclass(frozen=True)
class Additive:
    """Something that goes into the batter besides oil and lye.

    `in_solution`: sold as a solution, so its strength must be asked. Its usual water counts where the maker states none.
    """

    key: str
    label: str
    in_solution: bool
    molar_mass_g_per_mol: float | None
    basicity: int
    default_water_percent: float | None
    heat_warning: str
    source: str
    how: str

    @property
    def takes_alkali(self) -> bool:
        """True when lye must be added for it."""
        return self.basicity > 0


@dataclass(frozen=True)
class ScaleTolerance:
    """Permitted error of a scale, in intervals (d or e), for loads above .. up to so many intervals."""

    scheme: str
    scale_class: str
    kind: str
    load_above_intervals: float
    load_up_to_intervals: float
    tolerance_intervals: float
    interval: str
    source: str
    how: str


@dataclass(frozen=True)
class DensityGrid:
    """Density [g/ml] over strength [% by mass] and temperature [°C]: density[i][j] at strengths[i], temperatures[j]."""

    strengths_percent: tuple[float, ...]
    temperatures_c: tuple[float, ...]
    density_g_per_ml: tuple[tuple[float, ...], ...]
    stable: tuple[tuple[bool, ...], ...]
    source: str
    how: str


@dataclass(frozen=True)
class CrystalPoint:
    """NaOH lye of this strength [% by mass] begins to crystallise at this temperature [°C]."""

    strength_percent: float
    temperature_c: float
    source: str
    how: str


@dataclass(frozen=True)
class ThermalPoint:
    """NaOH lye of this strength [% by mass]: integral heat of solution [kJ/mol] and heat capacities [kJ/(kg K)]."""

    strength_percent: float
    heat_of_solution_kj_per_mol: float
    heat_capacities: tuple[tuple[float, float], ...]  # (at °C, kJ/(kg K)), rising
    boiling_c: float  # at 1 atm


@dataclass(frozen=True)
class SourceRow:
    """One number as the Sources page lists it. `parts` are the texts that name its line, `title` names its column."""

    table: str
    line: int
    parts: tuple[str, ...]
    title: str
    value: float
    unit: str
    source: str
    how: str
