"""What goes into a scent: essential oils by the table or by a lot's own papers, and fragrance oils by theirs alone."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from calc.language import later, tr
from calc.problems import InputProblems, Problem
from calc.reference import ValueRange
from calc.reference_fragrance import (
    Allergen,
    Content,
    EssentialOil,
    FragranceRule,
    fragrance_allergens,
    fragrance_rules,
)
from calc.shown import decimal_of, percent
from calc.workshop import Analysed, Scent, ScentLot

LOT_PREFIX = "lot:"
LABEL_PREFIX = "label:"
ANALYSIS = "the supplier's analysis of this lot"
# Percentages of a blend are typed to a tenth at best; common practice, no source.
SHARE_SLACK = Decimal("0.001")


@dataclass(frozen=True, kw_only=True)
class Material:
    """One material of a scent. Fractions 0..1; temperatures in °C.

    known: its constituents are listed somewhere, for certain not all of them. certificate_fraction: the most of it in a
    finished product of IFRA category 9 by the supplier's certificate; None without one.
    """

    name: str
    contents: tuple[Content, ...]
    known: bool
    oil_key: str = ""
    inci_name: str = ""
    lot: str = ""
    certificate_fraction: float | None = None
    certificate: str = ""
    flash_point: ValueRange | None = None
    relative_density: ValueRange | None = None
    behaviour: str = ""

    @property
    def counted(self) -> tuple[Content, ...]:
        """The constituents that are summed; second sources and totals left out."""
        return tuple(content for content in self.contents if content.counts)


@dataclass(frozen=True)
class Part:
    """A material and its share of the scent by mass (0..1)."""

    material: Material
    share_fraction: float


def of_oil(oil: EssentialOil) -> Material:
    """An essential oil as the table knows it."""
    return Material(
        name=tr(oil.name),
        contents=oil.contents,
        known=bool(oil.contents),
        oil_key=oil.key,
        inci_name=oil.inci_name,
        flash_point=oil.flash_point,
        relative_density=oil.relative_density,
        behaviour=oil.behaviour,
    )


def of_lot(lot: ScentLot, oils: Mapping[str, EssentialOil]) -> Material:
    """A lot: its papers stand above the table.

    Raises InputProblems for an oil that the table doesn't have, and for an analysis that names what nobody knows, or
    the oil itself: a limit on the whole oil stays whatever is in it.
    """
    if lot.material == "essential":
        oil = oils.get(lot.essential_oil or "")
        if oil is None:
            raise InputProblems(
                Problem("essential_oil", "oil-unknown", tr("There is no such essential oil."), tr("Choose one from the list."))
            )
        plain = of_oil(oil)
    else:
        plain = Material(name=lot.name or lot.code, contents=(), known=False)
    analysed = tuple(_analysed(number, row, plain) for number, row in enumerate(lot.analysis))
    kept = tuple(content for content in plain.contents if not any(content.is_of(new) for new in analysed))
    found = replace(
        plain,
        lot=lot.code,
        contents=(*kept, *analysed),
        certificate_fraction=lot.certificate_max_fraction,
        certificate=lot.certificate_edition or "",
    )
    if lot.flash_point_c is None:
        return found
    sheet = ValueRange(lot.flash_point_c, lot.flash_point_c, "°C", later("the lot's safety data sheet"), "read")
    return replace(found, flash_point=sheet)


def constituents() -> dict[str, str]:
    """What an analysis can name, by key: what is limited, prohibited, or has to be named on the label."""

    def ruled(kind: str) -> dict[str, str]:
        return {rule.limit_key: rule.constituent for rule in fragrance_rules() if rule.kind == kind and rule.limit_key}

    named = {_key_of(allergen): allergen.label_name for allergen in fragrance_allergens()}
    found = {**named, **ruled("prohibition"), **ruled("restriction")}
    return dict(sorted(found.items(), key=lambda pair: pair[1].casefold()))


def _key_of(allergen: Allergen) -> str:
    return allergen.limit_key or f"{LABEL_PREFIX}{allergen.label_name}"


def _analysed(number: int, row: Analysed, plain: Material) -> Content:
    key, field = row.constituent, f"analysis.{number}.constituent"
    about: list[FragranceRule | Allergen] = [rule for rule in fragrance_rules() if rule.limit_key == key]
    about += [allergen for allergen in fragrance_allergens() if _key_of(allergen) == key]
    if not about:
        raise InputProblems(Problem(field, "constituent-unknown", tr("There is no constituent {key}.", key=key), tr("Choose one from the list.")))
    itself = {content.limit_key for content in plain.contents if content.whole}
    itself |= {_key_of(allergen) for allergen in fragrance_allergens() if plain.oil_key in allergen.oil_keys}
    name = constituents().get(key, about[0].constituent if isinstance(about[0], FragranceRule) else key)
    if key in itself:
        message = tr("The analysis names “{name}”, which is this oil itself: its limit is on all of the oil.", name=tr(name))
        remedy = tr("Remove this row; name what the oil holds.")
        raise InputProblems(Problem(field, "constituent-is-the-oil", message, remedy))
    cas = frozenset().union(*(each.cas for each in about))
    limit_key = "" if key.startswith(LABEL_PREFIX) else key
    return Content(name, 0.0, row.most_fraction, ANALYSIS, "read", "", limit_key, cas, True)


def blend(scent: Scent, materials: Mapping[str, Material]) -> tuple[Part, ...]:
    """The parts of a saved scent with their shares by mass.

    materials: by the key of an essential oil or by "lot:" and the lot's id. Drops are taken as equal volumes, weighed by
    relative density where it is known (common practice, no source). Raises InputProblems, all faults at once.
    """
    faults: list[Problem] = []
    amounts: list[tuple[Material, float]] = []
    for number, row in enumerate(scent.parts):
        material = materials.get(row.material)
        if material is None:
            message = tr("This material is not there any more.")
            faults.append(Problem(f"parts.{number}.material", "material-missing", message, tr("Choose another.")))
            continue
        by_mass = scent.measured_by == "percent"
        amount = row.share_fraction if by_mass else row.drops
        if amount is None:
            if by_mass:
                field, message, remedy = "share_fraction", tr("{name} has no share.", name=material.name), tr("Type its share.")
            else:
                field, remedy = "drops", tr("Type its number of drops.")
                message = tr("{name} has no number of drops.", name=material.name)
            faults.append(Problem(f"parts.{number}.{field}", "amount-missing", message, remedy))
            continue
        if scent.measured_by == "drops":
            amount = amount * density(material)
        amounts.append((material, float(amount)))
    total = math.fsum(amount for _, amount in amounts)
    if not faults and not total > 0.0:
        faults.append(Problem("parts", "nothing-in-it", tr("There is nothing in this scent."), tr("Give each material its share.")))
    # As it was typed: 99.9 % is a tenth short, though its binary value lies a hair below.
    if not faults and scent.measured_by == "percent" and abs(decimal_of(total) - 1) > SHARE_SLACK:
        message = tr("The shares add up to {share}, not 100 %.", share=percent(total, 10))
        faults.append(Problem("parts", "shares-not-whole", message, tr("Correct the shares.")))
    if faults:
        raise InputProblems(*faults)
    return tuple(Part(material, amount / total) for material, amount in amounts)


def density(material: Material) -> float:
    """Relative density of a drop: the middle of the published range, 1 where none is known (1)."""
    span = material.relative_density
    ends = [] if span is None else [end for end in (span.low, span.high) if end is not None]
    return math.fsum(ends) / len(ends) if ends else 1.0


def shares_of(parts: Iterable[Part]) -> Sequence[Part]:
    """The same parts with equal materials as one: how a scent is split into entries changes nothing."""
    found: dict[Material, float] = {}
    for part in parts:
        found[part.material] = found.get(part.material, 0.0) + part.share_fraction
    return [Part(material, share) for material, share in found.items()]
