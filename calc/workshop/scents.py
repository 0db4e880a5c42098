"""Scents: lots with their papers, and the mixes that a workshop makes again and again."""

from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, choice, count, item, rows, share, temperature, text
from calc.entry.language import later
from calc.workshop.deliveries import SmallDelivery

# A supplier's list of all allergens that a label may have to name, with room to spare.
LIST_LENGTH = 5000


@dataclass(frozen=True, kw_only=True)
class Analysed:
    """One constituent of a scent lot by its own papers."""

    constituent: str = item(later("Constituent"), kind="constituent")
    most_fraction: float = share(later("At most"), refuse=Range(0.0, 1.0, later("a share is from 0 to 100 %")))


@dataclass(frozen=True, kw_only=True)
class _ScentMaterial:

    code: str = text(later("Lot code"), max_length=NAME_LENGTH, help="Your own code, as written on the bottle.")
    material: str = choice(later("Kind"), options={"fragrance": later("A fragrance oil"), "essential": later("An essential oil")})
    essential_oil: str | None = item(later("Essential oil"), kind="essential_oil", when=("material", "essential"))
    name: str | None = text(later("Its name"), max_length=NAME_LENGTH, when=("material", "fragrance"))
    list_text: str | None = text(
        later("What its papers say is in it"),
        max_length=LIST_LENGTH,
        multiline=True,
        optional=True,
        help="Type or paste the supplier's list: one per line, a name or CAS number, then the percent.",
    )
    eu_statement: str | None = choice(
        later("EU allergen statement"),
        options={"yes": later("Yes, and everything it names is entered here"), "no": later("No")},
        optional=True,
        help="Without it, the label's list is incomplete.",
    )
    certificate_max_fraction: float | None = share(
        later("IFRA certificate: most allowed in category 9"),
        refuse=Range(0.0, 1.0, later("a certificate's limit is from 0 to 100 %")),
        optional=True,
        help="Category 9 is rinse-off soap. 0 means “not for this use”. The lowest of certificate, tables and analysis counts.",
    )
    certificate_edition: str | None = text(
        later("IFRA certificate: its amendment"), max_length=NAME_LENGTH, optional=True, help="The number on it, like 51."
    )
    eu_max_fraction: float | None = share(
        later("EU law: most allowed in soap, from the supplier"),
        refuse=Range(0.0, 1.0, later("a supplier's limit is from 0 to 100 %")),
        optional=True,
        help="Only if its papers say so for EU law. 0 means “not for this use”.",
    )
    flash_point_c: float | None = temperature(
        later("Flash point on the safety data sheet"),
        refuse=Range(0.0, 300.0, later("scents catch fire between about 20 and 200 °C")),
        optional=True,
    )
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    in_use: str = choice(later("In use now"), options={"yes": "Yes", "no": "No"})


@dataclass(frozen=True, kw_only=True)
class ScentLot(SmallDelivery, _ScentMaterial):
    """A delivery of an essential oil or a fragrance oil; its papers stand above the tables."""

    analysis: tuple[Analysed, ...] = rows(
        later("Or one by one: what it contains"),
        of=Analysed,
        minimum=0,
        maximum=120,
        add_label="Add a constituent",
        help="What you enter, here or as a list, replaces the table for this lot; the rest of the table stays.",
    )


@dataclass(frozen=True, kw_only=True)
class ScentPart:
    """One material of a scent."""

    material: str = item(later("Material"), kind="scent_material")
    share_fraction: float | None = share(
        later("Share by mass"),
        refuse=Range(0.000001, 1.0, later("a row needs a share, and no share is more than all")),
        optional=True,
    )
    drops: int | None = count(
        later("Drops"), refuse=Range(1, 100_000, later("a scent by drops has at least one drop of each")), optional=True
    )


@dataclass(frozen=True, kw_only=True)
class Scent:
    """A scent the workshop mixes again and again."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    measured_by: str = choice(
        later("Parts measured in"),
        options={"percent": later("Percent by weight"), "drops": later("Drops")},
        help="Drops differ in size from oil to oil: weigh if you can.",
    )
    parts: tuple[ScentPart, ...] = rows(later("Parts"), of=ScentPart, minimum=1, maximum=20, add_label="Add a material")
