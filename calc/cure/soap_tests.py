"""Free alkali and moisture of soap from burette and balance, as the laboratory methods count them.

Free caustic alkali as ISO 456, total free alkali as ISO 684, moisture as ISO 672. The formulas are the methods' own arithmetic.
"""

from dataclasses import dataclass

from calc.tables.reference import constant

MOLAR_MASS = {"naoh": "molar_mass_naoh", "koh": "molar_mass_koh"}


@dataclass(frozen=True)
class FreeAlkali:
    """Free alkali as the share of the sample [g/g], counted as the alkali of the soap."""

    fraction: float
    # What one drop of the burette counts for.
    drop_fraction: float


def free_caustic(volume_ml: float, normality_mol_per_l: float, sample_g: float, alkali: str) -> FreeAlkali:
    """Free caustic alkali by one titration with acid (ISO 456): V c M / (10 m) per cent.

    volume_ml: acid used, 0 or more. normality_mol_per_l: acid that it gives [mol of H+ per litre], above 0. sample_g: above 0.
    """
    return FreeAlkali(_share(volume_ml * normality_mol_per_l, sample_g, alkali), _share(constant("burette_drop").value * normality_mol_per_l, sample_g, alkali))


def total_free_alkali(
    acid_ml: float, acid_mol_per_l: float, back_ml: float, back_mol_per_l: float, sample_g: float, alkali: str
) -> FreeAlkali:
    """Free caustic and carbonate together by back titration (ISO 684); negative where the soap holds free acid."""
    left = acid_ml * acid_mol_per_l - back_ml * back_mol_per_l
    return FreeAlkali(_share(left, sample_g, alkali), _share(constant("burette_drop").value * back_mol_per_l, sample_g, alkali))


def moisture_fraction(before_g: float, after_g: float) -> float:
    """What leaves in the oven at 103 °C until two weighings agree (ISO 672), as a share of the sample before [g/g]."""
    return (before_g - after_g) / before_g


def _share(millimoles: float, sample_g: float, alkali: str) -> float:
    return millimoles / 1000.0 * constant(MOLAR_MASS[alkali]).value / sample_g
