"""How the strength of a lye is asked: with what it was measured, what that showed, and how warm the lye was."""

from dataclasses import dataclass

from calc.entry.declare import Range, choice, item, measure, small_mass, temperature
from calc.entry.language import later
from calc.tanks.strength import HYDROMETERS, MODULI

JUG, JUG_OF_WATER, TITRATION = "jug", "jug_of_water", "titration"
BY_DENSITY = (*HYDROMETERS, JUG, JUG_OF_WATER)
WEIGHED = (JUG, JUG_OF_WATER, TITRATION)
# The ends of the density tables.
LYE_TEMPERATURE = Range(15.0, 80.0, later("lye’s density is known from 15 to 80 °C (59 to 176 °F): warm or cool a sample in a closed bottle"))
NET = Range(1.0, 100_000.0, later("a pitcher here holds from a gram to 100 kg"))
BURETTE = Range(0.01, 500.0, later("a burette holds at most some hundred milliliters"))
MADE_FOR_C = {"20": 20.0, "15": 15.0, "60F": (60.0 - 32.0) / 1.8}


@dataclass(frozen=True, kw_only=True)
class StrengthQuestion:
    """One measurement of one lye. Every reading may stay blank while it is typed: the answer then says what it waits for."""

    method: str = choice(
        later("Measured with"),
        options={
            "baume": later("Baumé"),
            "gravity": later("Specific gravity"),
            "density": later("Density"),
            "twaddell": later("Twaddell"),
            JUG: later("Marked pitcher"),
            JUG_OF_WATER: later("Pitcher and water"),
            TITRATION: later("Titration"),
        },
    )
    modulus: str | None = choice(
        later("Modulus on it"),
        options={**{key: key for key in MODULI}, "none": later("None printed")},
        when=("method", "baume"),
    )
    made_for: str | None = choice(
        later("Calibrated at"), options={"20": "20 °C", "15": "15 °C", "60F": "60 °F"}, when=("method", "density")
    )
    baume: float | None = measure(
        later("It shows, °Bé"), kind="ratio", offered=("",), optional=True, when=("method", "baume"),
        refuse=Range(0.0, 70.0, later("Baumé hydrometers for liquids heavier than water run from 0 to 70")),
    )  # fmt: skip
    gravity: float | None = measure(
        later("It shows, 60/60 °F"), kind="ratio", offered=("",), optional=True, when=("method", "gravity"),
        refuse=Range(0.9, 2.0, later("hydrometers for lye run from 1 to 2; type it like 1.355")),
    )  # fmt: skip
    density_g_per_ml: float | None = measure(
        later("It shows, density"), kind="density", offered=("g/ml",), optional=True, when=("method", "density"),
        refuse=Range(0.9, 2.0, later("hydrometers for lye run from 1 to 2 g/mL; type it like 1.355")),
    )  # fmt: skip
    twaddell: float | None = measure(
        later("It shows, °Tw"), kind="ratio", offered=("",), optional=True, when=("method", "twaddell"),
        refuse=Range(0.0, 170.0, later("Twaddell hydrometers run from 0 to 170")),
    )  # fmt: skip
    lye_net_g: float | None = small_mass(
        later("Lye in the pitcher, net"), refuse=NET, optional=True, when=("method", (JUG, JUG_OF_WATER)),
        help=later("Filled to the mark, without the pitcher. Pour slowly, gloves and goggles on."),
    )  # fmt: skip
    jug_ml: float | None = measure(
        later("Its volume to the mark"), kind="volume", offered=("ml", "l"), optional=True, when=("method", JUG),
        refuse=Range(10.0, 50_000.0, later("a pitcher here holds from 10 mL to 50 L")),
    )  # fmt: skip
    water_net_g: float | None = small_mass(
        later("Water in the same pitcher, net"), refuse=NET, optional=True, when=("method", JUG_OF_WATER),
        help=later("Filled to the same mark, first. Dry it before the lye goes in."),
    )  # fmt: skip
    jug_water_c: float | None = temperature(later("Water at"), refuse=LYE_TEMPERATURE, optional=True, when=("method", JUG_OF_WATER))
    sample_g: float | None = measure(
        later("Sample of lye"), kind="mass", offered=("g",), optional=True, when=("method", TITRATION),
        refuse=Range(0.05, 500.0, later("a sample for titration is some grams")),
        help=later("Weighed into plenty of water."),
    )  # fmt: skip
    acid_ml: float | None = measure(
        later("Acid to the first change"), kind="volume", offered=("ml",), optional=True, when=("method", TITRATION), refuse=BURETTE,
        help=later("With phenolphthalein: pink goes colorless."),
    )  # fmt: skip
    acid_all_ml: float | None = measure(
        later("Acid to the second change"), kind="volume", offered=("ml",), optional=True, when=("method", TITRATION), refuse=BURETTE,
        help=later("With methyl orange, counted from the same start. It tells carbonate apart."),
    )  # fmt: skip
    acid_mol_per_l: float | None = measure(
        later("Acid, H⁺ it gives"), kind="concentration", offered=("mol/l",), optional=True, when=("method", TITRATION),
        refuse=Range(0.01, 12.0, later("acids for titration run from a hundredth to a few moles per liter")),
        help=later("Sulfuric acid gives twice its moles."),
    )  # fmt: skip
    temperature_c: float | None = temperature(later("Lye at"), refuse=LYE_TEMPERATURE, optional=True, when=("method", BY_DENSITY))
    scale: str | None = item(later("Weighed on"), kind="scale", optional=True, lone=True, when=("method", WEIGHED))
    reads_to: float | None = measure(
        later("Hydrometer good to, ±"), kind="ratio", offered=("",), optional=True, when=("method", HYDROMETERS),
        refuse=Range(0.0001, 5.0, later("a hydrometer is good to between a ten-thousandth and a few of its marks")),
        help=later("In its own marks. Left empty: the usual."),
    )  # fmt: skip
    tank: str | None = item(later("Tank"), kind="tank", only=("holds", "lye"), lone=True, optional=True)
    lot: str | None = item(
        later("Lot of premixed lye"), kind="alkali_lot", only=("form", "premixed"), lone=True, optional=True,
        help=later("Keeping the strength sets it for this lot too: new batch sheets are figured with it."),
    )  # fmt: skip
    alkali: str | None = choice(
        later("Lye made from"), options={"naoh": later("Caustic soda (NaOH)"), "koh": later("Caustic potash (KOH)")}, optional=True,
        help=later("Not stated: what the lot says, or else caustic soda."),
    )  # fmt: skip
    coldest_c: float | None = temperature(
        later("Coldest the room gets"), refuse=Range(0.0, 45.0, later("rooms with lye in them are from 0 to 45 °C (32 to 113 °F): in a colder one weak lye freezes")), optional=True,
        help=later("To see whether the lye stays liquid overnight."),
    )  # fmt: skip
