"""What a supplier's papers leave open or contradict: said beside the answer, never settled by it.

Papers do not silence the tables or the lot's analysis: of all limits the lowest holds.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from calc.entry.language import tr
from calc.entry.problems import Caution
from calc.entry.quantity_text import quoted
from calc.entry.shown import percent_down
from calc.scent.limits import RULE_SETS, scent_limits
from calc.scent.material import Material, Part, shares_of
from calc.tables.fragrance import fragrance_rules


@cache
def newest_amendment() -> int:
    """The newest amendment to the IFRA Standards that the tables know: each row names its own, as "51 (2023)"."""
    return max(int(rule.edition.split()[0]) for rule in fragrance_rules() if rule.market == "IFRA")


def amendment_of(words: str) -> int | None:
    """The amendment's number in what was typed: 51 for "51", "51st Amendment, 2023" or "Amendment 51"; None without one."""
    beside = re.search(r"(?<!\d)(\d{2})(?:st|nd|rd|th|\.|ª)?\s*(?:amend|enmienda)|(?:amendment|enmienda)\D{0,6}(\d{2})(?!\d)", words.lower())
    plain = re.search(r"(?<!\d)(\d{2})(?!\d)", words)
    return int(next(found for found in beside.groups() if found)) if beside else int(plain[1]) if plain else None


def paper_cautions(parts: Sequence[Part], rule_set: str, field: str) -> tuple[Caution, ...]:
    """What is said about the papers of a scent's lots. field: where the scent is chosen."""
    materials = dict.fromkeys(part.material for part in shares_of(parts))
    found = []
    for material in materials:
        if "IFRA" in RULE_SETS[rule_set]:
            found += _amendment(material, field)
        found += [each for market in RULE_SETS[rule_set] if (each := _contradiction(material, market, field))]
        found += [_unread(material, line, why, field) for line, why in material.unread]
    return tuple(found)


def _amendment(material: Material, field: str) -> list[Caution]:
    if material.certificate_fraction is None:
        return []
    number, newest = amendment_of(material.certificate), newest_amendment()
    if number is None:
        message = tr("{name}: the amendment on its IFRA certificate isn't entered.", name=material.name)
        return [Caution(field, "certificate-undated", message, tr("Read it off the certificate and enter its number under the "
                                                                  "lot."))]
    if number < newest:
        message = tr("{name}: its IFRA certificate is old. It's by amendment {number}; the Standards are at {newest}.",
                     name=material.name, number=number, newest=newest)  # fmt: skip
        return [Caution(field, "certificate-old", message, tr("Ask the supplier for one by the newest amendment."))]
    return []


def _unread(material: Material, line: str, why: str, field: str) -> Caution:
    return Caution(field, "line-unread", tr("{name}: not counted: {line}.", name=material.name, line=quoted(line)), why)


def _contradiction(material: Material, market: str, field: str) -> Caution | None:
    """Papers that allow more than what is in the material."""
    stated = material.stated(market)
    bare = replace(material, certificate_fraction=None, eu_fraction=None)
    own = next(found for found in scent_limits([Part(bare, 1.0)], "ifra" if market == "IFRA" else "eu").markets)
    if not stated or not own.bounds or stated <= own.bounds[0].load_fraction * (1.0 + 1e-9):
        return None
    tight = own.bounds[0]
    message = tr(
        "{name}: its papers allow {stated} of the bar by {law}. What's known to be in it allows {least}, because of {what}. "
        "The lower one counts.",
        name=material.name, stated=percent_down(stated, 2), law=tr("EU law") if market == "EU" else "IFRA",
        least=percent_down(tight.load_fraction, 2), what=tight.what,
    )  # fmt: skip
    return Caution(field, "papers-contradicted", message, tr("Ask the supplier for an analysis of the lot and enter it: that settles it."))
