"""How much scent may go into a bar: by IFRA Standards, category 9, and by EU law, each apart; and what limits it.

A constituent's limit L (fraction of the finished product) allows the scent up to L divided by the constituent's content
of the scent, at the top of its range. All loads are cautious: no scent is taken to be lost in making or cure.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.fragrance_material import ANALYSIS, Part, shares_of
from calc.fragrance_sources import Higher, at_highest, higher
from calc.language import all_of, later, tr
from calc.reference_fragrance import FragranceRule, fragrance_rules

MARKETS = {
    "IFRA": later("IFRA Standards, up to the 51st Amendment (2023), category 9"),
    "EU": later("EU law, Regulation (EC) 1223/2009"),
}
RULE_SETS = {"both": ("IFRA", "EU"), "eu": ("EU",), "ifra": ("IFRA",)}
CERTIFICATE = "certificate"


@dataclass(frozen=True)
class Bound:
    """One thing that limits the scent. Fractions 0..1: limit and load of the finished product, content of the scent."""

    market: str
    key: str  # of the constituent, the same in every set of rules; CERTIFICATE where only that is known
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
    """What one set of rules says. bounds: tightest first; loose: those that not even scent alone would reach."""

    key: str
    bounds: tuple[Bound, ...]
    loose: tuple[Bound, ...]
    prohibited: tuple[str, ...]
    unknown: tuple[str, ...]  # materials of which too little is known to answer

    @property
    def title(self) -> str:
        """The rules by their name and edition."""
        return tr(MARKETS[self.key])

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
    second_sources: tuple[Higher, ...]
    lower: Bound | None  # what would bind if the highest of all sources were counted, where that lets in less
    memory_alone: tuple[str, ...]  # materials of which every figure counted is from memory

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
        return _tightest(self.markets)

    @property
    def bounds(self) -> tuple[Bound, ...]:
        """All bounds, tightest first."""
        found = [bound for market in self.markets for bound in market.bounds]
        return tuple(sorted(found, key=lambda bound: bound.load_fraction))

    @property
    def reasons(self) -> tuple[tuple[Bound, ...], ...]:
        """The bounds by constituent, tightest first, each with what every set of rules says of it."""
        found: dict[str, dict[str, Bound]] = {}
        for bound in self.bounds:
            found.setdefault(bound.key, {}).setdefault(bound.market, bound)
        for bound in (bound for market in self.markets for bound in market.loose if bound.key in found):
            found[bound.key].setdefault(bound.market, bound)
        return tuple(tuple(each.values()) for each in found.values())


def law(bound: Bound) -> str:
    """Whose rule a bound is, in two words."""
    return tr("EU law") if bound.market == "EU" else "IFRA"


def passes(load_fraction: float, bound: Bound | None) -> bool:
    """Whether a share of the finished product (0..1) is within a bound; always where there is none."""
    return bound is None or load_fraction <= bound.load_fraction * (1.0 + 1e-12)


def scent_limits(parts: Sequence[Part], rule_set: str = "both") -> ScentLimits:
    """The limits of a scent. parts: shares that sum to 1; rule_set: a key of RULE_SETS."""
    parts = shares_of(parts)
    markets = [_market(key, parts) for key in RULE_SETS[rule_set]]
    markets.sort(key=lambda market: math.inf if market.load_fraction is None else market.load_fraction)
    highest = [Part(at_highest(part.material), part.share_fraction) for part in parts]
    binding, lower = _tightest(markets), _tightest([_market(key, highest) for key in RULE_SETS[rule_set]])
    if lower and binding and lower.load_fraction >= binding.load_fraction * (1.0 - 1e-9):
        lower = None
    present = {content.limit_key for part in parts for content in part.material.counted if content.high_fraction > 0.0} - {""}
    held = [rule for rule in fragrance_rules() if rule.limit_key in present and rule.market in RULE_SETS[rule_set]]
    return ScentLimits(
        tuple(markets),
        tuple(rule for rule in held if rule.kind == "specification"),
        tuple(rule for rule in held if rule.kind == "none" and "phototox" in rule.note),
        tuple(each for part in parts for each in higher(part.material)),
        lower,
        tuple(part.material.name for part in parts if _memory_alone(part)),
    )


def _tightest(markets: Sequence[Market]) -> Bound | None:
    bounds = [bound for market in markets for bound in market.bounds[:1]]
    return min(bounds, key=lambda bound: bound.load_fraction, default=None)


def _memory_alone(part: Part) -> bool:
    return bool(part.material.counted) and all(content.how == "memory" for content in part.material.counted)


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
    whole = {c.limit_key for c in held if c.whole or c.source == ANALYSIS}
    prohibited = tuple(dict.fromkeys(tr(rule.constituent) for rule in rules if rule.kind == "prohibition" and rule.limit_key in whole))
    unknown = tuple(part.material.name for part in open_parts if not part.material.known)
    tight, loose = ([bound for bound in bounds if (bound.load_fraction > 1.0) == over] for over in (False, True))
    return Market(key, tuple(tight), tuple(loose), prohibited, unknown)


def _bound(rule: FragranceRule, parts: Sequence[Part]) -> Bound | None:
    """How far a rule lets the scent go; None where nothing of it is known to be in."""
    held = [
        (part.material.name, part.share_fraction * content.high_fraction, content)
        for part in parts
        for content in part.material.counted
        if content.limit_key in rule.summed_keys and content.high_fraction > 0.0
    ]
    content_fraction = math.fsum(amount for _, amount, _ in held)
    if content_fraction <= 0.0 or rule.most_fraction is None:
        return None
    by_name: dict[str, float] = {}
    for name, amount, _ in held:
        by_name[name] = by_name.get(name, 0.0) + amount
    keys = sorted({content.limit_key for _, _, content in held})
    return Bound(
        rule.market,
        "+".join(keys),
        tr(rule.constituent) if keys == [rule.limit_key] else _together(rule.market, keys),
        tuple(sorted(by_name, key=lambda name: -by_name[name])),
        rule.most_fraction,
        content_fraction,
        rule.most_fraction / content_fraction,
        tr(rule.edition),
        tr(rule.note) if rule.note else "",
        rule.how == "memory" or any(content.how == "memory" for _, _, content in held),
    )


def _together(market: str, keys: Sequence[str]) -> str:
    """Several materials that one limit holds for."""
    rules = [rule for rule in fragrance_rules() if (rule.market, rule.kind) == (market, "restriction")]
    return all_of(list(dict.fromkeys(tr(rule.constituent) for rule in rules if rule.limit_key in keys)))


def _one_each(bounds: Sequence[Bound]) -> list[Bound]:
    """Tightest first; of two rules about one constituent the stricter."""
    found: dict[str, Bound] = {}
    for bound in sorted(bounds, key=lambda bound: bound.load_fraction):
        found.setdefault(bound.key, bound)
    return list(found.values())


def _with_certificates(certified: Sequence[Part], bounds: Sequence[Bound]) -> list[Bound]:
    """Certificates say nothing of what limits them: with all else they combine as 1/(sum of shares by limits).

    That is never looser than any bound by itself.
    """
    used = math.fsum(part.share_fraction / _certificate(part) for part in certified)
    names = tuple(part.material.name for part in certified)
    editions = ", ".join(dict.fromkeys(part.material.certificate or tr("no edition stated") for part in certified))
    alone = 1.0 / used
    share = math.fsum(part.share_fraction for part in certified)
    words = tr("the supplier's certificate") if len(certified) == 1 else tr("the suppliers' certificates together")
    first = Bound("IFRA", CERTIFICATE, words, names, alone * share, share, alone, editions, "", False)
    if not bounds:
        return [first]
    tight = bounds[0]
    load = 1.0 / (used + 1.0 / tight.load_fraction)
    both = Bound(
        "IFRA",
        CERTIFICATE,
        tr("{certificate} with {what}", certificate=words, what=tight.what),
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
