"""The cut plan of a mould: its best way of cutting with the frames there are, what that wastes, and what would waste less."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from calc.cut.advice import (
    HigherFill,
    LowerFill,
    OtherPitch,
    higher_fill,
    lower_fill,
    other_pitch,
)
from calc.cut.backwards import Wanted, wanted, way_for, weighs_enough
from calc.cut.block import Densities, SetBlock, Soap, Spread, fresh_bar_g, set_block, soap_of, sold_bar_g
from calc.cut.question import CutQuestion
from calc.cut.ways import OwnFrames, Way, same_way, ways
from calc.entry.language import ntr, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import level
from calc.workshop.equipment import ASSUMED, Mould
from calc.workshop.frames import SPACE
from calc.workshop.shop import Shop


@dataclass(frozen=True)
class CutSetting:
    """Everything the question names, looked up."""

    mould: Mould
    frames: OwnFrames  # all that the workshop has
    shop: Shop
    batter_g_per_ml: float | None  # of the formula, where one is chosen
    own_soap: Densities | None = None  # what earlier blocks of that formula showed
    units: str = "metric"


@dataclass(frozen=True)
class BarSize:
    """Bars of one size [mm] of a block: how many, what one weighs fresh and at sale [g]."""

    size_mm: tuple[float, float, float]
    bars: int
    fresh_g: Spread
    sold_g: Spread


@dataclass(frozen=True)
class CutPlan:
    """A block and the way of cutting it that wastes least with what is chosen; all other ways after it, best first.

    Where bars are wanted, the block is filled as far as they need it. Where no frames as they are give bars of the weight
    wanted, wires hung for such bars are counted, and the frames as they are stand with the others.
    """

    mould: Mould
    highest_mm: float  # the fill that was asked about; an order may need less
    fill_mm: float
    sinks_fraction: float
    block: SetBlock
    way: Way
    others: tuple[Way, ...]
    sizes: tuple[BarSize, ...]  # the most frequent first
    trim_g: float
    cut_g: float  # what the cuts remove
    lower: LowerFill | None
    higher: HigherFill | None
    pitch: OtherPitch | None
    wanted: Wanted | None
    cautions: tuple[Caution, ...]

    @property
    def better(self) -> Way | None:
        """A way with other frames that wastes less and gives what is wanted; None where none does."""
        return next((way for way in self.others if way.ids != self.way.ids and self._better(way)), None)

    def _better(self, other: Way) -> bool:
        enough = self.wanted is None or other.bars * self.wanted.blocks >= (self.wanted.bars or 0)
        return enough and other.used_fraction > self.way.used_fraction and not self.too_light(other)

    def too_light(self, other: Way) -> bool:
        """Whether a way's bars don't come to the weight wanted."""
        return self.wanted is not None and not weighs_enough(other, self.wanted.sold_g, self.soap)

    @property
    def lightest_sold_g(self) -> float:
        """What the lightest of its bars may weigh at sale [g]."""
        return min(each.sold_g.low for each in self.sizes)

    @property
    def soap(self) -> Soap:
        """What is known of the soap."""
        return self.block.soap


def cut_plan(question: CutQuestion, setting: CutSetting) -> CutPlan:
    """The plan for what is asked. Raises InputProblems where the mould runs over, no bar comes out, or none so heavy."""
    mould, frames, units = setting.mould, setting.frames, setting.units
    fill_mm = highest_mm = mould.fill_height_mm if question.fill_height_mm is None else question.fill_height_mm
    if fill_mm > mould.height_mm:
        message = tr("{mould} is {height} high.", mould=mould.name, height=level(mould.height_mm, units))
        raise InputProblems(Problem("fill_height_mm", "fill-over-height", message, tr("Type a level inside the mold.")))
    soap = soap_of(setting.shop, setting.batter_g_per_ml, question.cure_loss_fraction, setting.own_soap)
    sinks = soap.sinks_fraction(soap.set_g_per_ml.used) if question.sinks_fraction is None else question.sinks_fraction

    def filled(to_mm: float, sinking: float = sinks) -> SetBlock:
        return set_block(mould.length_mm, mould.width_mm, to_mm, soap, sinking)

    block = filled(fill_mm)
    found = ways(block, frames)
    meant = [way for way in found if _as_chosen(way, question)]
    if not meant:
        raise InputProblems(
            Problem(
                "loaf_frame",
                "no-whole-bar",
                tr("No whole bar comes out of {mould} at {height} with these frames.", mould=mould.name, height=level(fill_mm, units)),
                tr("A bar is longer, wider or higher than the block less its trim, or the loaves don't go under the bar frame. Choose other frames, or fill higher."),
            )
        )  # fmt: skip
    most = _sinks_most(question, soap, sinks)
    way = way_for(meant, question.sold_bar_g, soap)
    back = _wanted(question, setting, way, soap, fill_mm, most, block)
    hung = None if back is None or back.heavy_enough else back
    again = partial(same_way, way=way, frames=frames, pitch_mm=None if hung is None else hung.pitch_mm)
    if back is not None:
        fill_mm, block = back.fill_mm, filled(back.fill_mm)
        found, lower = ways(block, frames), again(block)
        assert lower is not None  # what goes under the wires at one height goes under them at a lesser one
        way = lower
    pitch = other_pitch(way, units)
    if pitch is not None and question.sold_bar_g is not None and pitch.bar_fraction < 1.0:
        pitch = None  # no advice to make bars lighter than wanted
    return CutPlan(
        mould=mould,
        highest_mm=highest_mm,
        fill_mm=fill_mm,
        sinks_fraction=sinks,
        block=block,
        way=way,
        others=tuple(each for each in found if each != way),
        sizes=tuple(_sizes(way, soap)),
        trim_g=block.mass_g(way.trim_ml),
        cut_g=block.mass_g(way.cut_ml),
        lower=lower_fill(way, block, fill_mm, most, units),
        higher=None if question.bars_wanted else higher_fill(way, fill_mm, mould.height_mm, most, units, lambda to_mm: again(filled(to_mm))),
        pitch=pitch,
        wanted=back,
        cautions=tuple(_cautions(setting, way, again(filled(fill_mm, most)))),
    )


def _as_chosen(way: Way, question: CutQuestion) -> bool:
    chosen = {"loaf_frame": question.loaf_frame, "bar_frame": question.bar_frame, "cutter": question.cutter}
    return all(id_ is None or way.ids.get(kind) == id_ for kind, id_ in chosen.items())


def _sizes(way: Way, soap: Soap) -> Iterator[BarSize]:
    for size_mm, bars in way.sizes_mm.items():
        fresh_g = fresh_bar_g(size_mm, way.cut_by_wire, soap)
        yield BarSize(size_mm, bars, fresh_g, sold_bar_g(fresh_g, soap))


def _wanted(
    question: CutQuestion, setting: CutSetting, way: Way, soap: Soap, fill_mm: float, sinks: float, block: SetBlock
) -> Wanted | None:
    if question.bars_wanted is None and question.sold_bar_g is None:
        return None

    def at_pitch(pitch_mm: float) -> Way | None:
        return same_way(block, way, setting.frames, pitch_mm) if SPACE.low <= pitch_mm <= SPACE.high else None

    mould_mm = (setting.mould.length_mm, setting.mould.width_mm)
    found = wanted(
        question.bars_wanted, question.sold_bar_g, way, soap, mould_mm, fill_mm, sinks, setting.units, at_pitch
    )
    if found is None:
        message = tr("No bar of that weight comes out of this loaf frame's loaves.")
        raise InputProblems(Problem("sold_bar_g", "no-such-bar", message, tr("Choose another loaf frame, or another weight.")))
    return found


def _sinks_most(question: CutQuestion, soap: Soap, sinks: float) -> float:
    return soap.sinks_fraction(soap.set_g_per_ml.high) if question.sinks_fraction is None else sinks


def _cautions(setting: CutSetting, way: Way, lowest: Way | None) -> Iterator[Caution]:
    """What the plan rests on that nobody has measured, and what may come of it."""
    if setting.mould.figures == ASSUMED:
        yield Caution(
            "mould",
            "assumed-mould",
            tr("{mould}: the inside size is assumed. Nobody has measured it.", mould=setting.mould.name),
            tr("Measure it with the liner in and put that in Workshop."),
        )
    for axis, side in enumerate(way.sides):
        if side.wireless:
            yield Caution(
                "loaf_frame",
                "few-wires",
                tr("{frame} has {n} wires: more would fit.", frame=way.names[0 if axis in way.loaf_axes else -1], n=side.number),
                tr("The rest of that side is trim. Hang more wires, or space them wider."),
            )
    fewest = 0 if lowest is None else lowest.bars
    if fewest < way.bars:
        yield Caution(
            "",
            "block-may-sink",
            ntr("It may come to {number} bar only.", "It may come to {number} bars only.", fewest),
            tr("If your set soap is as dense as some, the block sinks further and a layer is lost. Fill a little higher, or weigh the first bar of each block at the cutter: that tells how dense yours is."),
        )  # fmt: skip
