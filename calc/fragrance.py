"""How much scent may go into a bar: by IFRA Standards, category 9, and by EU law, each apart; and what limits it.

A constituent's limit L (fraction of the finished product) allows the scent up to L divided by the constituent's content
of the scent, at the top of its range. All loads are cautious: no scent is taken to be lost in making or cure.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.fragrance_material import ANALYSIS, Part, shares_of
from calc.reference_fragrance import WHOLE, FragranceRule, fragrance_rules

MARKETS = {"IFRA": "IFRA Standards, up to the 51st Amendment (2023), category 9", "EU": "EU law, Regulation (EC) 1223/2009"}
RULE_SETS = {"both": ("IFRA", "EU"), "eu": ("EU",), "ifra": ("IFRA",)}


@dataclass(frozen=True)
class Bound:
    """One thing that limits the scent. Fractions 0..1: limit and load of the finished product, content of the scent."""

    market: str
    what: str
    materials: tuple[str, ...]  # those it comes from, most of it first
    limit_fraction: float
    content_fraction: float
    load_fraction: float
    edition: str
    note: str
    from_memory: bool


@dataclass(frozen=True)
class Market:
    """What one set of rules says. bounds: tightest first, those over 100 % left out."""

    key: str
    bounds: tuple[Bound, ...]
    prohibited: tuple[str, ...]
    unknown: tuple[str, ...]  # materials of which too little is known to answer

    @property
    def title(self) -> str:
        """The rules by their name and edition."""
        return MARKETS[self.key]

    @property
    def load_fraction(self) -> float | None:
        """The largest share of the scent in the finished product (0..1); None when nothing known limits it."""
        return self.bounds[0].load_fraction if self.bounds else None


@dataclass(frozen=True)
class ScentLimits:
    """A scent under the rules that bind the workshop, strictest first."""

    markets: tuple[Market, ...]
    checks: tuple[FragranceRule, ...]  # what must be checked on the material itself
    phototoxic: tuple[FragranceRule, ...]
    second_sources: tuple[str, ...]  # where another source gives a higher content than the one counted

    @property
    def prohibited(self) -> tuple[str, ...]:
        """What may not be used at all."""
        return tuple(dict.fromkeys(what for market in self.markets for what in market.prohibited))

    @property
    def unknown(self) -> tuple[str, ...]:
        """Materials of which too little is known to answer."""
        return tuple(dict.fromkeys(what for market in self.markets for what in market.unknown))

    @property
    def binding(self) -> Bound | None:
        """The tightest bound of all; None when nothing known limits the scent."""
        bounds = [bound for market in self.markets for bound in market.bounds[:1]]
        return min(bounds, key=lambda bound: bound.load_fraction, default=None)

    @property
    def bounds(self) -> tuple[Bound, ...]:
        """All bounds, tightest first."""
        found = [bound for market in self.markets for bound in market.bounds]
        return tuple(sorted(found, key=lambda bound: bound.load_fraction))


def scent_limits(parts: Sequence[Part], rule_set: str = "both") -> ScentLimits:
    """The limits of a scent. parts: shares that sum to 1; rule_set: a key of RULE_SETS."""
    parts = shares_of(parts)
    markets = [_market(key, parts) for key in RULE_SETS[rule_set]]
    markets.sort(key=lambda market: math.inf if market.load_fraction is None else market.load_fraction)
    present = {content.limit_key for part in parts for content in part.material.counted if content.high_fraction > 0.0} - {""}
    held = [rule for rule in fragrance_rules() if rule.limit_key in present and rule.market in RULE_SETS[rule_set]]
    return ScentLimits(
        tuple(markets),
        tuple(rule for rule in held if rule.kind == "specification"),
        tuple(rule for rule in held if rule.kind == "none" and "phototox" in rule.note),
        tuple(_second_sources(parts)),
    )


def _market(key: str, parts: Sequence[Part]) -> Market:
    certified = [p for p in parts if key == "IFRA" and p.material.certificate_fraction is not None]
    open_parts = [p for p in parts if p not in certified]
    rules = [rule for rule in fragrance_rules() if rule.market == key and rule.limit_key]
    bounds = [found for rule in rules if rule.kind == "restriction" if (found := _bound(rule, open_parts)) is not None]
    bounds = _one_each(bounds)
    if certified:
        bounds = _with_certificates(certified, bounds)
    # A natural content is no prohibited material; what a lot's own papers name is.
    held = [c for p in parts for c in p.material.counted if c.high_fraction > 0.0]
    whole = {c.limit_key for c in held if c.name == WHOLE or c.source == ANALYSIS}
    prohibited = tuple(dict.fromkeys(rule.constituent for rule in rules if rule.kind == "prohibition" and rule.limit_key in whole))
    unknown = tuple(part.material.name for part in open_parts if not part.material.known)
    return Market(key, tuple(bound for bound in bounds if bound.load_fraction <= 1.0), prohibited, unknown)


def _bound(rule: FragranceRule, parts: Sequence[Part]) -> Bound | None:
    """How far a rule lets the scent go; None where nothing of it is known to be in."""
    held = [
        (part.material.name, part.share_fraction * content.high_fraction, content.how)
        for part in parts
        for content in part.material.counted
        if content.limit_key == rule.limit_key
    ]
    content_fraction = math.fsum(amount for _, amount, _ in held)
    if content_fraction <= 0.0 or rule.most_fraction is None:
        return None
    by_name: dict[str, float] = {}
    for name, amount, _ in held:
        by_name[name] = by_name.get(name, 0.0) + amount
    return Bound(
        rule.market,
        rule.constituent,
        tuple(sorted(by_name, key=lambda name: -by_name[name])),
        rule.most_fraction,
        content_fraction,
        rule.most_fraction / content_fraction,
        rule.edition,
        rule.note,
        rule.how == "memory" or any(how == "memory" for _, _, how in held),
    )


def _one_each(bounds: Sequence[Bound]) -> list[Bound]:
    """Tightest first; of two rules about one constituent the stricter."""
    found: dict[tuple[str, float], Bound] = {}
    for bound in sorted(bounds, key=lambda bound: bound.load_fraction):
        found.setdefault((bound.what, bound.content_fraction), bound)
    return list(found.values())


def _with_certificates(certified: Sequence[Part], bounds: Sequence[Bound]) -> list[Bound]:
    """Certificates say nothing of what limits them: with all else they combine as 1/(sum of shares by limits).

    That is never looser than any bound by itself.
    """
    used = math.fsum(part.share_fraction / _certificate(part) for part in certified)
    names = tuple(part.material.name for part in certified)
    editions = ", ".join(dict.fromkeys(part.material.certificate or "no edition stated" for part in certified))
    alone = 1.0 / used
    share = math.fsum(part.share_fraction for part in certified)
    words = "the supplier's certificate" if len(certified) == 1 else "the suppliers' certificates together"
    first = Bound("IFRA", words, names, alone * share, share, alone, editions, "", False)
    if not bounds:
        return [first]
    tight = bounds[0]
    load = 1.0 / (used + 1.0 / tight.load_fraction)
    both = Bound(
        "IFRA",
        f"{words} with {tight.what}",
        (*names, *tight.materials),
        load * share,
        share,
        load,
        f"{editions}; {tight.edition}",
        tight.note,
        tight.from_memory,
    )
    return [both, *sorted([first, *bounds], key=lambda bound: bound.load_fraction)]


def _certificate(part: Part) -> float:
    most = part.material.certificate_fraction
    assert most is not None
    return most


def _second_sources(parts: Sequence[Part]) -> list[str]:
    found = []
    for part in parts:
        for other in part.material.contents:
            counted = math.fsum(c.high_fraction for c in part.material.counted if c.limit_key and c.limit_key == other.limit_key)
            if not other.counts and counted and other.high_fraction > counted and other.name.lower() in {
                c.name.lower() for c in part.material.counted
            }:
                found.append(f"{part.material.name}: {other.name} up to {100.0 * other.high_fraction:.4g} % by {other.source}")
    return list(dict.fromkeys(found))


# Amounts --------------------------------------------------------------------------------------------------------------


def largest_scent_g(load_fraction: float, rest_g: float) -> float:
    """Scent [g] that makes up a share of the finished product: m = L·B/(1 - L).

    load_fraction: 0..1, 1 gives infinity; rest_g: the finished product without the scent [g], above 0.
    """
    if not (0.0 <= load_fraction <= 1.0 and rest_g > 0.0):
        raise ValueError("A load lies between 0 and 1, and a product weighs more than nothing.")
    return math.inf if load_fraction == 1.0 else load_fraction * rest_g / (1.0 - load_fraction)


def load_of(scent_g: float, rest_g: float) -> float:
    """The share of so much scent [g] in the finished product (0..1), m/(B + m)."""
    if not (scent_g >= 0.0 and rest_g > 0.0):
        raise ValueError("A scent weighs nothing or more, and a product weighs more than nothing.")
    return scent_g / (rest_g + scent_g)


def rounded_down_g(mass_g: float, division_g: float) -> float:
    """A mass [g] rounded down to a display's division [g]: a limit is never rounded up."""
    return math.floor(mass_g / division_g * (1.0 + 1e-12)) * division_g
