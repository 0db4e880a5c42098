"""Lots of soap set aside, made by hand."""

from calc.batch.soap import SoapLot
from calc.scent.carried import CarriedScent


def scent(name="Reed", load=0.02, limit=0.1, allergens=None, **changes):
    plain = {
        "name": name, "load_fraction": load, "limit_fraction": limit, "allergens": allergens, "named": (), "incomplete": (),
        "unknown": (),
    }  # fmt: skip
    return CarriedScent(**(plain | changes))


def lot(id_="A:1", **changes):
    """Ten kilograms of soap of 5 % superfat with 20 % of water, made of olive oil."""
    plain = {
        "id": id_, "soap": "Old", "formula": "f", "age_days": 0, "told_g": 10_000.0, "used_g": 0.0, "planned_g": 0.0,
        "water_low_fraction": 0.2, "water_high_fraction": 0.2, "demand_low_koh_per_g": 0.13, "demand_high_koh_per_g": 0.13,
        "superfat_fraction": 0.05, "superfat_low_fraction": 0.03, "superfat_high_fraction": 0.07, "scents": (),
        "ingredients": ("Olive oil (virgin and refined)",), "asks": "",
    }  # fmt: skip
    return SoapLot(**(plain | changes))
