"""What a sheet rests on that nobody has measured or read yet: told each time, until it is put right."""

from collections.abc import Iterator, Sequence

from calc.batch.order import BatchSetting
from calc.batch.pours import Pour
from calc.batch.size import cutting
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
            tr("{mould}: its inside is assumed, nobody has measured it.", mould=mould.name),
            tr("Measure it with the liner in and put that in Workshop. If it is smaller, the batter runs over."),
        )
    if vessel.figures == ASSUMED:
        yield Caution(
            "vessel",
            "assumed-vessel",
            tr("{vessel}: its empty weight is assumed.", vessel=vessel.name),
            tr("Set it empty on its scale and put what that shows in Workshop."),
        )
    used = {name for pour in pours for name in pour.scales}
    for scale in setting.scales:
        if scale.figures == ASSUMED and scale.name in used:
            yield Caution(
                "",
                "assumed-scale",
                tr("{scale}: its plate is assumed, nobody has read it.", scale=scale.name),
                tr("It is counted as a coarse one, and the superfat is less sure for it. Read the plate and put that in Workshop."),
            )
    lots = {pour.lot for pour in pours if pour.kind == "alkali"}
    for alkali, lot in setting.alkali_lots.items():
        if lot.code in lots and not lot.stated.known:
            yield Caution(
                f"{alkali}_lot",
                "assumed-assay",
                tr(
                    "{lot}: its assay isn't known. {assay} is counted, give or take {points} points.",
                    lot=lot.code, assay=percent(lot.stated.fraction), points=points(lot.stated.plus_minus_fraction),
                ),
                tr("The superfat is less sure for it. Take the assay off the bag and put it in Workshop."),
            )  # fmt: skip
    yield from _bars(setting)


def _bars(setting: BatchSetting) -> Iterator[Caution]:
    densities = setting.shop.set_densities_g_per_ml
    cut = None if densities[0] == densities[1] else cutting(setting, setting.mould.fill_height_mm)
    if cut is None or cut.bar_mm is None:
        return
    low, high = (weight(bar_mass_g(cut.bar_mm, density), setting.units) for density in densities)
    yield Caution(
        "cutter",
        "assumed-density",
        tr("A fresh bar weighs {low} to {high}: the density of your soap isn't known.", low=low, high=high),
        tr("Weigh a fresh bar, divide by its volume, and put that in Workshop."),
    )
