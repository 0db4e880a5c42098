"""What goes into a scent: essential oils by the table or by a lot's own papers, and fragrance oils by theirs alone."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from calc.entry.language import later, tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import decimal_of, percent
from calc.scent.names import LABEL_PREFIX, constituents, key_now, key_of
from calc.scent.supplier_list import supplier_list
from calc.tables.fragrance import Allergen, Content, EssentialOil, FragranceRule, fragrance_allergens, fragrance_rules
from calc.tables.reference import constant
from calc.tables.rows import ValueRange
from calc.workshop.scents import Scent, ScentLot

LOT_PREFIX = "lot:"
ANALYSIS = "the supplier's analysis of this lot"
# As a decimal: shares are summed as they were typed.
SHARE_SLACK = Decimal(repr(constant("blend_share_slack").value))


@dataclass(frozen=True, kw_only=True)
class Material:
    """One material of a scent. Fractions 0..1; temperatures in °C.

    known: whether constituents of it are listed somewhere, though surely not all. certificate_fraction: the most of it in a
    finished product of IFRA category 9 by the supplier's certificate, eu_fraction: by its papers for EU law; None without.
    statement: whether the supplier's EU allergen statement is in, and all of it was read. unread: lines of its list, each
    with why. analyses: where an analysis of the whole oil was read.
    """

    name: str
    contents: tuple[Content, ...]
    known: bool
    oil_key: str = ""
    inci_name: str = ""
    lot: str = ""
    certificate_fraction: float | None = None
    certificate: str = ""
    eu_fraction: float | None = None
    statement: bool = False
    unread: tuple[tuple[str, str], ...] = ()
    analyses: tuple[str, ...] = ()
    flash_point: ValueRange | None = None
    relative_density: ValueRange | None = None
    behaviour: str = ""

    @property
    def counted(self) -> tuple[Content, ...]:
        """The constituents that are summed; second sources, totals and what is recalled left out."""
        return tuple(content for content in self.contents if content.counts)

    def stated(self, market: str) -> float | None:
        """The most of it in the finished product (0..1) that its papers state for "IFRA" or "EU"; None where none do."""
        return self.certificate_fraction if market == "IFRA" else self.eu_fraction

    def answered(self, market: str) -> bool:
        """Whether enough is known to answer for "IFRA" or "EU": by the tables, or by its own papers.

        For EU law there are no further papers than the certificate and the allergen statement.
        """
        if self.known or self.stated(market) is not None:
            return True
        return market == "EU" and self.statement and self.certificate_fraction is not None


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
        analyses=oil.analyses,
        flash_point=oil.flash_point,
        relative_density=oil.relative_density,
        behaviour=oil.behaviour,
    )


def of_lot(lot: ScentLot, oils: Mapping[str, EssentialOil]) -> Material:
    """A lot: what its papers name stands above the table; the limits they state stand beside what its contents give.

    Raises InputProblems for an oil that the table doesn't have, and for an analysis that names what nobody knows, or
    the oil itself: a limit on the whole oil stays whatever is in it.
    """
    if lot.material == "essential":
        oil = oils.get(lot.essential_oil or "")
        if oil is None:
            raise InputProblems(
                Problem("essential_oil", "oil-unknown", tr("There's no such essential oil."), tr("Choose one from the list."))
            )
        plain = of_oil(oil)
    else:
        plain = Material(name=lot.name or lot.code, contents=(), known=False)
    analysed = _all_analysed(lot, plain)
    unread = tuple((line.line, line.why) for line in supplier_list(lot.list_text or "").unread)
    kept = tuple(content for content in plain.contents if not any(content.is_of(new) for new in analysed))
    found = replace(
        plain,
        lot=lot.code,
        contents=(*kept, *analysed),
        certificate_fraction=lot.certificate_max_fraction,
        certificate=lot.certificate_edition or "",
        eu_fraction=lot.eu_max_fraction,
        # A line that nobody could read may be a name for the label.
        statement=lot.eu_statement == "yes" and not unread,
        unread=unread,
    )
    if lot.flash_point_c is None:
        return found
    sheet = ValueRange(lot.flash_point_c, lot.flash_point_c, "°C", later("the lot's safety data sheet"), "read")
    return replace(found, flash_point=sheet)


def _all_analysed(lot: ScentLot, plain: Material) -> tuple[Content, ...]:
    """What its papers name: in its list and row by row. Of one that stands in both the larger share counts."""
    listed = [("list_text", line.key, float(line.percent) / 100.0) for line in supplier_list(lot.list_text or "").read]
    rows = [(f"analysis.{number}.constituent", row.constituent, row.most_fraction) for number, row in enumerate(lot.analysis)]
    largest: dict[str, tuple[str, str, float]] = {}
    for entry in (*rows, *listed):
        key = key_now(entry[1])
        if key not in largest or largest[key][2] < entry[2]:
            largest[key] = entry
    return tuple(_analysed(*entry, plain) for entry in largest.values())


def _analysed(field: str, constituent: str, most_fraction: float, plain: Material) -> Content:
    key = key_now(constituent)
    about: list[FragranceRule | Allergen] = [rule for rule in fragrance_rules() if rule.limit_key == key]
    about += [allergen for allergen in fragrance_allergens() if key_of(allergen) == key]
    if not about:
        raise InputProblems(Problem(field, "constituent-unknown", tr("There's no constituent {key}.", key=key), tr("Choose one from the list.")))
    itself = {content.limit_key for content in plain.contents if content.whole}
    itself |= {key_of(allergen) for allergen in fragrance_allergens() if plain.oil_key in allergen.oil_keys}
    name = constituents().get(key, about[0].constituent if isinstance(about[0], FragranceRule) else key)
    if key in itself:
        message = tr("The analysis names “{name}”, which is this oil itself: its limit is on all of the oil.", name=tr(name))
        remedy = tr("Remove this row and name what's in the oil.")
        raise InputProblems(Problem(field, "constituent-is-the-oil", message, remedy))
    cas = frozenset().union(*(each.cas for each in about))
    limit_key = "" if key.startswith(LABEL_PREFIX) else key
    return Content(name, 0.0, most_fraction, ANALYSIS, "read", "", limit_key, cas, True)


def parts_of(scent: Scent, materials: Mapping[str, Material]) -> tuple[Part, ...]:
    """The parts of a saved scent with their shares by mass.

    materials: by the key of an essential oil or by "lot:" and the lot's id. Drops are taken as equal volumes, weighed by
    relative density where it is known (common practice, no source). Raises InputProblems, all faults at once.
    """
    faults: list[Problem] = []
    amounts: list[tuple[Material, float]] = []
    for number, row in enumerate(scent.parts):
        material = materials.get(row.material)
        if material is None:
            message = tr("This material is no longer there.")
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
        faults.append(Problem("parts", "nothing-in-it", tr("There's nothing in this scent."), tr("Give each material its share.")))
    # As it was typed: 99.9 % is a tenth short, though its binary value lies a hair below.
    typed = decimal_of(total)
    if not faults and scent.measured_by == "percent" and abs(typed - 1) > SHARE_SLACK:
        message = tr("The shares add up to {share}, not 100 %.", share=percent(total, 10))
        faults.append(Problem("parts", "shares-not-whole", message, tr("Correct the shares.")))
    if faults:
        raise InputProblems(*faults)
    whole = 1.0 if typed == 1 else total
    return tuple(Part(material, amount / whole) for material, amount in amounts)


def density(material: Material) -> float:
    """Relative density of a drop: the middle of the published range, 1 where none is known (1)."""
    span = material.relative_density
    ends = [] if span is None else [end for end in (span.low, span.high) if end is not None]
    return math.fsum(ends) / len(ends) if ends else 1.0


def shares_of(parts: Iterable[Part]) -> Sequence[Part]:
    """The same parts with equal materials as one: how a scent is split into entries changes nothing."""
    found: dict[Material, Fraction] = {}
    for part in parts:
        # As decimals: 10 and 20 % are 30 %.
        found[part.material] = found.get(part.material, Fraction(0)) + Fraction(repr(part.share_fraction))
    return [Part(material, float(share)) for material, share in found.items()]
