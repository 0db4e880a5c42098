"""How much hydroxide the oils and the acids take, and what saponification leaves behind.

Superfat is always a lye discount: alkali = (1 - superfat) · demand of all oils. Fat added late counts too, since lye
cannot tell it apart. Hydroxide is pure here; assay and water are the business of `water`. Demands are stated in grams
of potassium hydroxide, because saponification values are stated in it.
"""

import math
from typing import NamedTuple

from calc.tables.reference import constant
from calc.tables.rows import Additive

CARBONATE_OF = {"naoh": "na2co3", "koh": "k2co3"}


class Hydroxide(NamedTuple):
    """Pure hydroxide [g]."""

    naoh_g: float
    koh_g: float

    def of(self, alkali: str) -> float:
        """The mass of one alkali [g], "naoh" or "koh"."""
        return self.naoh_g if alkali == "naoh" else self.koh_g


class Products(NamedTuple):
    """What saponification makes [g]: glycerol, water from free acids, and the dry soap with the oil left over in it."""

    glycerol_g: float
    water_g: float
    soap_and_oil_g: float


def _within(value: float, low: float, high: float, name: str) -> None:
    if not low <= value <= high:
        raise ValueError(f"{name} is {value:g}; it must lie between {low:g} and {high:g}")


def demand_koh_g(oil_g: float, saponification_value: float) -> float:
    """KOH that fully saponifies so much oil [g]: oil [g] · SV [mg KOH/g] / 1000."""
    return oil_g * saponification_value / 1000.0


def koh_equivalent_g(naoh_g: float, koh_g: float) -> float:
    """KOH [g] that would do the work of this NaOH [g] and KOH [g] together."""
    return naoh_g * constant("molar_mass_koh").value / constant("molar_mass_naoh").value + koh_g


def koh_per_g(alkali: str, hydroxide_fraction: float) -> float:
    """What a gram of a source of "naoh" or "koh" supplies [g KOH], by the pure hydroxide in it [mass fraction]."""
    return koh_equivalent_g(hydroxide_fraction, 0.0) if alkali == "naoh" else koh_equivalent_g(0.0, hydroxide_fraction)


# One equation, S = 1 - (A - Q)/D, solved for each of its parts. All in g KOH: A is the alkali there is, Q what acids
# take of it, D what the oils could take.


def superfat_of(supplied_koh_g: float, taken_koh_g: float, demand_koh_g: float) -> float:
    """The superfat that alkali, acids and oils [g KOH] come to; a demand above 0."""
    return 1.0 - (supplied_koh_g - taken_koh_g) / demand_koh_g


def alkali_for_koh_g(superfat_fraction: float, taken_koh_g: float, demand_koh_g: float) -> float:
    """The alkali [g KOH] that leaves this superfat."""
    return demand_koh_g * (1.0 - superfat_fraction) + taken_koh_g


def demand_for_koh_g(superfat_fraction: float, supplied_koh_g: float, taken_koh_g: float) -> float:
    """The oils' demand [g KOH] at which the alkali there is leaves this superfat, which is below 1."""
    return (supplied_koh_g - taken_koh_g) / (1.0 - superfat_fraction)


def alkali_needed(
    demand_koh_g: float, superfat_fraction: float, koh_share_fraction: float, *, acid_koh_g: float = 0.0
) -> Hydroxide:
    """Pure NaOH and KOH [g] for a demand of oils [g KOH] at a superfat (lye discount), plus what acids take [g KOH].

    KOH's share counts by equivalents: 0.10 means every tenth molecule of soap is a potassium soap. Acids are not
    discounted: they take their alkali before any oil does. SV 190, 1 kg, no discount -> 135.45 g NaOH (row A5 of
    physics_check_values.csv).
    Ranges: demands at or above 0, superfat 0 to below 1, share 0 to 1; otherwise ValueError.
    """
    _within(min(demand_koh_g, acid_koh_g), 0.0, float("inf"), "the demand")
    _within(koh_share_fraction, 0.0, 1.0, "the share of KOH")
    if not 0.0 <= superfat_fraction < 1.0:
        raise ValueError(f"superfat is {superfat_fraction:g}; it must lie from 0 to below 1")
    koh_alone_g = alkali_for_koh_g(superfat_fraction, acid_koh_g, demand_koh_g)
    naoh_per_koh = constant("molar_mass_naoh").value / constant("molar_mass_koh").value
    return Hydroxide(koh_alone_g * (1.0 - koh_share_fraction) * naoh_per_koh, koh_alone_g * koh_share_fraction)


def hydroxide_fraction(total_alkali_fraction: float, carbonate_fraction: float, alkali: str) -> float:
    """Hydroxide [mass fraction] in a solid of that total alkali and carbonate (Na2CO3 or K2CO3) [mass fractions].

    A titration counts carbonate as alkali, but it does not saponify oil: total - carbonate · 2 M(MOH) / M(M2CO3).
    NaOH of 98.0 % total alkali with 0.5 % Na2CO3 holds 97.623 % hydroxide (row A10 of physics_check_values.csv).
    `alkali` is 'naoh' or 'koh'.
    Raises ValueError when no hydroxide is left.
    """
    _within(total_alkali_fraction, 0.0, 1.0, "total alkali")
    _within(carbonate_fraction, 0.0, 1.0, "carbonate")
    counted = 2.0 * constant(f"molar_mass_{alkali}").value / constant(f"molar_mass_{CARBONATE_OF[alkali]}").value
    left = total_alkali_fraction - carbonate_fraction * counted
    if left <= 0.0:
        raise ValueError("more carbonate than the total alkali accounts for: no hydroxide is left")
    return left


def acid_uptake_koh_g(additive: Additive, mass_g: float, strength_fraction: float = 1.0) -> float:
    """KOH [g] that an acid additive takes: mass · strength · acid groups / M(acid) · M(KOH); 0 for what is no acid.

    10 g of anhydrous citric acid take 8.76 g KOH, that is 6.25 g NaOH. Raises ValueError outside 0 to 1 of strength.
    """
    _within(strength_fraction, 0.0, 1.0, "the strength")
    _within(mass_g, 0.0, float("inf"), "the mass")
    if not additive.takes_alkali or additive.molar_mass_g_per_mol is None:
        return 0.0
    moles = mass_g * strength_fraction * additive.basicity / additive.molar_mass_g_per_mol
    return moles * constant("molar_mass_koh").value


def acid_value_of(additive: Additive) -> float:
    """What a gram of an additive's pure acid takes [mg KOH/g]; 0 for what is no acid."""
    return 1000.0 * acid_uptake_koh_g(additive, 1.0)


def neutralisation_water_g(additive: Additive, mass_g: float, strength_fraction: float = 1.0) -> float:
    """Water [g] that is made when an acid additive takes up lye: one H2O for each KOH.

    10 g of anhydrous citric acid make 2.81 g. Ranges and errors are those of `acid_uptake_koh_g`.
    """
    moles = acid_uptake_koh_g(additive, mass_g, strength_fraction) / constant("molar_mass_koh").value
    return moles * constant("molar_mass_water").value


def products(
    oils_g: float, triglyceride_koh_g: float, free_acid_koh_g: float, alkali: Hydroxide, superfat_fraction: float
) -> Products:
    """Glycerol, water and dry soap [g] of a batch from its demands at full saponification [g KOH].

    Esters of glycerol give glycerol and no water. Free acids give water and no glycerol. Waxes give neither. Both
    demands get the same discount. `alkali` is what goes to the oils.
    1 kg, SV 190: 103.958 g glycerol, 1031.49 g soap (rows A6 and A7 of physics_check_values.csv).
    """
    koh = constant("molar_mass_koh").value
    share = 1.0 - superfat_fraction
    glycerol_g = share * triglyceride_koh_g / koh / 3.0 * constant("molar_mass_glycerol").value
    water_g = share * free_acid_koh_g / koh * constant("molar_mass_water").value
    return Products(glycerol_g, water_g, oils_g + math.fsum(alkali) - glycerol_g - water_g)
