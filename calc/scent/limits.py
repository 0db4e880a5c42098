"""How much scent may go into a bar: by IFRA Standards, category 9, and by EU law, each apart; and what limits it.

A constituent's limit L (fraction of the finished product) allows the scent up to L divided by the constituent's content
of the scent, at the top of its range. All loads are cautious: no scent is taken to be lost in making or cure.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import reduce
from operator import add

from calc.entry.language import all_of, later, tr
from calc.scent.material import ANALYSIS, Part, shares_of
from calc.scent.sources import Higher, as_recalled, cautious, higher
from calc.tables.fragrance import FragranceRule, fragrance_rules

MARKETS = {
    "IFRA": later("IFRA Standards, up to the 51st Amendment (2023), category 9"),
    "EU": later("EU law, Regulation (EC) 1223/2009"),
}
RULE_SETS = {"both": ("IFRA", "EU"), "eu": ("EU",), "ifra": ("IFRA",)}
CERTIFICATE = "certificate"


def rules_for(market: str | None, chosen: str | None) -> str:
    """The key of RULE_SETS that a workshop keeps to: where it sells ("us", "eu", "both" or None) and what it chose.

    The market decides about the law of the EU, the choice about IFRA Standards; without a market the choice about both.
    """
    if market == "us":
        return "ifra"
    if market in ("eu", "both"):
        return "eu" if chosen == "eu" else "both"
    return chosen if chosen in RULE_SETS else "both"


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
    found_by: tuple[str, ...] = ()  # sources of the content other than the IFRA annex, as the table has them


@dataclass(frozen=True)
class Market:
    """What one set of rules says. bounds: tightest first; loose: those that even undiluted scent would not reach."""

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
    laxer: Bound | None  # what would bind by the tables' first source alone, where that lets in more
    asked: Bound | None  # what would bind if what is only recalled were so, where that lets in less
    memory_alone: tuple[str, ...]  # materials of which everything known is only recalled

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
    rules = RULE_SETS[rule_set]
    highest = [Part(cautious(part.material), part.share_fraction) for part in parts]
    recalled = [Part(as_recalled(part.material), part.share_fraction) for part in highest]
    markets = [_market(key, highest) for key in rules]
    markets.sort(key=lambda market: math.inf if market.load_fraction is None else market.load_fraction)
    binding, first, asked = (_tightest(found) for found in (markets, *([_market(key, each) for key in rules] for each in (parts, recalled))))
    laxer = first if first and binding and first.load_fraction > binding.load_fraction * (1.0 + 1e-9) else None
    if asked and binding and asked.load_fraction >= binding.load_fraction * (1.0 - 1e-9):
        asked = None
    present = {content.limit_key for part in recalled for content in part.material.counted if content.high_fraction > 0.0} - {""}
    held = [rule for rule in fragrance_rules() if rule.limit_key in present and rule.market in rules]
    limited = {key for rule in held if rule.kind == "restriction" for key in rule.summed_keys}
    return ScentLimits(
        tuple(markets),
        tuple(rule for rule in held if rule.kind == "specification"),
        tuple(rule for rule in held if rule.kind == "none" and "phototox" in rule.note),
        tuple(each for part in parts for each in higher(part.material) if {row.limit_key for row in each.rows} & limited),
        laxer,
        asked,
        tuple(part.material.name for part in parts if _memory_alone(part)),
    )


def _tightest(markets: Sequence[Market]) -> Bound | None:
    bounds = [bound for market in markets for bound in market.bounds[:1]]
    return min(bounds, key=lambda bound: bound.load_fraction, default=None)


def _memory_alone(part: Part) -> bool:
    contents = [content for content in part.material.contents if not content.whole]
    return bool(contents) and all(content.recalled for content in contents)


def _market(key: str, parts: Sequence[Part]) -> Market:
    rules = [rule for rule in fragrance_rules() if rule.market == key and rule.limit_key]
    stated = [p for p in parts if p.material.stated(key) is not None]
    refused = [p.material.name for p in stated if p.material.stated(key) == 0.0]
    allowed = [p for p in stated if p.material.name not in refused]
    bounds = _of_contents(rules, parts)
    if allowed:
        bounds = sorted([*bounds, *_by_papers(key, allowed, _of_contents(rules, [p for p in parts if p not in stated]))],
                        key=lambda bound: bound.load_fraction)  # fmt: skip
    # A natural content is no prohibited material; what a lot's own papers name is.
    held = [c for p in parts for c in p.material.counted if c.high_fraction > 0.0]
    whole = {c.limit_key for c in held if c.whole or c.source == ANALYSIS}
    prohibited = [tr(rule.constituent) for rule in rules if rule.kind == "prohibition" and rule.limit_key in whole]
    prohibited += [tr("{name} (its papers say 0 %: not for this use)", name=name) for name in refused]
    unknown = tuple(part.material.name for part in parts if not part.material.answered(key))
    tight, loose = ([bound for bound in bounds if (bound.load_fraction > 1.0) == over] for over in (False, True))
    return Market(key, tuple(tight), tuple(loose), tuple(dict.fromkeys(prohibited)), unknown)


def _of_contents(rules: Sequence[FragranceRule], parts: Sequence[Part]) -> list[Bound]:
    """What the rules make of all that the parts hold, tightest first."""
    return _one_each([found for rule in rules if rule.kind == "restriction" and (found := _bound(rule, parts)) is not None])


def _bound(rule: FragranceRule, parts: Sequence[Part]) -> Bound | None:
    """How far a rule lets the scent go; None where nothing of it is known to be in."""
    held = [
        (part.material.name, _exact(part.share_fraction) * _exact(content.high_fraction), content)
        for part in parts
        for content in part.material.counted
        if content.limit_key in rule.summed_keys and content.high_fraction > 0.0
    ]
    content = _sum(amount for _, amount, _ in held)
    if content <= 0 or rule.most_fraction is None:
        return None
    by_name: dict[str, Fraction] = {}
    for name, amount, _ in held:
        by_name[name] = by_name.get(name, Fraction(0)) + amount
    keys = sorted({content.limit_key for _, _, content in held})
    return Bound(
        rule.market,
        "+".join(keys),
        tr(rule.constituent) if keys == [rule.limit_key] else _together(rule.market, keys),
        tuple(sorted(by_name, key=lambda name: -by_name[name])),
        rule.most_fraction,
        float(content),
        float(_exact(rule.most_fraction) / content),
        tr(rule.edition),
        tr(rule.note) if rule.note else "",
        rule.how == "memory" or any(content.recalled for _, _, content in held),
        tuple(dict.fromkeys(c.source for _, _, c in held if not (c.of_annex or c.whole or c.source == ANALYSIS))),
    )


def _exact(fraction: float) -> Fraction:
    """The decimal number that was typed or printed, so that a limit which comes out even is not shown a hair too low."""
    return Fraction(repr(fraction))


def _sum(amounts: Iterable[Fraction]) -> Fraction:
    return reduce(add, amounts, Fraction(0))


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


def _edition(certificate: str) -> str:
    """A bare number is the amendment's; other words stand as they were typed."""
    if not certificate:
        return tr("no edition stated")
    return tr("amendment {number}", number=certificate) if certificate.isdigit() else certificate


def _by_papers(market: str, stated: Sequence[Part], others: Sequence[Bound]) -> list[Bound]:
    """What the suppliers' own limits come to. others: the bounds of the parts without any, tightest first.

    Such papers say nothing of what limits a material: with all else they combine as 1/(sum of shares by limits), which is
    never looser than any bound by itself.
    """
    used = _sum(
        _exact(part.share_fraction) / _exact(most) for part in stated if (most := part.material.stated(market)) is not None
    )
    names = tuple(part.material.name for part in stated)
    if market == "EU":
        editions = tr("its papers for EU law")
        words = tr("the supplier's limit for EU law") if len(stated) == 1 else tr("the suppliers' limits for EU law together")
    else:
        editions = ", ".join(dict.fromkeys(_edition(part.material.certificate) for part in stated))
        words = tr("the supplier's certificate") if len(stated) == 1 else tr("the suppliers' certificates together")
    alone = float(1 / used)
    share = math.fsum(part.share_fraction for part in stated)
    first = Bound(market, CERTIFICATE, words, names, alone * share, share, alone, editions, "", False)
    if not others:
        return [first]
    tight = others[0]
    load = float(1 / (used + 1 / _exact(tight.load_fraction)))
    both = Bound(
        market,
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
    return [both, first]


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
