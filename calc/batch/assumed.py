"""What a sheet rests on that nobody has measured or read yet: told each time, until it is put right."""

from collections.abc import Iterator, Sequence

from calc.batch.order import BatchSetting
from calc.batch.pours import Pour
from calc.batch.size import cutting
from calc.cut.block import OWN_BLOCKS
from calc.entry.language import tr
from calc.entry.problems import Caution
from calc.entry.shown import percent, points, weight
from calc.mould.bars import bar_mass_g
from calc.workshop.equipment import ASSUMED


def assumed_cautions(setting: BatchSetting, pours: Sequence[Pour]) -> Iterator[Caution]:
    """One for the mould, the vessel, each scale that weighs something, each lot of caustic and the density of set soap."""
    mould, vessel = setting.mould, setting.vessel
    if mould.figures == ASSUMED:
        yield Caution(
            "mould",
            "assumed-mould",
            tr("{mould}: the inside size is assumed. Nobody has measured it.", mould=mould.name),
            tr("Measure it with the liner in and enter that in Workshop. If it's smaller, the batter runs over."),
        )
    if vessel.figures == ASSUMED:
        yield Caution(
            "vessel",
            "assumed-vessel",
            tr("{vessel}: the empty weight is assumed.", vessel=vessel.name),
            tr("Set it empty on its scale and enter what it shows in Workshop."),
        )
    used = {name for pour in pours for name in pour.scales}
    for scale in setting.scales:
        if scale.figures == ASSUMED and scale.name in used:
            yield Caution(
                "",
                "assumed-scale",
                tr("{scale}: the plate is assumed. Nobody has read it.", scale=scale.name),
                tr("It counts as a coarse scale, so the superfat is less sure. Read the plate and enter that in Workshop."),
            )
    lots = {pour.lot for pour in pours if pour.kind == "alkali"}
    for alkali, lot in setting.alkali_lots.items():
        if lot.code in lots and not lot.stated.known:
            yield Caution(
                f"{alkali}_lot",
                "assumed-assay",
                tr(
                    "{lot}: the assay isn't known. {assay} is used, give or take {points} points.",
                    lot=lot.code, assay=percent(lot.stated.fraction), points=points(lot.stated.plus_minus_fraction),
                ),
                tr("That makes the superfat less sure. Read the assay off the bag and enter it in Workshop."),
            )  # fmt: skip
    yield from _bars(setting)


def _bars(setting: BatchSetting) -> Iterator[Caution]:
    found = cutting(setting, setting.mould.fill_height_mm)
    cut = None if found is None else found.cut
    if cut is None or cut.block.soap.own_blocks or cut.block.soap.set_g_per_ml.sure:
        return
    low, _, high = cut.block.soap.set_g_per_ml
    lightest, heaviest = (weight(bar_mass_g(cut.bar_mm, density), setting.units) for density in (low, high))
    yield Caution(
        "cutter",
        "assumed-density",
        tr("A fresh bar weighs {low} to {high}: the density of your soap isn't known.", low=lightest, high=heaviest),
        tr("Weigh the first bar of each block at the cutter: from {n} blocks on, your own soap is counted.", n=OWN_BLOCKS),
    )
