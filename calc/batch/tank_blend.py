"""What goes into the oil tank before the first block, where oils come blended out of it."""

from dataclasses import dataclass

from calc.batch.order import BatchSetting
from calc.batch.pours import Pour, Pours
from calc.entry.problems import InputProblems
from calc.entry.shown import weight
from calc.scales.weighing import ALLOWED_MAIN, choose_scale
from calc.workshop.scales import scales_of


@dataclass(frozen=True)
class TankOil:
    """One oil of the blend for all blocks: as its scale shows it, or as no scale of the workshop carries it at once."""

    name: str
    lot: str | None
    share_fraction: float  # of the blend
    text: str
    scale: str | None


@dataclass(frozen=True)
class TankBlend:
    """The blend for all blocks, in the order of the formula."""

    oils: tuple[TankOil, ...]
    total_text: str  # as the blend's own line says it of all blocks


def tank_blend(setting: BatchSetting, made: Pours, blend: Pour, blocks: int) -> TankBlend:
    """What so many blocks take out of the tank. What stays in it and in its pipe comes on top, and is for the maker to know."""
    scales = [scale for scale, _ in scales_of(setting.scales, setting.shop.tolerance_scheme).values()]
    oils = []
    for pour in (pour for pour in made.rows if pour.blend_share < 1.0):
        text, scale = weight(blocks * pour.exact_g, setting.units), None
        try:
            choice = choose_scale(scales, blocks * pour.exact_g, in_vessel=False, allowed_error_fraction=ALLOWED_MAIN)
        except InputProblems:
            pass
        else:
            (count,) = choice.counts
            scale, text = choice.scale.name, choice.scale.display.said(count)
        oils.append(TankOil(pour.name, pour.lot, pour.blend_share, text, scale))
    return TankBlend(tuple(oils), blend.times_text(blocks, setting.units))
