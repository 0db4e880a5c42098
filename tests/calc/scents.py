"""Scents to test with: oils as the tables know them, and lots of the maker's."""

from calc.scent.material import Material, Part, of_lot, of_oil
from calc.tables.fragrance import essential_oils
from calc.workshop.scents import Analysed, ScentLot


def oil(key: str) -> Material:
    return of_oil(essential_oils()[key])


def mixed(**shares: float) -> list[Part]:
    return [Part(oil(key), share) for key, share in shares.items()]


def lot(**fields: object) -> Material:
    """A lot of the fragrance oil Reed, with these fields changed."""
    plain = {
        "code": "L-1", "material": "fragrance", "essential_oil": None, "name": "Reed", "supplier": None, "in_use": "yes",
        "certificate_max_fraction": None, "certificate_edition": None, "eu_statement": None, "eu_max_fraction": None,
        "flash_point_c": None, "analysis": (),
    }  # fmt: skip
    return of_lot(ScentLot(**(plain | fields)), essential_oils())


def analysis(**most: float) -> tuple[Analysed, ...]:
    return tuple(Analysed(constituent=key, most_fraction=fraction) for key, fraction in most.items())
