"""A workshop to make batch sheets in: the example block of physics_check_values.csv and variations of it."""

from dataclasses import replace

from calc.batch.order import BatchOrder, BatchSetting
from calc.formula.declaration import Formula, OilShare
from calc.tables.reference import oils
from calc.workshop.equipment import Cutter, Mould, ScaleItem, Vessel
from calc.workshop.lots import AlkaliLot, OilLot
from calc.workshop.shop import Shop

FLOOR = ScaleItem(name="Floor", capacity_g=150_000.0, division_g=20.0, reads_in="kg", accuracy_class="III")
BENCH = ScaleItem(name="Bench", capacity_g=6_000.0, division_g=1.0, reads_in="g", accuracy_class="III")
FINE = ScaleItem(name="Fine", capacity_g=600.0, division_g=0.1, reads_in="g", accuracy_class="II")

MOULD = Mould(name="Block", length_mm=600.0, width_mm=400.0, height_mm=210.0, fill_height_mm=200.0)
VESSEL = Vessel(name="Pot", capacity_ml=80_000.0, tare_g=11_400.0)
CUTTER = Cutter(
    name="Frames", pitch_length_mm=25.0, pitch_width_mm=90.0, pitch_height_mm=60.0, trim_mm=5.0, kerf_mm=0.0
)
SHOP = Shop(name="Quillmarsh", code_prefix="QM", tolerance_scheme="HB44", set_density_g_per_ml=1.04)
LYE = AlkaliLot(code="LYE", alkali="naoh", form="premixed", strength_fraction=0.33, plus_minus_fraction=0.001)
FLAKE = AlkaliLot(
    code="NAO", alkali="naoh", form="solid", assay_fraction=0.98, plus_minus_fraction=0.005, carbonate_fraction=0.005
)
POTASH = AlkaliLot(
    code="KOH", alkali="koh", form="solid", assay_fraction=0.85, plus_minus_fraction=0.01, carbonate_fraction=0.035
)


def oil_lot(oil: str, value: float, plus_minus: float) -> OilLot:
    """A lot in use whose certificate gives this value and plus-minus [mg KOH/g]."""
    return OilLot(
        code=oil.upper(),
        oil=oil,
        in_use="yes",
        saponification_value=value,
        saponification_plus_minus_value=plus_minus,
    )


# Middles and half ranges of the example block (physics_check_values.csv, D3 and D4).
EXAMPLE_LOTS = {
    "olive": oil_lot("olive", 190.0, 6.0),
    "palm": oil_lot("palm", 199.5, 9.5),
    "coconut": oil_lot("coconut", 256.5, 8.5),
}

EXAMPLE = Formula(
    name="Example",
    oils=(
        OilShare(oil="olive", share_fraction=0.45, added="main"),
        OilShare(oil="palm", share_fraction=0.30, added="main"),
        OilShare(oil="coconut", share_fraction=0.25, added="main"),
    ),
    alkali="naoh",
    superfat_fraction=0.05,
    water_as="lye_strength",
    lye_strength_fraction=0.33,
    scent_fraction=0.0,
    scent=None,
    additives=(),
    oil_temperature_c=38.0,
    lye_temperature_c=38.0,
)

SETTING = BatchSetting(
    formula=EXAMPLE,
    revision=1,
    mould=MOULD,
    vessel=VESSEL,
    scales=(FLOOR, BENCH, FINE),
    alkali_lots={"naoh": LYE, "koh": POTASH},
    cutter=CUTTER,
    oils=oils(),
    oil_lots=EXAMPLE_LOTS,
    shop=SHOP,
)


def order(**changes: object) -> BatchOrder:
    """One block at the usual fill, or as changed."""
    usual = BatchOrder(formula="f", mould="m", scale_to="blocks", blocks=1, vessel="v", naoh_lot="a", cutter="c")
    return replace(usual, **changes)  # type: ignore[arg-type]


def setting(formula_changes: dict[str, object] | None = None, **changes: object) -> BatchSetting:
    """The example workshop with changes to its formula or to itself."""
    formula = replace(EXAMPLE, **(formula_changes or {}))  # type: ignore[arg-type]
    return replace(SETTING, formula=formula, **changes)  # type: ignore[arg-type]
