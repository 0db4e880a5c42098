"""An oil of a formula that is gone or short, and the best ways to do without it: each as a whole formula with its chemistry."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from calc.chemistry.oils import AcidPercent, OilBlend, acid_structure
from calc.entry.fields import check, read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.formula.as_text import USUAL_OILS
from calc.formula.changed_oils import OilRow, row_texts, rows_of, shares_of, with_shares
from calc.formula.declaration import Formula
from calc.formula.sheet import FormulaSheet, formula_sheet
from calc.formula.stand_in import BEST, Shelf, StandIn, is_comparable, profile, stand_ins
from calc.formula.stand_in_question import StandInQuestion
from calc.tables.reference import oil_origins
from calc.tables.rows import Oil, OilOrigin
from calc.workshop.lots import OilLot

# Lauric and myristic acid, and what is shorter.
SHORT_CARBONS = 14


@dataclass(frozen=True)
class Stock:
    """What is in the workshop: every known oil, the lots in use, what stands on the shelf; the oils of all formulas, the own ones."""

    oils: Mapping[str, Oil]
    in_use: Mapping[str, OilLot]
    shelf: Mapping[str, Shelf]
    of_formulas: frozenset[str]
    own: frozenset[str]

    @property
    def here(self) -> frozenset[str]:
        """The oils to choose from: those on the shelf; where no lot is noted at all, those of the maker's formulas."""
        return frozenset(self.shelf) if self.shelf else self.of_formulas

    @property
    def elsewhere(self) -> frozenset[str]:
        """Oils that are not on the shelf and could be got: those of formulas, the maker's own, and the usual ones."""
        return frozenset((*self.of_formulas, *self.own, *USUAL_OILS)) & self.oils.keys() - self.here


@dataclass(frozen=True)
class Lack:
    """How much of an oil there is [g, None where nobody knows] and is needed [g, None without a batch]; what it can keep [%]."""

    oil: str
    share: Fraction
    left_g: float | None
    needed_g: float | None
    kept: Fraction

    @property
    def short_g(self) -> float | None:
        """How much is missing [g]; None where it is all gone or the batch isn't known."""
        return None if self.needed_g is None or not self.kept else self.needed_g - (self.left_g or 0.0)

    @property
    def enough(self) -> bool:
        """Whether nothing is missing after all."""
        return self.kept >= self.share


@dataclass(frozen=True)
class Blend:
    """What is told of a blend: shares of its fatty acids, as fractions, low, typical and high; lye per kilogram of oils."""

    solid: AcidPercent
    short: AcidPercent
    iodine: tuple[float, float, float] | None
    saponification_value: float
    hydroxide_g: float


@dataclass(frozen=True)
class Way:
    """One way as a formula, and what is to be known of it."""

    stand_in: StandIn
    rows: tuple[OilRow, ...]
    texts: Mapping[str, str]  # of the whole formula, as its form holds them
    formula: Formula
    sheet: FormulaSheet
    blend: Blend
    to_get: tuple[str, ...]  # oils that are not on the shelf
    not_noted: tuple[str, ...]  # on the shelf, in an amount that nobody has noted
    not_known: tuple[str, ...]  # new ones whose origin isn't known: the maker's own
    oils_most_g: float | None  # so many oils in all can be made with what the shelf has of those that change
    animal: tuple[tuple[str, OilOrigin], ...]  # in a formula that had no animal fat
    without_animal: bool  # no animal fat is left in it
    allergens: tuple[tuple[str, OilOrigin], ...]
    label_off: tuple[str, ...]  # names that leave the list of ingredients, and that join it
    label_on: tuple[str, ...]


@dataclass(frozen=True)
class Plan:
    """What is missing, how the formula was, and the best ways: from the shelf, and with an oil that would have to be got."""

    lack: Lack
    before: FormulaSheet
    blend: Blend
    ways: tuple[Way, ...]
    to_get: tuple[Way, ...]
    others_short: tuple[Lack, ...]
    left_out: tuple[str, ...]  # on the shelf, and not compared: too little of their fatty acids is known


def lack_of(oil: str, shares: Mapping[str, Fraction], shelf: Mapping[str, Shelf], question: StandInQuestion) -> Lack:
    """How much of an oil is missing. What is typed goes before the lots; without a batch to make, an oil that is out is all gone."""
    share = shares[oil]
    left_g = question.left_g
    if left_g is None or oil != question.oil:
        there = shelf.get(oil)
        left_g = there.left_g if there is not None else 0.0 if shelf else None
    if question.oils_g is None:
        return Lack(oil, share, left_g, None, Fraction(0))
    needed_g = float(share) / 100.0 * question.oils_g
    if left_g is None:
        return Lack(oil, share, None, needed_g, Fraction(0) if oil == question.oil else share)
    # Down to a whole percent: a share that is kept is to be there.
    kept = share if left_g >= needed_g else Fraction(int(100.0 * left_g / question.oils_g))
    return Lack(oil, share, left_g, needed_g, min(kept, share))


def worst(found: Sequence[Lack]) -> Lack | None:
    """The oil to ask about where none is named: the one short by most of the batch, else one that the shelf has none of."""
    short = [each for each in found if each.needed_g is not None and not each.enough]
    return max(short, key=lambda each: each.share - each.kept, default=next((each for each in found if each.left_g == 0.0), None))


def lacks(question: StandInQuestion, values: Mapping[str, str], shelf: Mapping[str, Shelf]) -> tuple[Lack, ...]:
    """Every oil of a formula with how much of it is there, in the formula's order."""
    shares = shares_of(rows_of(values))
    return tuple(lack_of(oil, shares, shelf, question) for oil in shares)


def plan(lack: Lack, values: Mapping[str, str], stock: Stock, question: StandInQuestion, name: str) -> Plan:
    """The best ways to do without an oil, or with what is left of it. name: what the changed formula is called.

    values: the formula as stored. Raises InputProblems for one that can't be reckoned, and where the missing oil can't be
    compared with any other.
    """
    if not is_comparable(stock.oils[lack.oil]):
        message = tr("Too little is known about its fatty acids: no other oil can be compared with it.")
        raise InputProblems(Problem("oil", "not-comparable", message, tr("Choose an oil, fat or butter, not a wax.")))
    reader = _Reader(lack, values, stock, question, name)
    every = stand_ins(reader.shares, lack.oil, lack.kept, reader.profiles(stock.here | stock.elsewhere), reader.most())
    here = [way for way in every if not reader.to_get(way)]
    bought = [way for way in every if reader.to_get(way)]
    return Plan(
        lack,
        reader.before,
        reader.blend,
        tuple(reader.way(each) for each in here[:BEST]),
        tuple(reader.way(each) for each in bought[:BEST]),
        tuple(each for each in lacks(question, values, stock.shelf) if each.oil != lack.oil and not each.enough and each.needed_g),
        tuple(sorted(oil for oil in stock.here if not is_comparable(stock.oils[oil]))),
    )


class _Reader:
    """The formula that lacks an oil, and what each way makes of it."""

    def __init__(
        self, lack: Lack, values: Mapping[str, str], stock: Stock, question: StandInQuestion, name: str
    ) -> None:
        self.lack, self.stock, self.question, self.name = lack, stock, question, name
        self.values = values
        self.rows = rows_of(values)
        self.shares = shares_of(self.rows)
        formula = read(Formula, values).value
        check(formula)
        self.before = formula_sheet(formula, stock.oils, stock.in_use)
        self.blend = _told(self.before)

    def to_get(self, stand_in: StandIn) -> tuple[str, ...]:
        """The oils that a way takes more of, and that are not on the shelf."""
        return tuple(each.oil for each in stand_in.changes if each.after > each.before and each.oil not in self.stock.here)

    def profiles(self, oils: Iterable[str]) -> dict[str, tuple[float, ...]]:
        """The oils that may change, and the missing one, by chemistry."""
        stock = self.stock
        return {
            oil: profile(stock.oils[oil], stock.in_use.get(oil))
            for oil in (*oils, self.lack.oil)
            if oil in stock.oils and is_comparable(stock.oils[oil])
        }

    def most(self) -> dict[str, Fraction]:
        """The largest share of all oils [%] that the shelf has of an oil, where the batch is known."""
        oils_g = self.question.oils_g
        if oils_g is None:
            return {}
        return {
            oil: Fraction(100.0 * there.left_g / oils_g) for oil, there in self.stock.shelf.items() if there.left_g is not None
        }

    def way(self, stand_in: StandIn) -> Way:
        """The whole formula of one way."""
        stock, lack = self.stock, self.lack
        shares = {lack.oil: lack.kept, **{each.oil: each.after for each in stand_in.changes}}
        rows = with_shares(self.rows, lack.oil, shares)
        others = {name: text for name, text in self.values.items() if not name.startswith("oils.")}
        texts = {**others, "name": self.name, **row_texts(rows)}
        formula = read(Formula, texts).value
        check(formula)
        sheet = formula_sheet(formula, stock.oils, stock.in_use)
        grown = [each for each in stand_in.changes if each.after > each.before]
        noted = {each.oil: there.left_g for each in grown if (there := stock.shelf.get(each.oil)) is not None}
        most_g = [100.0 * left_g / float(each.after) for each in grown if (left_g := noted.get(each.oil)) is not None]
        new = [each.oil for each in stand_in.changes if not each.before]
        after = shares_of(rows)
        had, has = self._made_from(self.shares, "animal"), self._made_from(after, "animal")
        known = {origin.origin for _, origin in self._made_from(self.shares, "allergen")}
        named_before, named = self._named(self.shares, formula), self._named(after, formula)
        return Way(
            stand_in,
            rows,
            texts,
            formula,
            sheet,
            _told(sheet),
            to_get=self.to_get(stand_in),
            not_noted=tuple(oil for oil, left_g in noted.items() if left_g is None),
            not_known=tuple(oil for oil in new if oil in stock.own),
            oils_most_g=min(most_g, default=None),
            animal=() if had else has,
            without_animal=bool(had) and not has,
            allergens=tuple(each for each in self._made_from(after, "allergen") if each[1].origin not in known),
            label_off=tuple(name for name in named_before if name not in named),
            label_on=tuple(name for name in named if name not in named_before),
        )

    def _named(self, shares: Iterable[str], formula: Formula) -> tuple[str, ...]:
        """What these oils are called in a list of ingredients: by their soap where caustic soda alone makes it, else as oils."""
        soda = formula.alkali == "naoh"
        known = [self.stock.oils[oil] for oil in shares]
        return tuple((oil.inci_sodium_salt if soda else oil.inci_name) or tr(oil.name) for oil in known)

    def _made_from(self, shares: Iterable[str], kind: str) -> tuple[tuple[str, OilOrigin], ...]:
        known = oil_origins()
        return tuple((oil, known[oil]) for oil in shares if oil in known and known[oil].kind == kind)


def _told(sheet: FormulaSheet) -> Blend:
    blend = sheet.blend
    solid = [each for each in blend.fatty_acids if acid_structure(each.acid)[1] == 0]
    short = [each for each in solid if acid_structure(each.acid)[0] <= SHORT_CARBONS]
    return Blend(
        _summed("solid", solid), _summed("short", short), _iodine(blend), blend.saponification.used, sheet.naoh_g + sheet.koh_g
    )


def _summed(name: str, acids: Sequence[AcidPercent]) -> AcidPercent:
    """Several acids together; low and high are bounds, as those of each are, and no share is over the whole."""
    low, typical, high = (math.fsum(getattr(each, part) for each in acids) for part in ("low", "typical", "high"))
    return AcidPercent(name, low, typical, min(high, 100.0))


def _iodine(blend: OilBlend) -> tuple[float, float, float] | None:
    if blend.iodine_low is None or blend.iodine_typical is None or blend.iodine_high is None:
        return None
    return blend.iodine_low, blend.iodine_typical, blend.iodine_high
