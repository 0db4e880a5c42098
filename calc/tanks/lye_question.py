"""What lye is to be made, of what, on top of what stands in the tank, and in which vessel and room."""

from collections.abc import Iterator
from dataclasses import dataclass

from calc.entry.declare import Range, Whole, choice, item, mass, share, temperature
from calc.entry.language import later, tr
from calc.entry.problems import Problem
from calc.workshop.tanks import MATERIALS

MADE = Range(50.0, 5_000_000.0, later("lye made here weighs from 50 g to 5 metric tons"))
START = Range(0.0, 60.0, later("water for lye is cool: from 0 to 60 °C (32 to 140 °F)"))
ROOM = Range(0.0, 45.0, later("rooms where lye is made are from 0 to 45 °C (32 to 113 °F)"))


@dataclass(frozen=True, kw_only=True)
class LyeToMake(Whole):
    """Lye from caustic or from stronger lye."""

    total_g: float = mass(later("Total lye"), refuse=MADE)
    wanted_fraction: float = share(
        later("At"), refuse=Range(0.05, 0.5, later("the tables of heat and density end at 50 %, and under 5 % it’s no lye for soap"))
    )
    made_of: str = choice(later("Made of"), options={"solid": later("Flake or pearl"), "lye": later("Bought lye, diluted")})
    water_c: float | None = temperature(later("Water at"), refuse=START, optional=True)
    source_fraction: float | None = share(
        later("Assay, or strength of the bought lye"), refuse=Range(0.06, 1.0, later("it must be stronger than the lye you want")), optional=True,
        help=later("Left empty: what the lot says, or else the usual."),
    )  # fmt: skip
    lot: str | None = item(
        later("Lot"), kind="alkali_lot", optional=True, help=later("Its caustic, form and assay count.")
    )
    alkali: str | None = choice(
        later("Lye made from"), options={"naoh": later("Caustic soda (NaOH)"), "koh": later("Caustic potash (KOH)")}, optional=True,
        help=later("Not stated: what the lot says, or else caustic soda."),
    )  # fmt: skip
    have_g: float | None = mass(later("Lye in it already"), refuse=Range(0.0, 5_000_000.0, later("no tank here holds more than 5 metric tons")), optional=True)
    have_fraction: float | None = share(
        later("Its strength"), refuse=Range(0.0, 0.55, later("lye is at most 55 % here")), optional=True
    )
    have_c: float | None = temperature(
        later("How warm it is"), refuse=Range(0.0, 90.0, later("lye that is topped up is from 0 to 90 °C (32 to 194 °F)")), optional=True,
        help=later("Left empty: as warm as the room."),
    )  # fmt: skip
    room_c: float | None = temperature(later("Room at"), refuse=ROOM, optional=True)
    wanted_c: float | None = temperature(
        later("Cool enough to use at"), refuse=Range(10.0, 80.0, later("lye is poured between 10 and 80 °C (50 and 176 °F)")), optional=True
    )
    tank: str | None = item(later("Tank"), kind="tank", only=("holds", "lye"), lone=True, optional=True)
    material: str | None = choice(
        later("Vessel made of"), options=MATERIALS, optional=True, help=later("If no tank is chosen. Never aluminum, zinc, brass or glass.")
    )

    def whole(self) -> Iterator[Problem]:
        """Lye in the tank whose strength nobody has told."""
        if self.have_g and self.have_fraction is None:
            yield Problem(
                "have_fraction", "strength-missing", tr("How strong is the lye already in it?"),
                tr("Measure it: “Lye strength” takes a minute."),
            )  # fmt: skip
