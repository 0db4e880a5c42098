"""The forms about a tank: which one, what went in, what came out."""

from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, choice, count, item, mass, rows, share, text
from calc.entry.language import later

TANK_MASS = Range(1.0, 10_000_000.0, later("a tank here takes from a gram to 10 metric tons"))


@dataclass(frozen=True, kw_only=True)
class TankChosen:
    """One tank to look at."""

    tank: str = item(later("Tank"), kind="tank", lone=True)


@dataclass(frozen=True, kw_only=True)
class LoadedPart:
    """One thing that went in."""

    lot: str = item(later("What went in"), kind="alkali_lot oil_lot oil")
    mass_g: float = mass(later("How much"), refuse=TANK_MASS)


@dataclass(frozen=True, kw_only=True)
class TankLoad:
    """Lye or oils put into a tank."""

    tank: str = item(later("Tank"), kind="tank", lone=True)
    parts: tuple[LoadedPart, ...] = rows(
        later("Caustic, bought lye or oils"), of=LoadedPart, minimum=0, maximum=12, add_label=later("Add another")
    )
    water_g: float | None = mass(later("Water"), refuse=TANK_MASS, optional=True)
    as_lot: str | None = item(
        later("On batch sheets this lye is"), kind="alkali_lot", only=("form", "premixed"), optional=True,
        help=later("Then what blocks weigh of that lot counts as drawn from this tank. Left empty: as before."),
    )  # fmt: skip
    formula: str | None = item(
        later("Blended for"), kind="formula", optional=True, help=later("The formula that gets this blend. Left empty: as before.")
    )


@dataclass(frozen=True, kw_only=True)
class TankDraw:
    """Something taken out of a tank that no block weighed."""

    tank: str = item(later("Tank"), kind="tank", lone=True)
    what: str = choice(
        later("How much"), options={"some": later("A part of it"), "all": later("All of it: the tank is empty now")}
    )
    mass_g: float | None = mass(later("Taken out"), refuse=TANK_MASS, when=("what", "some"))
    reason: str | None = text(
        later("What for"), max_length=NAME_LENGTH, optional=True,
        common=(later("Spilled"), later("Used elsewhere"), later("Thrown away"), later("Counted wrong")),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class BlocksPlanned:
    """So many blocks of one formula."""

    formula: str = item(later("Formula"), kind="formula", lone=True)
    blocks: int = count(later("Blocks"), refuse=Range(1, 50, later("a tank is loaded for at most 50 blocks at once")))


@dataclass(frozen=True, kw_only=True)
class LoadPlan:
    """What to put into a tank for some blocks."""

    tank: str = item(later("Tank"), kind="tank", lone=True)
    made: tuple[BlocksPlanned, ...] = rows(later("For"), of=BlocksPlanned, minimum=1, maximum=8, add_label=later("Another formula"))
    mould: str | None = item(
        later("Mold"), kind="mould", lone=True, optional=True, help=later("Left empty: as on the last sheet, else the first one.")
    )
    source: str | None = item(
        later("Lye made from"), kind="alkali_lot", optional=True,
        help=later("Caustic, or stronger lye you bought. Left empty: what went in last, or else the first lot of caustic."),
    )  # fmt: skip
    lye_fraction: float | None = share(
        later("Lye strength"), refuse=Range(0.05, 0.5, later("lye for bar soap is from 5 to 50 %")), optional=True,
        help=later("Left empty: what batch sheets are figured with, or else what the formulas take."),
    )  # fmt: skip
    as_lot: str | None = item(
        later("On batch sheets this lye is"), kind="alkali_lot", only=("form", "premixed"), optional=True,
        help=later("Then what blocks weigh of that lot counts as drawn from this tank. Left empty: as before."),
    )  # fmt: skip
