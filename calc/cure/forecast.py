"""What the weighings of a batch say of the day of sale: the bar's weight, when it is ready, and what would tell more."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from calc.cure.drying import Band, Drying, Weighed, band_of, dry
from calc.cure.net_quantity import tolerable_error_g
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.tables.reference import constant

WEEK = 7
# Nobody leaves soap on the rack longer than this. [d]
LONGEST = 730
# Every so many curves are enough to tell which day's weighing helps.
_SOME = 5
# A weighing that takes the band to this share of what it is now is worth the walk.
_WORTH = 0.6


@dataclass(frozen=True)
class ReadyRule:
    """The maker's own rule: weeks on the rack, or the loss of a week under a share of the bar; where both are said, both hold."""

    weeks: int | None = None
    weekly_loss_fraction: float | None = None


@dataclass(frozen=True)
class Ready:
    """The day on which a batch is ready, counted from cutting; `usual` where the maker has no rule and practice gives the weeks.

    `band` is None where the rule asks for a loss per week and no curve tells it yet.
    """

    band: Band | None
    usual: bool = False


@dataclass(frozen=True)
class Better:
    """A weighing that would help: on which day, and how wide the band would then about be [g]."""

    day: int
    width_g: float


@dataclass(frozen=True)
class Outlook:
    """All that can be said of one batch; days are counted from its first weighing, `age_days` from cutting."""

    weighings: tuple[Weighed, ...]
    drying: Drying | None
    no_curve: Problem | None
    ready: Ready
    sale_day: float
    at_sale: Band | None
    too_early: bool
    better: Better | None


def scatter_g(weighings: Sequence[Weighed], scale_g: float) -> float:
    """How far a weighing is taken to be off the curve [g]: scale and air, and that real drying is not quite a Page curve.

    scale_g: standard deviation of scale and air for one bar.
    """
    lost_g = weighings[0].bar_g - min(each.bar_g for each in weighings)
    return math.hypot(max(scale_g, constant("cure_scatter_least").value), constant("cure_misfit_share").value * lost_g)


def forecast(
    weighings: Sequence[Weighed],
    water_fraction: float | None,
    scale_g: float,
    rule: ReadyRule,
    first_age: int,
    sale_age: int | None,
    today_age: int,
    label_g: float | None,
) -> Outlook:
    """The outlook of a batch.

    weighings: as in `drying.dry`, in the order of days; there may be none. water_fraction: as there; None where nobody knows
    it: then nothing is said of weight. first_age: days from cutting to the first of
    them. sale_age: the day of sale, where it is known; else the day on which the batch is ready. label_g: what is to be
    printed, where it is known.
    """
    drying, no_curve = None, None
    if water_fraction is None:
        no_curve = _water_unknown()
    elif weighings:
        try:
            drying = _dried(tuple(weighings), water_fraction, scatter_g(weighings, scale_g))
        except InputProblems as refused:
            no_curve = refused.problems[0]
    ready = _ready(drying, rule, first_age)
    if sale_age is None:
        sale_age = math.ceil(ready.band.middle) if ready.band else round(WEEK * constant("cure_weeks_usual_high").value)
    sale_day = float(max(sale_age - first_age, 0))
    if drying is None:
        return Outlook(tuple(weighings), None, no_curve, ready, sale_day, bounds(weighings, water_fraction), True, None)
    at_sale = drying.on(sale_day)
    enough_g = _enough_g(at_sale, label_g)
    too_early = at_sale.low < label_g < at_sale.high if label_g else at_sale.width > enough_g
    better = _better(drying, sale_day, today_age - first_age, enough_g) if too_early else None
    return Outlook(tuple(weighings), drying, None, ready, sale_day, at_sale, too_early, better)


@lru_cache(maxsize=64)
def _dried(weighings: tuple[Weighed, ...], water_fraction: float, scatter_g: float) -> Drying:
    """The same batch is asked about with every key that is typed beside it."""
    return dry(weighings, water_fraction, scatter_g)


def _water_unknown() -> Problem:
    message = tr("How much water the soap had isn't known, so nothing bounds what the bars can lose.")
    return Problem("", "curve-water-unknown", message, tr("Keep weighing: every weight is kept."))


def bounds(weighings: Sequence[Weighed], water_fraction: float | None) -> Band | None:
    """Without a curve: from all water gone to what the bars last weighed [g]; None before the first weighing, or without its water."""
    if not weighings or water_fraction is None:
        return None
    low, high = weighings[0].bar_g * (1.0 - water_fraction), min(each.bar_g for each in weighings)
    return Band(min(low, high), 0.5 * (min(low, high) + high), high)


def _ready(drying: Drying | None, rule: ReadyRule, first_age: int) -> Ready:
    by_weeks = None if rule.weeks is None else float(rule.weeks * WEEK)
    limit = rule.weekly_loss_fraction
    if limit is None:
        if by_weeks is not None:
            return Ready(Band(by_weeks, by_weeks, by_weeks))
        low, high = (WEEK * constant(f"cure_weeks_usual_{end}").value for end in ("low", "high"))
        return Ready(Band(low, 0.5 * (low + high), high), usual=True)
    if drying is None:
        return Ready(None)
    days = drying.days_until(lambda now_g, later_g: now_g - later_g <= limit * now_g, LONGEST)
    return Ready(band_of([max(day + first_age, by_weeks or 0.0) for day in days]))


def _enough_g(at_sale: Band, label_g: float | None) -> float:
    """How wide a band may be [g] to tell enough: the play that the law leaves a bar of this weight."""
    return tolerable_error_g(label_g or at_sale.middle) or constant("cure_scatter_least").value


def _better(drying: Drying, sale_day: float, today: int, enough_g: float) -> Better | None:
    """The first day whose weighing makes the band narrow enough, or narrower by a good part; None once the sale is here."""
    sale = drying.masses_g(sale_day)[::_SOME]
    width_g = drying.on(sale_day).width
    last = math.ceil(sale_day) - 1
    best = None
    for day in range(max(today, math.floor(drying.last.day)) + 1, last + 1):
        width_then_g = width_g * _share_left(drying.masses_g(float(day))[::_SOME], sale, drying.scatter_g)
        best = Better(day, width_then_g)
        if width_then_g <= min(enough_g, _WORTH * width_g):
            return best
    return best


def _share_left(then: Sequence[float], sale: Sequence[float], scatter_g: float) -> float:
    """What share of the spread at the sale a weighing would leave: of two normal variables that are known together."""
    count = len(then)
    mean_then, mean_sale = math.fsum(then) / count, math.fsum(sale) / count
    both = math.fsum((a - mean_then) * (b - mean_sale) for a, b in zip(then, sale, strict=True)) / count
    of_then = math.fsum((a - mean_then) ** 2 for a in then) / count
    of_sale = math.fsum((b - mean_sale) ** 2 for b in sale) / count
    if of_sale == 0.0:
        return 1.0
    return math.sqrt(max(0.0, 1.0 - both * both / (of_sale * (of_then + scatter_g * scatter_g))))
