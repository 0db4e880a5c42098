"""What a scale may be wrong by, what it should not be used for, and which scale an amount is weighed on.

Sources: OIML R 76-1 and NIST Handbook 44 section 2.20 for limits of error (rows and their sources in
scale_tolerances.csv); JCGM 100:2008 4.3.7 for the uncertainty of a reading (clause from memory).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from calc.entry.counting import COUNTING_TOLERANCE
from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import percent_figures
from calc.scales.display import Display, display_of
from calc.tables.reference import constant, scale_tolerances

KINDS = {
    ("R76", True): "in_service",
    ("R76", False): "verification",
    ("HB44", True): "maintenance",
    ("HB44", False): "acceptance",
}

# What is weighed apart stands in a jug, which counts on its scale too.
JUG_ROOM = constant("jug_room").value
# How far a pour may end from its target. A quarter of a per cent of the lye moves the superfat by a quarter of a point
# (at 5 % superfat: 1 % too much lye takes 0.95 points).
ALLOWED_MAIN, ALLOWED_SMALL = constant("end_allowed_main").value, constant("end_allowed_small").value


@dataclass(frozen=True)
class Scale:
    """A scale as its plate describes it, and the limits it is held to.

    capacity_g: Max [g], above 0. division_g: step of the display d [g], above 0 and at most the capacity.
    scheme: "R76" or "HB44". accuracy_class: "II", "III" or "IIII". in_use: False for a first verification only.
    verification_interval_g: e of the plate [g] when it differs from d. unit: what its display shows, "g", "kg", "oz" or "lb".
    Raises ValueError outside these ranges, or when no limits are known for that scheme and class.
    """

    name: str
    capacity_g: float
    division_g: float
    scheme: str = "R76"
    accuracy_class: str = "III"
    in_use: bool = True
    verification_interval_g: float | None = None
    unit: str = "g"

    def __post_init__(self) -> None:
        if not 0.0 < self.division_g <= self.capacity_g < math.inf:
            raise ValueError(f"{self.name}: the division must be above zero and at most the capacity.")
        if self.verification_interval_g is not None and self.verification_interval_g < self.division_g:
            raise ValueError(f"{self.name}: the verification interval e is never finer than the division d.")
        if not self.limit_steps():
            kind = KINDS.get((self.scheme, self.in_use), "unknown")
            raise ValueError(f"{self.name}: no limits are known for {self.scheme} class {self.accuracy_class}, {kind}.")

    def limit_steps(self) -> tuple[tuple[float, float], ...]:
        """(up to so many intervals, limit in intervals), rising."""
        kind = KINDS.get((self.scheme, self.in_use))
        rows = (
            r
            for r in scale_tolerances()
            if (r.scheme, r.scale_class, r.kind) == (self.scheme, self.accuracy_class, kind)
        )
        return tuple(sorted((row.load_up_to_intervals, row.tolerance_intervals) for row in rows))

    @cached_property
    def display(self) -> Display:
        """What its display can show."""
        return display_of(self.division_g, self.unit)

    @cached_property
    def interval_g(self) -> float:
        """e [g]. A display that counts more steps than its class allows is judged at Max over the steps allowed."""
        allowed = max(
            r.load_up_to_intervals
            for r in scale_tolerances()
            if r.scheme == "R76" and r.scale_class == self.accuracy_class
        )
        return max(self.verification_interval_g or self.division_g, self.capacity_g / allowed)


@dataclass(frozen=True)
class ScaleChoice:
    """The scale for one amount, and what it shows of it in each portion."""

    scale: Scale
    counts: tuple[int, ...]  # of the scale's display; more than one where the amount is weighed in portions
    apart: bool  # weighed in a jug, not in the vessel on its scale
    limit_of_error_g: float  # of all portions, which err alike
    cautions: tuple[Caution, ...]

    @property
    def pour_g(self) -> float:
        """The amount that the display shows [g]."""
        return math.fsum(self.scale.display.grams(count) for count in self.counts)


def limit_of_error_g(scale: Scale, load_g: float) -> float:
    """Limit of error of a scale at a load [g], net or gross, from the published steps.

    load_g: the load, or the net mass after tare [g], 0 up to the capacity.
    Raises ValueError outside that range.

    At 15.04 kg, which are 752 e, a scale of class III in use may be wrong by 2 e:

    >>> limit_of_error_g(Scale("large", 150_000.0, 20.0, "R76", "III"), 15_040.0)
    40.0
    """
    if not 0.0 <= load_g <= scale.capacity_g * (1.0 + COUNTING_TOLERANCE):
        raise ValueError(f"{scale.name} carries from 0 to {scale.capacity_g:g} g, not {load_g:g} g.")
    intervals = load_g / scale.interval_g / (1.0 + COUNTING_TOLERANCE)
    steps = scale.limit_steps()
    return next((limit for up_to, limit in steps if intervals <= up_to), steps[-1][1]) * scale.interval_g


def minimum_load_g(scale: Scale) -> float:
    """Minimum load Min of a scale [g]; below it the error may be a large share of what is weighed.

    Formula: 20 e in class III; 50 e in class II (20 e when e is 50 mg or less), 10 e in class IIII.

    >>> minimum_load_g(Scale("large", 150_000.0, 20.0, "R76", "III"))
    400.0
    """
    fine = scale.accuracy_class == "II" and scale.interval_g <= constant("minimum_load_class_II_fine_interval").value
    return constant(f"minimum_load_class_{scale.accuracy_class}{'_fine' if fine else ''}").value * scale.interval_g


def resolution_uncertainty_g(division_g: float) -> float:
    """Standard uncertainty that the display's steps leave in a net mass [g]: d/√6.

    division_g: step of the display [g], 0 or more.
    Two readings make a net mass; each is a rectangle of ±d/2, so u² = 2 · (d/2)²/3.

    >>> round(resolution_uncertainty_g(20.0), 2)
    8.16
    """
    return division_g / math.sqrt(6.0)


def mass_uncertainty_g(limit_g: float, division_g: float) -> float:
    """Standard uncertainty of a net mass [g]: the limit of error as a rectangle, and the two readings' steps.

    limit_g: limit of error at that mass [g], 0 or more. division_g: step of the display [g], 0 or more.
    Raises ValueError below zero.
    The limit covers repeatability, linearity and the corners of the pan (OIML R 76-1, from memory).
    """
    if not (limit_g >= 0.0 and division_g >= 0.0):
        raise ValueError("A limit of error and a division must be zero or more.")
    return math.hypot(limit_g / math.sqrt(3.0), resolution_uncertainty_g(division_g))


def choose_scale(
    scales: Sequence[Scale],
    mass_g: float,
    *,
    in_vessel: bool,
    allowed_error_fraction: float,
    already_on_g: float = 0.0,
    field: str = "",
    down: bool = False,
    most_portions: int = 1,
) -> ScaleChoice:
    """The scale an amount is weighed on.

    mass_g: the amount [g], above 0. in_vessel: it goes into the vessel that stands on the scale of largest capacity.
    already_on_g: vessel and contents on that scale [g], 0 or more. allowed_error_fraction: of this amount [1], above 0.
    field: control that a problem or caution is about. down: rounded down to the display, for what must not be too much;
    else to the nearest. most_portions: in how many it may be weighed apart, 1 or more.
    An amount for the vessel is weighed there unless it lies under that scale's minimum load or the limit of error is
    more than allowed; then, as for all else, on the finest scale that holds it with its jug, whole or in portions, or
    else the largest.
    Raises InputProblems when no scale holds it or shows it at all; ValueError outside the ranges.
    """
    if not (0.0 < mass_g < math.inf and already_on_g >= 0.0 and allowed_error_fraction > 0.0):
        raise ValueError("An amount and its allowed error must be above zero, what stands on the scale zero or more.")
    if not scales:
        raise InputProblems(Problem(field, "no-scale", tr("There's no scale to weigh this on."), tr("Add a scale.")))
    amount = _Amount(mass_g, allowed_error_fraction, field, down, most_portions)
    roomy = [scale for scale in scales if amount.portions(scale) <= most_portions]
    holding = [scale for scale in scales if amount.held_by(scale)]
    finest = min(
        roomy, key=lambda scale: (scale.division_g, amount.portions(scale), scale.capacity_g), default=None
    ) or max(holding, key=lambda scale: scale.capacity_g, default=None)
    vessel_scale = max(scales, key=lambda scale: (scale.capacity_g, -scale.division_g))
    if in_vessel and not amount.held_by(vessel_scale, already_on_g):
        raise InputProblems(
            Problem(
                field,
                "over-capacity",
                tr("The vessel and what's in it would be more than {scale} can hold.", scale=vessel_scale.name),
                tr("Make a smaller block, use a lighter vessel, or add a bigger scale."),
            )
        )
    if finest is None:
        raise InputProblems(
            Problem(
                field,
                "over-capacity",
                tr("This amount is more than any of the scales can hold."),
                tr("Make a smaller block or add a bigger scale."),
            )
        )
    if not in_vessel:
        return amount.on(finest, apart=True)
    weak = amount.weaknesses(vessel_scale, amount.counts(vessel_scale, apart=False))
    if not weak or finest.division_g >= vessel_scale.division_g:
        return amount.on(vessel_scale, apart=False)
    return amount.on(finest, apart=True)


@dataclass(frozen=True)
class _Amount:
    """One amount on one scale or another; as in `choose_scale`."""

    mass_g: float
    allowed_error_fraction: float
    field: str
    down: bool
    most_portions: int

    def portions(self, scale: Scale) -> int:
        """In how many portions a scale holds it with its jug."""
        return max(1, math.ceil(JUG_ROOM * self.mass_g / scale.capacity_g / (1.0 + COUNTING_TOLERANCE)))

    def held_by(self, scale: Scale, already_on_g: float = 0.0) -> bool:
        """Whether a scale carries it whole, without a jug, beside what is on it [g]."""
        shown_g = scale.display.grams(self._whole(scale))
        return already_on_g + shown_g <= scale.capacity_g * (1.0 + COUNTING_TOLERANCE)

    def _whole(self, scale: Scale) -> int:
        return scale.display.counts_of(self.mass_g, down=self.down)

    def counts(self, scale: Scale, *, apart: bool) -> tuple[int, ...]:
        """What the scale's display shows of it, portion by portion; the first ones are equal."""
        whole, division, portions = self._whole(scale), scale.display.division, self.portions(scale)
        if not apart or portions > self.most_portions:
            return (whole,)
        each = whole // division // portions * division
        return (*[each] * (portions - 1), whole - each * (portions - 1))

    def on(self, scale: Scale, *, apart: bool) -> ScaleChoice:
        """The choice of a scale. Raises InputProblems when its display would show nothing."""
        counts = self.counts(scale, apart=apart)
        if min(counts) == 0:
            raise InputProblems(
                Problem(
                    self.field,
                    "below-division",
                    tr("This amount is too little for {scale}: its display would show nothing.", scale=scale.name),
                    tr("Add a finer scale, or weigh this for several blocks at once and share it out."),
                )
            )
        limit_g = math.fsum(limit_of_error_g(scale, scale.display.grams(count)) for count in counts)
        return ScaleChoice(scale, counts, apart, limit_g, self.weaknesses(scale, counts))

    def weaknesses(self, scale: Scale, counts: Sequence[int]) -> tuple[Caution, ...]:
        """Why a scale is a poor choice for this amount; empty when it is a good one."""
        found = []
        least_g = scale.display.grams(min(counts))
        if least_g < minimum_load_g(scale) * (1.0 - COUNTING_TOLERANCE):
            found.append(
                Caution(
                    self.field,
                    "under-minimum-load",
                    tr("This amount is under the minimum load of {scale}.", scale=scale.name),
                    tr("Below its minimum load a scale's error can be a large share of what's weighed (OIML R 76)."),
                )
            )
        limit_g = limit_of_error_g(scale, least_g)
        if limit_g > least_g * self.allowed_error_fraction * (1.0 + COUNTING_TOLERANCE):
            error = percent_figures(limit_g / least_g) if least_g > 0.0 else tr("more than all")
            found.append(
                Caution(
                    self.field,
                    "error-too-large",
                    tr("{scale} may be off by {error} of this amount.", scale=scale.name, error=error),
                    tr("{most} is the most allowed for it.", most=percent_figures(self.allowed_error_fraction)),
                )
            )
        return tuple(found)
