"""The answer about one scent: how much may go in, for these oils, whether the load in hand passes, what the label names."""

from collections.abc import Sequence
from dataclasses import dataclass

from calc.fields import Range, item, measure
from calc.fragrance import ScentLimits, largest_scent_g, load_of, rounded_down_g, scent_limits
from calc.fragrance_label import Named, label_names
from calc.fragrance_material import Part
from calc.problems import Caution, InputProblems
from calc.reference import constant
from calc.weighing import Scale, choose_scale

# A scent's own limit of error on its scale, as for all small pours; common practice, no source.
ALLOWED_ERROR_FRACTION = 0.01
FINEST_G = 0.001


@dataclass(frozen=True, kw_only=True)
class ScentQuestion:
    """What is asked about a scent."""

    scent: str = item("Scent", kind="scent scent_material", help="A mix of the workshop's, a lot, or an oil by itself.")
    oils_g: float = measure(
        "Oils in the batch",
        kind="mass",
        offered=("kg", "g", "lb", "oz"),
        us="lb",
        refuse=Range(1.0, 2_000_000.0, "a batch has from 1 g to 2 tonnes of oils"),
    )
    formula: str | None = item(
        "Made by the formula",
        kind="formula",
        optional=True,
        help="Without one the bar is counted as its oils alone: it is heavier in truth, so the limit is cautious.",
    )
    load_fraction: float | None = measure(
        "Scent load in hand, of all oils",
        kind="percent",
        offered=("%",),
        refuse=Range(0.0, 1.0, "a scent heavier than all oils is no soap"),
        optional=True,
        help="To see whether it passes, and what the label names at that load.",
    )
    pot_c: float | None = measure(
        "Pot temperature when the scent goes in",
        kind="temperature",
        offered=("degC", "degF"),
        us="degF",
        refuse=Range(0.0, 100.0, "batter is between 0 and 100 °C"),
        optional=True,
    )


@dataclass(frozen=True)
class Base:
    """The finished product without its scent, for each gram of oils (1), and how that was reckoned."""

    rest_per_oil: float
    words: str


@dataclass(frozen=True)
class ScentSheet:
    """All about one scent. Masses in grams; fractions 0..1 of the finished product unless they say of oils."""

    parts: tuple[Part, ...]
    limits: ScentLimits
    base: Base
    oils_g: float
    largest_fraction: float | None  # None: prohibited, not known, or nothing known limits it
    largest_g: float | None  # on its scale, rounded down
    division_g: float | None
    scale: str
    in_hand_g: float | None
    in_hand_fraction: float | None
    names: tuple[Named, ...]
    names_fraction: float | None  # the load that the label's names are for
    cautions: tuple[Caution, ...]

    @property
    def verdict(self) -> str:
        """One of "prohibited", "unknown", "open" (nothing known limits it), "fail", "pass", "limit" (no load in hand)."""
        if self.limits.prohibited:
            return "prohibited"
        binding = self.limits.binding
        if binding and self.in_hand_fraction and self.in_hand_fraction > binding.load_fraction * (1.0 + 1e-12):
            return "fail"
        if self.limits.unknown:
            return "unknown"
        if self.limits.binding is None:
            return "open"
        if self.in_hand_fraction is None:
            return "limit"
        return "pass" if self.in_hand_fraction <= self.limits.binding.load_fraction * (1.0 + 1e-12) else "fail"

    @property
    def largest_of_oils_fraction(self) -> float | None:
        """The largest amount as a share of the oils."""
        return None if self.largest_g is None else self.largest_g / self.oils_g


def base_of(batter_per_oil: float, cure_loss_fraction: float | None) -> Base:
    """The cured bar for each gram of oils. batter_per_oil: oils, lye and additives without scent, above 0 (1)."""
    loss = constant("cure_loss_cautious").value if cure_loss_fraction is None else cure_loss_fraction
    said = "the workshop's own figure" if cure_loss_fraction is not None else "a cautious figure, the workshop states none"
    words = f"Oils, lye and additives of the formula, less {100.0 * loss:.3g} % lost in cure ({said})."
    return Base(batter_per_oil * (1.0 - loss), words)


OILS_ALONE = Base(1.0, "The bar is counted as its oils alone: cautious, since lye and water make it heavier.")


def scent_sheet(
    question: ScentQuestion, parts: Sequence[Part], base: Base, scales: Sequence[Scale], rule_set: str = "both"
) -> ScentSheet:
    """The limits of a scent for these oils. parts: shares that sum to 1; scales: at least one, to weigh the scent on."""
    limits = scent_limits(parts, rule_set)
    rest_g = base.rest_per_oil * question.oils_g
    binding = limits.binding
    largest = None if binding is None or limits.prohibited or limits.unknown else binding.load_fraction
    largest_g = division_g = None
    scale = ""
    if largest is not None:
        exact_g = min(largest_scent_g(largest, rest_g), question.oils_g)
        try:
            found = choose_scale(scales, exact_g, in_vessel=False, allowed_error_fraction=ALLOWED_ERROR_FRACTION)
            division_g, scale = found.scale.division_g, found.scale.name
        except InputProblems:
            division_g = FINEST_G  # no scale of the workshop can weigh it: the figure stands for itself
        largest_g = rounded_down_g(exact_g, division_g)
    in_hand_g = None if question.load_fraction is None else question.load_fraction * question.oils_g
    in_hand = None if in_hand_g is None else load_of(in_hand_g, rest_g)
    at = in_hand if in_hand is not None else largest
    return ScentSheet(
        tuple(parts),
        limits,
        base,
        question.oils_g,
        largest,
        largest_g,
        division_g,
        scale,
        in_hand_g,
        in_hand,
        () if at is None else label_names(parts, at),
        at,
        tuple(_cautions(question, parts)),
    )


def _cautions(question: ScentQuestion, parts: Sequence[Part]) -> list[Caution]:
    if question.pot_c is None:
        return []
    found = []
    for part in parts:
        flash = part.material.flash_point
        ends = [] if flash is None else [end for end in (flash.low, flash.high) if end is not None]
        if flash is None:
            found.append(
                Caution(
                    "pot_c",
                    "flash-unknown",
                    f"The flash point of {part.material.name} is not known.",
                    "Read it on the safety data sheet before it goes near a warm pot.",
                )
            )
        elif min(ends) <= question.pot_c:
            found.append(
                Caution(
                    "pot_c",
                    "flash-below-pot",
                    f"{part.material.name} can catch fire at the pot's temperature: flash point {min(ends):g} °C ({flash.source}).",
                    "Let the batter cool; no flame, no hot plate, no sparking motor nearby.",
                )
            )
    return found

