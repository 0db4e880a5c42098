"""A formula as the maker states it: oils by share, alkali, superfat, water, scent, additives.

Nothing here has a preset: superfat, lye strength and scent load are the maker's decisions.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, Whole, choice, item, measure, rows, share, temperature, text
from calc.entry.language import later, tr
from calc.entry.problems import Problem
from calc.entry.shown import degrees, number, percent
from calc.tables.reference import additives, constant

# Three shares typed as 33.33 % sum to 100 % within this; they are then taken in proportion.
SHARES_TOLERANCE = 0.0005

SHARE = Range(0.0, 1.0, later("a share is from 0 to 100 %"))
SOME_SHARE = Range(0.0001, 1.0, later("a row with no share doesn't belong here: remove the row"))
POUR_TEMPERATURE = Range(15.0, 80.0, later("the density tables run from 15 to 80 °C (59 to 176 °F)"))

SUPERFAT = [percent(constant(f"superfat_usual_{end}").value) for end in ("low", "high")]
LYE_STRENGTH = [constant(f"lye_strength_usual_{end}").value for end in ("low", "high")]
POURED_AT = [degrees(constant(f"pour_usual_{end}").value) for end in ("low", "high")]
ALKALIS = {"naoh": later("Caustic soda (NaOH)"), "koh": later("Caustic potash (KOH)")}


@dataclass(frozen=True, kw_only=True)
class OilShare:
    """One oil of the formula."""

    oil: str = item(later("Oil"), kind="oil")
    share_fraction: float = share(later("Share of all oils"), refuse=SOME_SHARE)
    added: str = choice(
        later("Added"),
        options={"main": later("With the oils"), "late": later("Late, at trace")},
        help="Late oils still count as part of all oils: lye can't tell them apart.",
    )


@dataclass(frozen=True, kw_only=True)
class AdditiveShare:
    """Something other than oil, alkali and scent."""

    kind: str = item(later("What"), kind="additive")
    share_fraction: float = share(
        later("Share of all oils"),
        refuse=Range(0.0001, 0.5, later("a row needs an amount, and more than half the oils' weight is no longer an additive")),
    )
    strength_fraction: float | None = share(
        later("Its strength (acids in solution)"),
        refuse=Range(0.01, 1.0, later("an acid's strength is from 1 to 100 %")),
        optional=True,
        help="For lactic acid and vinegar: percent acid by weight, from the label.",
    )
    water_fraction: float | None = share(
        later("Water in it"),
        refuse=SHARE,
        optional=True,
        help="Comes off the water to add. Leave it empty to use the usual amount.",
    )


@dataclass(frozen=True, kw_only=True)
class Formula(Whole):
    """What the maker saves as a formula."""

    name: str = text(later("Formula name"), max_length=NAME_LENGTH)
    oils: tuple[OilShare, ...] = rows(later("Oils"), of=OilShare, minimum=1, maximum=20, add_label="Add an oil")
    alkali: str = choice(later("Alkali"), options={**ALKALIS, "both": "Both"})
    koh_share_fraction: float | None = share(
        later("Caustic potash's share of the alkali"),
        refuse=SHARE,
        when=("alkali", "both"),
        help="By equivalents: at 10 %, one in ten soap molecules is a potassium soap.",
    )
    superfat_fraction: float = share(
        later("Superfat"),
        refuse=Range(0.0, 0.5, later("under 0 % the bar holds free lye; over 50 % it isn't soap")),
        warn=Range(0.02, 0.15, later("under 2 % the oils' own spread can leave free lye; over 15 % bars stay soft")),
        help="A lye discount: the share of all oils there isn't enough lye for. "
        f"Bars usually {' to '.join(SUPERFAT)} (common practice, no source).",
    )
    water_as: str = choice(
        later("Water stated as"),
        options={
            "lye_strength": "Lye strength",
            "water_to_lye": "Water to lye ratio",
            "share_of_oils": "Share of the oils",
        },
    )
    lye_strength_fraction: float | None = share(
        later("Lye strength"),
        refuse=Range(0.10, 0.50, later("below 10 % the batter won't set, above 50 % caustic hardly stays dissolved")),
        when=("water_as", "lye_strength"),
        help=f"Hydroxide by mass in the lye. Usually {' to '.join(map(percent, LYE_STRENGTH))} (common practice, no source).",
    )
    water_to_lye_ratio: float | None = measure(
        later("Water to lye ratio"),
        kind="ratio",
        offered=("",),
        refuse=Range(1.0, 9.0, later("below 1 caustic hardly stays dissolved, above 9 the batter won't set")),
        when=("water_as", "water_to_lye"),
        help=f"Water divided by pure hydroxide, by mass. Usually {' to '.join(number(1.0 / each - 1.0) for each in reversed(LYE_STRENGTH))} (common practice, no source).",
    )
    water_share_fraction: float | None = share(
        later("Water as a share of the oils"),
        refuse=Range(0.05, 1.2, later("outside 5 to 120 % of the oils the lye is either undissolved or a soup")),
        when=("water_as", "share_of_oils"),
        help="The lye strength it makes is shown: that's what matters.",
    )
    scent_fraction: float = share(
        later("Scent load"),
        refuse=Range(0.0, 0.15, later("more than 15 % scent doesn't stay in a bar")),
        warn=Range(0.0, 0.04, later("above 4 % few scents stay within their safe limit")),
        none_without="scent",
        help="A share of all oils; blank or 0 for unscented. How much is safe depends on the scent: see Fragrance.",
    )
    scent: str | None = item(
        later("Scent"),
        kind="scent scent_material",
        optional=True,
        help="A mix of yours, one lot, or an oil by itself. Name it, and its limit is kept and its lots go in the record.",
    )
    additives: tuple[AdditiveShare, ...] = rows(
        later("Additives"), of=AdditiveShare, minimum=0, maximum=20, add_label="Add an additive"
    )
    oil_temperature_c: float | None = temperature(
        later("Oils poured at"),
        refuse=POUR_TEMPERATURE,
        optional=True,
        help=f"Used for the volume in the mold. Usually {' to '.join(POURED_AT)} (common practice, no source).",
    )
    lye_temperature_c: float | None = temperature(later("Lye poured at"), refuse=POUR_TEMPERATURE, optional=True)
    notes: str | None = text(later("Notes"), max_length=2000, optional=True, multiline=True)

    @property
    def oils_poured_c(self) -> float:
        """The oils' temperature [°C] at the pour; the usual one where the maker states none."""
        return constant("oil_pour_usual").value if self.oil_temperature_c is None else self.oil_temperature_c

    @property
    def lye_poured_c(self) -> float:
        """The lye's temperature [°C] at the pour; the usual one where the maker states none."""
        return constant("lye_pour_usual").value if self.lye_temperature_c is None else self.lye_temperature_c

    def whole(self) -> Iterator[Problem]:
        """Shares that don't sum, an oil that stands twice, an alkali or an additive that can't be reckoned with."""
        yield from _shares(self)
        yield from _twice(self)
        yield from _one_alkali(self)
        yield from _additives(self)


def _shares(formula: Formula) -> Iterator[Problem]:
    total = math.fsum(row.share_fraction for row in formula.oils)
    missing = 1.0 - total
    if abs(total - 1.0) > SHARES_TOLERANCE:
        yield Problem(
            "oils",
            "shares-do-not-sum",
            tr("The oils add up to {percent}, not 100 %.", percent=percent(total, 4)),
            tr("Add {percent} more.", percent=percent(missing, 4))
            if missing > 0
            else tr("Take {percent} away.", percent=percent(-missing, 4)),
        )


def _twice(formula: Formula) -> Iterator[Problem]:
    seen: set[tuple[str, str]] = set()
    for index, row in enumerate(formula.oils):
        if (row.oil, row.added) in seen:
            yield Problem(
                f"oils.{index}.oil",
                "oil-twice",
                tr("This oil is in the formula twice."),
                tr("Put its whole share in one row, or set one of them to late."),
            )
        seen.add((row.oil, row.added))


def _one_alkali(formula: Formula) -> Iterator[Problem]:
    """A share of all or nothing leaves one of the two without an amount to weigh."""
    if formula.koh_share_fraction in (0.0, 1.0):
        key = "koh" if formula.koh_share_fraction else "naoh"
        alone = tr(ALKALIS[key])
        message = tr(
            "A share of {share} leaves only {alkali}.", share=percent(formula.koh_share_fraction), alkali=alone
        )
        remedy = tr("Choose {alkali} as the alkali, or a share between 0 and 100 %.", alkali=alone)
        yield Problem("koh_share_fraction", "one-alkali-alone", message, remedy)


def _additives(formula: Formula) -> Iterator[Problem]:
    known = additives()
    for index, extra in enumerate(formula.additives):
        entry = known.get(extra.kind)
        if entry is None:
            yield Problem(
                f"additives.{index}.kind",
                "additive-unknown",
                tr("This additive isn't known."),
                tr("Choose one from the list."),
            )
        elif entry.takes_alkali and entry.in_solution and extra.strength_fraction is None:
            yield Problem(
                f"additives.{index}.strength_fraction",
                "strength-missing",
                tr("{additive} takes up lye in proportion to its strength.", additive=tr(entry.label)),
                tr("Type the strength from its label, like 80 %."),
            )
        elif (
            entry.takes_alkali
            and (extra.strength_fraction or 0.0) + (extra.water_fraction or 0.0) > 1.0 + SHARES_TOLERANCE
        ):
            yield Problem(
                f"additives.{index}.water_fraction",
                "more-than-all",
                tr("{additive}: strength and water together are over 100 %.", additive=tr(entry.label)),
                tr("Correct one of them, or leave the water empty: whatever isn't acid counts as water."),
            )


def water_text(formula: Formula) -> str:
    """The water as the formula states it, in words."""
    if formula.lye_strength_fraction is not None:
        return f"lye strength {percent(formula.lye_strength_fraction, 2)}"
    if formula.water_to_lye_ratio is not None:
        return f"water to lye {number(formula.water_to_lye_ratio)} to 1"
    return f"water {percent(formula.water_share_fraction or 0.0, 2)} of the oils"
