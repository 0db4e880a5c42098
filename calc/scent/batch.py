"""The scent of a batch: its share of the finished bar against its limit, and what keeps a sheet from being issued."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from calc.entry.language import all_of, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import load_and_limit, percent
from calc.scent.irritants import Irritation, irritation
from calc.scent.label import LabelList, allergen_shares, label_list
from calc.scent.limits import Bound, ScentLimits, largest_scent_g, law, load_of, passes, rules_for, scent_limits
from calc.scent.material import Part
from calc.scent.papers import paper_cautions
from calc.scent.quick_check import base_of, says_nothing
from calc.tables.reference import constant
from calc.workshop.shop import Shop


@dataclass(frozen=True)
class ChosenScent:
    """The scent that a formula names, with its parts by mass."""

    name: str
    parts: tuple[Part, ...]

    @property
    def lots(self) -> str | None:
        """The lots it is mixed of, as one line; None where none is known."""
        return ", ".join(dict.fromkeys(part.material.lot for part in self.parts if part.material.lot)) or None


@dataclass(frozen=True)
class BatchScent:
    """A scent in a batch. Fractions of the cured bar (0..1): the load in hand, and what is usual at most, by practice alone."""

    chosen: ChosenScent
    load_fraction: float
    usual_fraction: float
    limits: ScentLimits
    label: LabelList
    irritation: Irritation | None
    rule_set: str
    market: str  # where the soap is sold: "us", "eu" or "both"
    scent_g: float  # in one block
    oils_g: float
    rest_g: float  # of the cured bars of one block, all but the scent

    @property
    def binding(self) -> Bound | None:
        """What limits it first."""
        return self.limits.binding

    @property
    def over(self) -> bool:
        """Whether the load is above its limit."""
        return not passes(self.load_fraction, self.binding)

    @property
    def far_above_usual(self) -> bool:
        """Whether the limit is so far above practice that it says nothing about how much to use."""
        return self.binding is not None and says_nothing(self.binding.load_fraction, self.usual_fraction)

    @property
    def verdict(self) -> str:
        """What the load in hand comes to.

        One of "prohibited", "fail", "unknown", "irritates" (the bar itself would), "ask" (it passes by what was read, not by
        what is only recalled), "open" (nothing known limits it), "pass".
        """
        if self.limits.prohibited:
            return "prohibited"
        if self.over:
            return "fail"
        if self.limits.unknown:
            return "unknown"
        if self.irritation is not None and self.irritation.of_bar(self.load_fraction):
            return "irritates"
        if not passes(self.load_fraction, self.limits.asked):
            return "ask"
        return "open" if self.binding is None else "pass"

    @property
    def usual_of_oils_fraction(self) -> float:
        """What is usual at most, by practice alone, as a share of the oils."""
        return constant("scent_usual").value

    @property
    def load_and_most(self) -> tuple[str, str]:
        """Its share of the finished bar, and the most of it that its limit allows, as they are shown beside each other."""
        if self.binding is None:
            return percent(self.load_fraction, 2), ""
        return load_and_limit(self.load_fraction, self.binding.load_fraction, over=self.over)

    @property
    def said(self) -> str:
        """The verdict in one line, in shares of the oils, as a formula states its load."""
        of_oils = self.scent_g / self.oils_g
        load, usual = percent(of_oils), percent(self.usual_of_oils_fraction)
        bound = self.binding
        near = most = ""
        if bound is not None:
            near, most = load_and_limit(of_oils, largest_scent_g(bound.load_fraction, self.rest_g) / self.oils_g, over=self.over)
        if self.verdict == "fail" and bound is not None:
            return tr("{load} of the oils: too much, {law} allows {most}.", load=near, law=law(bound), most=most)
        # Told apart as they are shown: what a scale's display adds to 3 % isn't more than the usual 3 %.
        if self.verdict == "pass" and self.load_fraction > self.usual_fraction and load != usual:
            return tr("{load} of the oils: allowed, more than the usual {usual}.", load=load, usual=usual)
        if self.verdict == "pass" and bound is not None and not self.far_above_usual:
            return tr("{load} of the oils: allowed. Most is {most}, by {law}.", load=near, law=law(bound), most=most)
        lines = {
            "prohibited": tr("{load} of the oils: it may not be used in soap.", load=load),
            "unknown": tr("{load} of the oils: how much is safe isn’t known.", load=load),
            "irritates": tr("{load} of the oils: the bar would irritate skin.", load=load),
            "ask": tr("{load} of the oils: allowed by what was read. Ask the supplier.", load=load),
            "open": tr("{load} of the oils: nothing known limits it.", load=load),
            "pass": tr("{load} of the oils: allowed, far under the limit.", load=load),
        }
        return lines[self.verdict]

    def record(self) -> dict[str, Any]:
        """What an issued batch keeps of it, as plain JSON values."""
        bound = self.binding
        return {
            "name": self.chosen.name,
            "parts": [
                {"name": p.material.name, "lot": p.material.lot, "share_fraction": p.share_fraction}
                for p in self.chosen.parts
            ],
            "load_fraction": self.load_fraction,
            "rules": [market.title for market in self.limits.markets],
            "limit": None
            if bound is None
            else {"what": bound.what, "market": bound.market, "edition": bound.edition, "load_fraction": bound.load_fraction},
            "prohibited": list(self.limits.prohibited),
            "unknown": list(self.limits.unknown),
            "market": self.market,
            "label": [each.allergen.label_name for each in self.label.names if each.named],
            "label_may_hold": [each.allergen.label_name for each in self.label.may_hold],
            "label_incomplete": list(self.label.incomplete),
            # Of the scent itself: soap set aside takes it into other batches.
            "allergens": allergen_shares(self.chosen.parts),
        }


def limits_of(chosen: ChosenScent, shop: Shop | None) -> ScentLimits:
    """The limits of a scent by the rules that a workshop keeps to; None before it is set up."""
    return scent_limits(chosen.parts, _rule_set(shop))


def tightest_kept(limits: ScentLimits, load_fraction: float) -> float:
    """The tightest limit that a load keeps to; 1 where there is none. Both are shares of the cured bar (0..1)."""
    bounds = [bound for bound in (limits.binding, limits.asked) if bound is not None and passes(load_fraction, bound)]
    return min((bound.load_fraction for bound in bounds), default=1.0)


def cured_g(batter_g: float, shop: Shop | None) -> float:
    """What batter without its scent [g] weighs as cured bars."""
    return base_of(batter_g, None if shop is None else shop.cure_loss_fraction).rest_per_oil


def scent_within_g(load_fraction: float, batter_g: float, shop: Shop | None) -> float:
    """The most scent [g] that stays within a share of the cured bar (0..1), for batter without it [g]; infinite for all of it."""
    return largest_scent_g(load_fraction, cured_g(batter_g, shop))


def batch_scent(
    chosen: ChosenScent,
    limits: ScentLimits,
    scent_g: float,
    oils_g: float,
    batter_g: float,
    shop: Shop | None,
) -> BatchScent:
    """The scent as poured: scent, oils and batter (with the scent) of one block [g], the batter heavier than the scent.

    shop: the workshop, for where it sells, the rules it keeps to and what its bars lose in cure; None before it is set up.
    """
    rest_g = cured_g(batter_g - scent_g, shop)
    usual_g = constant("scent_usual").value * oils_g
    load = load_of(scent_g, rest_g)
    return BatchScent(
        chosen,
        load,
        load_of(usual_g, rest_g),
        limits,
        label_list(chosen.parts, load),
        irritation(chosen.parts),
        _rule_set(shop),
        (None if shop is None else shop.market) or "both",
        scent_g,
        oils_g,
        rest_g,
    )


def _rule_set(shop: Shop | None) -> str:
    return rules_for(None, None) if shop is None else rules_for(shop.market, shop.scent_rules)


def scent_cautions(scent: BatchScent | None, scent_g: float) -> Sequence[Caution]:
    """What a sheet says about its scent before it is issued."""
    if scent_g <= 0.0:
        return ()
    if scent is None:
        message = tr("The formula has a scent load but names no scent.")
        reason = tr("Without it nobody can tell how much is safe: name it in the formula.")
        return (Caution("formula", "scent-not-named", message, reason),)
    found = []
    name, asked, irritates = scent.chosen.name, scent.limits.asked, scent.irritation
    lower = tr("Lower the load in the formula.")
    if scent.limits.prohibited:
        message = tr("{scent} contains what may not be used in soap: {names}.", scent=name, names=", ".join(scent.limits.prohibited))
        found.append(Caution("formula", "scent-prohibited", message, tr("This sheet can't be issued with it.")))
    if scent.limits.unknown:
        message = tr("How much {scent} is safe isn't known: {names}.", scent=name, names=", ".join(scent.limits.unknown))
        reason = tr("Ask the supplier for the certificate and enter it under the lot.")
        found.append(Caution("formula", "scent-unknown", message, reason))
    if scent.over:
        found.append(Caution("formula", "scent-over-limit", _over(scent), lower))
    elif asked is not None and not passes(scent.load_fraction, asked):
        load, most = load_and_limit(scent.load_fraction, asked.load_fraction, over=True)
        message = tr(
            "{scent} would be {share} of the finished bar. By what was read that's within its limit, but it may contain so "
            "much {what} that {law} allows only {most}.",
            scent=name, share=load, what=asked.what, law=law(asked), most=most,
        )
        reason = tr("Ask the supplier for an analysis, or lower the load.")
        found.append(Caution("formula", "scent-ask-supplier", message, reason))
    if irritates is not None and irritates.of_bar(scent.load_fraction):
        load, most = load_and_limit(scent.load_fraction, irritates.from_load_fraction, over=True)
        message = tr(
            "With {share} of {scent} the bar itself counts as irritating to skin, because of {names}. Under {most} it wouldn't.",
            share=load, scent=name, names=all_of(irritates.names), most=most,
        )
        found.append(Caution("formula", "scent-irritates", message, lower))
    found += paper_cautions(scent.chosen.parts, scent.rule_set, "formula")
    if scent.market != "us" and not scent.label.complete:
        message = tr("The label's list of allergens is incomplete: {names}.", names=all_of(scent.label.incomplete))
        reason = tr("Get the supplier's allergen statement and enter it under the lot.")
        found.append(Caution("formula", "label-incomplete", message, reason))
    return tuple(found)


def scent_may_be_issued(scent: BatchScent | None, reason: str | None) -> None:
    """Raises InputProblems for what is prohibited, and for a load over its limit, or of no known limit, without a reason."""
    if scent is None:
        return
    if scent.limits.prohibited:
        names = ", ".join(scent.limits.prohibited)
        message = tr("{scent} contains {names}, which may not be used in soap.", scent=scent.chosen.name, names=names)
        raise InputProblems(Problem("formula", "scent-prohibited", message, tr("Choose another scent.")))
    if reason is None and (scent.over or scent.limits.unknown):
        message = _over(scent) if scent.over else tr("How much {scent} is safe isn't known.", scent=scent.chosen.name)
        remedy = tr("Lower the load, get the certificate, or write down why you're going ahead.")
        raise InputProblems(Problem("reason", "scent-reason-missing", message, remedy))


def _over(scent: BatchScent) -> str:
    bound = scent.binding
    assert bound is not None
    load, most = scent.load_and_most
    return tr(
        "{scent} would be {share} of the finished bar; {law} allows {most} because of {what}.",
        scent=scent.chosen.name, share=load, law=law(bound), most=most, what=bound.what,
    )
