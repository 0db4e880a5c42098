"""Which saponification value an oil is reckoned with, and what a blend of oils is by chemistry.

Without a certificate the value leans to the low side, so that what the maker does not know never turns into free lye.
Triglycerides are reckoned from their fatty acids by mass. The free acid of an unrefined oil is not known here and is
taken as zero: at an acid value of 2 mg KOH/g that overstates glycerol by about 1 %.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from calc.tables.reference import constant
from calc.tables.rows import FattyAcidShare, Oil, ValueRange

OWN_HOW = "own value"


@dataclass(frozen=True)
class Certificate:
    """A supplier's saponification value for one lot [mg KOH/g], with the ± that it states [mg KOH/g], if any."""

    saponification_value: float
    plus_minus: float | None = None


@dataclass(frozen=True)
class SaponificationUsed:
    """The value reckoned with, and how low and how high it may really be, all in mg KOH/g.

    `basis` is 'certificate', 'range middle' or 'composition' ('blend' for a whole blend). `outside_range` is True when a
    certificate lies outside the table's range for that oil.
    """

    used: float
    low: float
    high: float
    basis: str
    sources: tuple[str, ...]
    outside_range: bool = False


@dataclass(frozen=True)
class AcidPercent:
    """One fatty acid of a blend, in percent of the blend's mass of oils; low and high are outer bounds."""

    acid: str
    low: float
    typical: float
    high: float


@dataclass(frozen=True)
class OilBlend:
    """A blend of oils by chemistry, per kilogram of oils; glycerol at full saponification.

    Each low and high is the mass-weighted sum of the oils' own ends. That is an outer bound, as if every oil stood at the
    same end of its range; the true blend lies well inside. `not_known_fraction` is the share of oils (waxes among
    them) whose fatty acids are not counted. Iodine values [g I2/100 g] are None when one of the oils has none.
    """

    saponification: SaponificationUsed
    glycerol_g_per_kg: float
    fatty_acids: tuple[AcidPercent, ...]
    not_known_fraction: float
    iodine_low: float | None
    iodine_typical: float | None
    iodine_high: float | None


def own_oil(
    *,
    key: str,
    name: str,
    saponification_low: float,
    saponification_high: float,
    source: str,
    kind: str = "triglyceride",
    acid_value: float | None = None,
    fatty_acids: Mapping[str, float] = MappingProxyType({}),
) -> Oil:
    """An oil of the maker's own: saponification value low to high [mg KOH/g], fatty acids [percent] if known.

    When the fatty acids make up nearly all of the oil, the value calculated from them is kept beside the range.
    acid_value: the least acid value of a wax [mg KOH/g]; one that is not known counts as zero.
    Raises ValueError when the range is empty or its ends are swapped.
    """
    if not 0.0 < saponification_low <= saponification_high:
        raise ValueError("a saponification range runs from a positive low to a high that is not below it")
    shares = tuple(
        FattyAcidShare(acid, percent, percent, percent, source, OWN_HOW, source, OWN_HOW)
        for acid, percent in fatty_acids.items()
    )
    calculated = iodine = None
    # An incomplete list says little about the mean molar mass: reckon only with one that is nearly whole.
    least, most = (100.0 * constant(f"acids_known_{end}").value for end in ("least", "most"))
    if kind == "triglyceride" and least <= math.fsum(fatty_acids.values()) <= most:
        calculated, iodine = saponification_value_of(fatty_acids), iodine_value_of(fatty_acids)
    return Oil(
        key=key,
        name=name,
        kind=kind,
        saponification_low=saponification_low,
        saponification_high=saponification_high,
        saponification_source=source,
        saponification_how=OWN_HOW,
        acid_value=None if acid_value is None else ValueRange(acid_value, acid_value, "mg/g", source, OWN_HOW),
        calculated=calculated,
        calculated_from="the fatty acids entered" if calculated else "",
        iodine_calculated=iodine,
        fatty_acids=shares,
    )


def saponification_used(oil: Oil, certificate: Certificate | None = None) -> SaponificationUsed:
    """The saponification value to reckon with [mg KOH/g].

    With a certificate: its value, with the ± that it states, or else the ±1 % of constants.csv.
    Without: the range's middle or the value calculated from the typical composition, whichever is lower, but never
    below the range's low end. A wax is taken at its range's middle.
    Raises ValueError for a certificate that is not positive.

    Almond oil lies from 190 to 200 and is 190.8 by its composition:

    >>> from calc.tables.reference import oils
    >>> round(saponification_used(oils()["almond"]).used, 1)
    190.8
    """
    low, high, source = oil.saponification_low, oil.saponification_high, oil.saponification_source
    if certificate is not None:
        value, plus_minus = certificate.saponification_value, certificate.plus_minus
        if value <= 0.0 or (plus_minus is not None and not 0.0 <= plus_minus < value):
            raise ValueError("a certificate states a positive value and a plus-minus smaller than it")
        if plus_minus is None:
            plus_minus = value * constant("certificate_half_width").value
        return SaponificationUsed(
            value,
            value - plus_minus,
            value + plus_minus,
            "certificate",
            ("certificate of the lot",),
            outside_range=not low <= value <= high,
        )
    middle = (low + high) / 2.0
    if oil.kind == "wax" or oil.calculated is None or oil.calculated >= middle:
        return SaponificationUsed(middle, low, high, "range middle", (source,))
    return SaponificationUsed(max(oil.calculated, low), low, high, "composition", (source, oil.calculated_from))


def surely_taken(oil: Oil) -> float | None:
    """What lye surely takes of a wax [mg KOH/g]: the least that its free acids can be. None for an oil: it reacts whole.

    In a cold process the esters of a wax react slowly and only in part; those of wool fat hardly at all (British
    Pharmaceutical Codex 1911).
    """
    if oil.kind != "wax":
        return None
    return 0.0 if oil.acid_value is None or oil.acid_value.low is None else oil.acid_value.low


@cache
def acid_structure(acid: str) -> tuple[int, int, int]:
    """Carbons, double bonds and hydroxyl groups of a fatty acid: 'C18:1-OH' -> (18, 1, 1). Raises ValueError."""
    found = re.fullmatch(r"C(\d+):(\d+)(-OH|-n\d)?", acid)
    if not found:
        raise ValueError(f"'{acid}' is no fatty acid such as C18:1")
    return int(found[1]), int(found[2]), int(found[3] == "-OH")


@cache
def acid_molar_mass(acid: str) -> float:
    """Molar mass of a fatty acid [g/mol] from carbon number and double bonds: C18:1 -> 282.468."""
    carbons, bonds, hydroxyls = acid_structure(acid)
    carbon, hydrogen, oxygen = (constant(f"atomic_mass_{name}").value for name in ("carbon", "hydrogen", "oxygen"))
    return carbons * carbon + 2 * (carbons - bonds) * hydrogen + (2 + hydroxyls) * oxygen


def _moles_of_acid(composition: Mapping[str, float]) -> tuple[float, float]:
    """Mass and moles of the acids in a composition by mass."""
    mass = math.fsum(composition.values())
    if mass <= 0.0 or min(composition.values()) < 0.0:
        raise ValueError("a composition holds positive shares of fatty acids")
    return mass, math.fsum(share / acid_molar_mass(acid) for acid, share in composition.items())


def _fat_mass(mass: float, moles: float, free: bool) -> float:
    """Mass of the fat that gives these acids: three acids and one glycerol, less three water, make a triglyceride."""
    if free:
        return mass
    return mass + moles / 3.0 * (constant("molar_mass_glycerol").value - 3.0 * constant("molar_mass_water").value)


def saponification_value_of(
    composition: Mapping[str, float], *, unsaponifiable_g_per_kg: float = 0.0, free: bool = False
) -> float:
    """Saponification value [mg KOH/g] from fatty acids by mass (any sum), as triglyceride or as free acids.

    SV = 1000 · 3 · M(KOH) / M(triglyceride) · (1 - unsaponifiable/1000). Triolein alone gives 190.1.
    Raises ValueError for an unknown acid or a negative share.
    """
    mass, moles = _moles_of_acid(composition)
    value = 1000.0 * constant("molar_mass_koh").value * moles / _fat_mass(mass, moles, free)
    return value * (1.0 - unsaponifiable_g_per_kg / 1000.0)


def iodine_value_of(
    composition: Mapping[str, float], *, unsaponifiable_g_per_kg: float = 0.0, free: bool = False
) -> float:
    """Iodine value [g I2/100 g] from fatty acids by mass: every double bond takes one I2. Triolein alone gives 86.0.

    The unsaponifiable part is taken to hold no iodine. Raises ValueError for an unknown acid or a negative share.
    """
    mass, moles = _moles_of_acid(composition)
    bonds = math.fsum(share / acid_molar_mass(acid) * acid_structure(acid)[1] for acid, share in composition.items())
    value = 100.0 * bonds * 2.0 * constant("atomic_mass_iodine").value / _fat_mass(mass, moles, free)
    return value * (1.0 - unsaponifiable_g_per_kg / 1000.0)


def typical_composition(oil: Oil) -> Mapping[str, float]:
    """Fatty acids of one oil in percent, summing to 100: the typical ones, else the middle of each range."""
    if any(share.typical_percent is not None for share in oil.fatty_acids):
        found = {share.acid: share.typical_percent or 0.0 for share in oil.fatty_acids}
    else:
        found = {
            share.acid: ((share.low_percent or 0.0) + (share.high_percent or 0.0)) / 2.0 for share in oil.fatty_acids
        }
    total = math.fsum(found.values())
    return {acid: percent * 100.0 / total for acid, percent in found.items()} if total else {}


def _iodine_ends(oil: Oil) -> tuple[float, float, float] | None:
    """Low, typical and high iodine value of one oil. An end the table leaves open is reckoned from the fatty acids."""
    table = oil.iodine
    low, high = (None, None) if table is None else (table.low, table.high)
    counted = [share for share in oil.fatty_acids if oil.kind != "wax"]
    free = oil.kind == "free_acid"
    if counted and low is None:
        low = math.fsum((s.low_percent or 0.0) / 100.0 * iodine_value_of({s.acid: 1.0}, free=free) for s in counted)
    if counted and high is None:
        high = math.fsum((s.high_percent or 0.0) / 100.0 * iodine_value_of({s.acid: 1.0}, free=free) for s in counted)
    if low is None or high is None:
        return None
    typical = oil.iodine_calculated if oil.iodine_calculated is not None else (low + high) / 2.0
    return min(low, typical), typical, max(high, typical)


def oils_together(parts: Sequence[tuple[Oil, float]], certificates: Sequence[Certificate | None] = ()) -> OilBlend:
    """The blend that the oils make, from pairs of oil and mass (any one unit), with certificates in the same order.

    Raises ValueError when there is no oil, a mass is negative or the certificates do not match the oils.
    """
    total = math.fsum(mass for _, mass in parts)
    if not (total > 0.0 and min(mass for _, mass in parts) >= 0.0):
        raise ValueError("a blend needs oils with positive masses")
    given = tuple(certificates) or (None,) * len(parts)
    weights = [mass / total for _, mass in parts]
    used = [saponification_used(oil, paper) for (oil, _), paper in zip(parts, given, strict=True)]
    acids: dict[str, list[float]] = {}
    known_fraction = glycerol = 0.0
    iodine: list[float] | None = [0.0, 0.0, 0.0]
    for (oil, _), weight, value in zip(parts, weights, used, strict=True):
        if oil.kind == "triglyceride":
            glycerol += weight * glycerol_g_per_kg(value.used)
        if oil.fatty_acids and oil.kind != "wax":
            known_fraction += weight
            typical = typical_composition(oil)
            for share in oil.fatty_acids:
                middle = typical[share.acid]
                low = min(middle, middle if share.low_percent is None else share.low_percent)
                high = max(middle, middle if share.high_percent is None else share.high_percent)
                sums = acids.setdefault(share.acid, [0.0, 0.0, 0.0])
                for index, percent in enumerate((low, middle, high)):
                    sums[index] += weight * percent
        ends = _iodine_ends(oil)
        iodine = None if iodine is None or ends is None else [a + weight * b for a, b in zip(iodine, ends, strict=True)]
    mean = {
        part: math.fsum(w * getattr(value, part) for w, value in zip(weights, used, strict=True))
        for part in ("used", "low", "high")
    }
    saponification = SaponificationUsed(
        mean["used"],
        mean["low"],
        mean["high"],
        "blend",
        tuple(dict.fromkeys(source for value in used for source in value.sources)),
        outside_range=any(value.outside_range for value in used),
    )
    in_order = sorted(acids.items(), key=lambda item: (acid_structure(item[0]), item[0]))
    return OilBlend(
        saponification,
        glycerol,
        tuple(AcidPercent(acid, *sums) for acid, sums in in_order),
        max(0.0, 1.0 - known_fraction),
        *(iodine or (None, None, None)),
    )


def glycerol_g_per_kg(saponification_value: float, acid_value: float = 0.0) -> float:
    """Glycerol set free by 1 kg of a triglyceride oil at full saponification [g].

    (SV - AV) / M(KOH) / 3 · M(glycerol); SV 190, AV 2 -> 102.864 g (row A8 of physics_check_values.csv).
    """
    return (
        (saponification_value - acid_value)
        / constant("molar_mass_koh").value
        / 3.0
        * constant("molar_mass_glycerol").value
    )
