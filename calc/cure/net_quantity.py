"""What weight may be printed on a bar, so that the average and the weakest bar comply on the day of sale.

European Union: the average rule of Directive 76/211/EEC, Annex I: on average not below the label, few bars short by more than
the tolerable negative error, none by more than twice it. United States: on average not below the label, no bar short by
more than the maximum allowable variation, as far as its table was read.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.statistics import deviation_of, mean_of, t_quantile, tolerance_factor
from calc.entry.units import convert
from calc.tables.reference import constant, from_tables, lines_of

OZ_G = convert(1.0, "oz", "g")
FEWEST = 3
# Nobody weighs more bars than this to gain a step on the label.
MOST_MORE = 200


@dataclass(frozen=True)
class Sample:
    """Bars weighed one by one, told by what counts of them: how many, their mean [g] and standard deviation [g]."""

    count: int
    mean_g: float
    deviation_g: float

    def at(self, ratio: float, count: int | None = None) -> "Sample":
        """The same bars once each weighs so many times as much; or as many of the same kind as `count`."""
        return Sample(count or self.count, self.mean_g * ratio, self.deviation_g * ratio)


def sample_of(weights_g: Sequence[float]) -> Sample:
    """What counts of bars weighed one by one [g]. Raises InputProblems for too few."""
    if len(weights_g) < FEWEST:
        message = tr("{n} bars tell nothing of the weakest one.", n=len(weights_g))
        raise InputProblems(Problem("weights", "too-few-bars", message, tr("Weigh at least {n}, one by one.", n=FEWEST)))
    return Sample(len(weights_g), mean_of(weights_g), deviation_of(weights_g))


@dataclass(frozen=True)
class Limit:
    """The highest label [g] by one rule, and which part of it decides: "average", "weak" or "weakest"."""

    law: str
    label_g: float
    by: str
    # Whether the limit for a single bar was known: the American table is only counted where it was read.
    single_known: bool


@dataclass(frozen=True)
class Allowed:
    """What may be printed: the lowest of the laws' limits; with how many more bars the next round label may be."""

    limit: Limit
    limits: tuple[Limit, ...]
    more: int | None
    next_label_g: float | None

    @property
    def grams(self) -> int:
        """The label in whole grams, rounded down."""
        return math.floor(self.limit.label_g + 1e-9)

    @property
    def hundredths_oz(self) -> int:
        """The label in hundredths of an ounce, rounded down."""
        return math.floor(self.limit.label_g / OZ_G * 100.0 + 1e-9)


def tolerable_error_g(label_g: float) -> float | None:
    """The tolerable negative error of a label [g] by Directive 76/211/EEC, Annex I, 2.4; None outside its rows that were read.

    A percentage is rounded up to a tenth of a gram.
    """
    return _row_of("EU_TNE", label_g)


def allowable_variation_g(label_g: float) -> float | None:
    """The maximum allowable variation of a label [g] (NIST Handbook 133, table 2-5); None where its table was not read."""
    return _row_of("US_MAV", label_g)


class _Tolerance(NamedTuple):
    """One row: labels from `low_g` to `high_g`, and what a bar may fall short, in per cent of the label or in grams."""

    scheme: str
    low_g: float
    high_g: float
    percent: float | None
    error_g: float | None


@from_tables
def _tolerances() -> tuple[_Tolerance, ...]:
    found = []
    for line in lines_of("net_content_tolerances"):
        low, high = line.value("labelled_above_g"), line.value("labelled_up_to_g")
        assert low is not None and high is not None  # columns.csv has them required
        found.append(_Tolerance(line.text["scheme"], low, high, line.value("tolerance_pct"), line.value("tolerance_g")))
    return tuple(found)


def _row_of(scheme: str, label_g: float) -> float | None:
    for row in _tolerances():
        if row.scheme == scheme and row.low_g <= label_g <= row.high_g:
            return row.error_g if row.percent is None else math.ceil(label_g * row.percent / 10.0 - 1e-9) / 10.0
    return None


def allowed(sample: Sample, ratio: float, market: str, step: str) -> Allowed:
    """What may be printed.

    ratio: by how much a bar's weight falls until the sale, at worst (0 to 1). market: "eu", "us" or "both".
    step: "oz" or "g", in which round labels are counted.
    Raises InputProblems where no label can comply: the bars differ too much for so few of them.
    """
    at_sale = sample.at(ratio)
    limits = tuple(_LAWS[law](at_sale) for law in (("eu", "us") if market == "both" else (market,)))
    lowest = min(limits, key=lambda limit: limit.label_g)
    if lowest.label_g < 1.0:
        message = tr("These bars differ too much for so few of them: no label can be sure to hold.")
        raise InputProblems(Problem("weights", "bars-differ", message, tr("Weigh more bars, or sort them.")))
    more, next_label_g = _more(at_sale, market, lowest.label_g, step)
    return Allowed(lowest, limits, more, next_label_g)


def _more(at_sale: Sample, market: str, label_g: float, step: str) -> tuple[int | None, float | None]:
    """How many more bars of the same kind let the next round label be printed; (None, None) where no number does."""
    round_g = constant("label_step_oz").value * OZ_G if step == "oz" else constant("label_step_g").value
    wanted_g = (math.floor(label_g / round_g + 1e-9) + 1) * round_g

    def enough(more: int) -> bool:
        larger = at_sale.at(1.0, at_sale.count + more)
        return all(_LAWS[law](larger).label_g >= wanted_g for law in (("eu", "us") if market == "both" else (market,)))

    if not enough(MOST_MORE):
        return None, None
    low, high = 1, MOST_MORE
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle + 1, high)
    return low, wanted_g


def _eu(sample: Sample) -> Limit:
    few, none = constant("tne_share_above").value, constant("weakest_share_above").value
    bounds = {"average": (_mean_bound_g(sample), 0.0), "weak": (_bar_bound_g(sample, few), 1.0), "weakest": (_bar_bound_g(sample, none), 2.0)}
    return _limit("eu", bounds, tolerable_error_g)


def _us(sample: Sample) -> Limit:
    none = constant("weakest_share_above").value
    return _limit("us", {"average": (_mean_bound_g(sample), 0.0), "weakest": (_bar_bound_g(sample, none), 1.0)}, allowable_variation_g)


_LAWS: dict[str, Callable[[Sample], Limit]] = {"eu": _eu, "us": _us}


def _mean_bound_g(sample: Sample) -> float:
    """What the average of all bars surely reaches [g]."""
    confidence = constant("label_confidence").value
    return sample.mean_g - t_quantile(confidence, sample.count - 1) * sample.deviation_g / math.sqrt(sample.count)


def _bar_bound_g(sample: Sample, share: float) -> float:
    """What all bars but 1 - share surely reach [g]."""
    return sample.mean_g - tolerance_factor(sample.count, share, constant("label_confidence").value) * sample.deviation_g


def _limit(law: str, bounds: dict[str, tuple[float, float]], error_g: Callable[[float], float | None]) -> Limit:
    """The highest label at which each bound is kept: of a bar, so many errors below the label."""
    found = []
    single_known = True
    for by, (bound_g, errors) in bounds.items():
        label_g = bound_g
        if errors > 0.0:
            highest_g = max(bound_g, bounds["average"][0])
            known = _highest(bound_g, errors, highest_g, error_g)
            if known is None:
                single_known = False
                continue
            label_g = known
        found.append((label_g, by))
    label_g, by = min(found)
    return Limit(law, label_g, by, single_known)


def _highest(bound_g: float, errors: float, most_g: float, error_g: Callable[[float], float | None]) -> float | None:
    """The highest label up to `most_g` with at most so many errors above the bound, to a hundredth of a gram; None where unknown."""
    if error_g(max(most_g, 0.0)) is None:
        return None
    low, high = min(max(bound_g, 0.0), most_g), most_g
    while high - low > 0.005:
        middle = 0.5 * (low + high)
        error = error_g(middle)
        if error is None or middle - errors * error > bound_g:
            high = middle
        else:
            low = middle
    error = error_g(most_g)
    return most_g if error is not None and most_g - errors * error <= bound_g else low
