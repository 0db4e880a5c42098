"""The answer about one scent: how much may go in, for these oils, whether the load in hand passes, what the label names."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from calc.entry.declare import Range, item, mass, share, temperature
from calc.entry.language import later, tr
from calc.entry.problems import Caution, InputProblems
from calc.entry.shown import degrees, limit, load_and_limit, percent, percent_down
from calc.entry.units import convert
from calc.scales.display import Display
from calc.scales.weighing import Scale, choose_scale
from calc.scent.irritants import Irritation, irritation
from calc.scent.label import LabelList, label_list
from calc.scent.limits import ScentLimits, largest_scent_g, load_of, passes, scent_limits
from calc.scent.material import Part
from calc.scent.papers import paper_cautions
from calc.tables.reference import constant

ALLOWED_ERROR_FRACTION = constant("allowed_error_scent").value
FINEST = Display("g", 3, 1)


@dataclass(frozen=True, kw_only=True)
class ScentQuestion:
    """What is asked about a scent."""

    scent: str = item(later("Scent"), kind="scent scent_material")
    oils_g: float = mass(
        later("Oils in the batch"), refuse=Range(1.0, 2_000_000.0, later("a batch has from 1 g to 2 metric tons of oils"))
    )
    formula: str | None = item(
        later("Made by the formula"),
        kind="formula",
        optional=True,
        help=later("Without one the bar counts as its oils alone. It's really heavier, so the limit is on the safe side."),
    )
    load_fraction: float | None = share(
        later("Load, % of the oils"),
        refuse=Range(0.0, 1.0, later("more scent than oils isn't soap")),
        optional=True,
    )
    pot_c: float | None = temperature(
        later("Pot temperature when the scent goes in"),
        refuse=Range(0.0, 100.0, later("batter is between 0 and 100 °C")),
        optional=True,
    )


@dataclass(frozen=True)
class Base:
    """The finished product without its scent, for each gram of oils (1), and how that was reckoned."""

    rest_per_oil: float
    words: str


@dataclass(frozen=True)
class ScentAmount:
    """Scent to weigh, rounded down to the display of the scale for it."""

    exact_g: float
    display: Display
    count: int

    @property
    def mass_g(self) -> float:
        """The mass that the display then shows [g]."""
        return self.display.grams(self.count)

    def said(self, units: str) -> str:
        """As the display shows it; where that is not in the units chosen, the amount in those stands first."""
        shown, unit = self.display.said(self.count), "oz" if units == "us" else "g"
        if (self.display.unit in ("oz", "lb")) == (units == "us"):
            return shown
        return f"{limit(convert(self.mass_g, 'g', unit), unit, lowest=False)} ({shown})"


@dataclass(frozen=True)
class ScentSheet:
    """All about one scent. Masses in grams; fractions 0..1 of the finished product unless they say of oils."""

    parts: tuple[Part, ...]
    limits: ScentLimits
    base: Base
    oils_g: float
    largest_fraction: float | None  # None: prohibited, not known, or nothing known limits it
    largest: ScentAmount | None
    laxer: ScentAmount | None  # what the tables' first source alone would let in, where that is more
    asked: ScentAmount | None  # what would be let in if what is only recalled were so, where that is less
    usual_g: float  # what is usual at most, by practice alone
    usual_fraction: float
    in_hand_g: float | None
    in_hand_fraction: float | None
    irritation: Irritation | None
    mild: ScentAmount | None  # from here on the bar itself irritates skin
    label: LabelList | None
    label_fraction: float | None  # the load that the label's names are for
    cautions: tuple[Caution, ...]

    @property
    def verdict(self) -> str:
        """What the answer comes to.

        One of "prohibited", "fail", "unknown", "open" (nothing known limits it), "pass"; with no load in hand "limit", or
        "roomy" where the limit is far above what anybody uses.
        """
        if self.limits.prohibited:
            return "prohibited"
        if self.in_hand_fraction is not None and not passes(self.in_hand_fraction, self.limits.binding):
            return "fail"
        if self.limits.unknown:
            return "unknown"
        if self.limits.binding is None:
            return "open"
        if self.in_hand_fraction is not None:
            return "pass"
        return "roomy" if self.far_above_usual else "limit"

    @property
    def doubtful(self) -> bool:
        """Whether the load in hand passes by what was read and would not by what is only recalled."""
        return self.verdict in ("pass", "open") and not passes(self.in_hand_fraction or 0.0, self.limits.asked)

    @property
    def irritating_fraction(self) -> float | None:
        """From which share on the bar itself irritates skin, where the load looked at reaches it (0..1)."""
        found, at = self.irritation, self.label_fraction
        return found.from_load_fraction if found is not None and at is not None and found.of_bar(at) else None

    @property
    def far_above_usual(self) -> bool:
        """Whether the limit is so far above practice that it says nothing about how much to use."""
        return self.largest_fraction is not None and says_nothing(self.largest_fraction, self.usual_fraction)

    @property
    def largest_of_oils_fraction(self) -> float | None:
        """The largest amount as a share of the oils, whatever a scale can show of it."""
        return None if self.largest is None else self.largest.exact_g / self.oils_g

    @property
    def load_of_oils(self) -> str:
        """The load in hand as it is shown, of the oils."""
        return self._beside_of_oils[0]

    @property
    def most_of_oils(self) -> str:
        """The largest amount as it is shown, of the oils."""
        return self._beside_of_oils[1]

    @property
    def largest_is_coarse(self) -> bool:
        """Whether what the scale can show of the largest amount is another share of the oils than is shown for it."""
        return self.largest is not None and percent_down(self.largest.mass_g / self.oils_g, 2) != self.most_of_oils

    @property
    def load_and_most(self) -> tuple[str, str]:
        """The load in hand and the largest as they are shown beside each other, of the finished bar."""
        return self._beside(self.in_hand_fraction, self.largest_fraction)

    @property
    def _beside_of_oils(self) -> tuple[str, str]:
        return self._beside(None if self.in_hand_g is None else self.in_hand_g / self.oils_g, self.largest_of_oils_fraction)

    def _beside(self, load_fraction: float | None, most_fraction: float | None) -> tuple[str, str]:
        if load_fraction is None or most_fraction is None:
            return (
                "" if load_fraction is None else percent(load_fraction, 2),
                "" if most_fraction is None else percent_down(most_fraction, 2),
            )
        return load_and_limit(load_fraction, most_fraction, over=self.verdict == "fail")


def says_nothing(limit_fraction: float, usual_fraction: float) -> bool:
    """Whether a limit lies too far above what is usual to be a guide; both of the finished product (0..1)."""
    return limit_fraction > constant("scent_far_above_usual").value * usual_fraction


def base_of(batter_per_oil: float, cure_loss_fraction: float | None) -> Base:
    """The cured bar for each gram of oils. batter_per_oil: oils, lye and additives without scent, above 0 (1)."""
    loss = constant("cure_loss_cautious").value if cure_loss_fraction is None else cure_loss_fraction
    share = percent(loss)
    if cure_loss_fraction is not None:
        words = tr("Oils, lye and additives of the formula, less {share} lost in cure (the workshop's own figure).", share=share)
    else:
        words = tr(
            "Oils, lye and additives of the formula, less {share} lost in cure (a cautious figure, the workshop states none).",
            share=share,
        )
    return Base(batter_per_oil * (1.0 - loss), words)


def oils_alone() -> Base:
    """The bar counted as its oils alone."""
    return Base(1.0, tr("The bar counts as its oils alone. That's on the safe side, since lye and water make it heavier."))


def scent_sheet(
    question: ScentQuestion, parts: Sequence[Part], base: Base, scales: Sequence[Scale], rule_set: str = "both"
) -> ScentSheet:
    """The limits of a scent for these oils. parts: shares that sum to 1; scales: at least one, to weigh the scent on."""
    limits = scent_limits(parts, rule_set)
    rest_g = base.rest_per_oil * question.oils_g
    binding = limits.binding
    answered = not (limits.prohibited or limits.unknown)
    largest = None if binding is None or not answered else binding.load_fraction
    laxer, asked = (limits.laxer, limits.asked) if answered else (None, None)
    in_hand_g = None if question.load_fraction is None else question.load_fraction * question.oils_g
    in_hand = None if in_hand_g is None else load_of(in_hand_g, rest_g)
    usual_g = constant("scent_usual").value * question.oils_g
    usual = load_of(usual_g, rest_g)
    skin = irritation(parts)
    sheet = ScentSheet(
        tuple(parts),
        limits,
        base,
        question.oils_g,
        largest,
        None if largest is None else _amount(largest, rest_g, question.oils_g, scales),
        None if laxer is None else _amount(laxer.load_fraction, rest_g, question.oils_g, scales),
        None if asked is None else _amount(asked.load_fraction, rest_g, question.oils_g, scales),
        usual_g,
        usual,
        in_hand_g,
        in_hand,
        skin,
        None if skin is None else _amount(skin.from_load_fraction, rest_g, question.oils_g, scales),
        None,
        None,
        (*_cautions(question, parts), *paper_cautions(parts, rule_set, "scent")),
    )
    at = in_hand if in_hand is not None else usual if sheet.verdict in ("roomy", "open") else largest
    return sheet if at is None else replace(sheet, label=label_list(parts, at), label_fraction=at)


def _amount(load_fraction: float, rest_g: float, oils_g: float, scales: Sequence[Scale]) -> ScentAmount:
    exact_g = min(largest_scent_g(load_fraction, rest_g), oils_g)
    try:
        found = choose_scale(scales, exact_g, in_vessel=False, allowed_error_fraction=ALLOWED_ERROR_FRACTION, down=True)
    except InputProblems:
        # No scale of the workshop can weigh it: the figure stands for itself.
        return ScentAmount(exact_g, FINEST, FINEST.counts_within(exact_g))
    return ScentAmount(exact_g, found.scale.display, found.scale.display.counts_within(exact_g))


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
                    tr("The flash point of {name} isn't known.", name=part.material.name),
                    tr("Read it off the safety data sheet before it goes near a warm pot."),
                )
            )
        elif min(ends) <= question.pot_c:
            found.append(
                Caution(
                    "pot_c",
                    "flash-below-pot",
                    tr(
                        "{name} can catch fire at the pot's temperature: flash point {flash} ({source}).",
                        name=part.material.name, flash=degrees(min(ends)), source=tr(flash.source),
                    ),
                    tr("Let the batter cool; no flame, no hot plate, no sparking motor nearby."),
                )
            )
    return found
