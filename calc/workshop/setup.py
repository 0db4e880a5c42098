"""A workshop set up in six questions: what is asked of each thing, common answers to tap, what stands in where nobody knows.

Each answer is an item like any other, read by its own declaration; what a question leaves out keeps for later. Names and
numbers of the answers are habits of the trade (rows of constants.csv, common practice), none of any maker's.
"""

import re
import unicodedata
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from calc.entry.declare import NAME_LENGTH, text
from calc.entry.language import later, tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import number
from calc.entry.units import show_unit
from calc.tables.reference import constant
from calc.workshop.equipment import ASSUMED

METRIC, US = "metric", "us"
# The name of a workshop that hasn't been given one yet, and the letters its batch codes begin with.
SHOP_NAME, SHOP_PREFIX = later("My workshop"), "B"


@dataclass(frozen=True)
class Usual:
    """A common answer: what its key says, in which system of units it is offered, and what it puts into the form.

    figures: for each control the row of constants.csv that it takes its number and unit from.
    """

    words: str
    figures: Mapping[str, str]
    system: str = ""  # "": in both
    others: Mapping[str, str] = field(default_factory=dict)
    stands_in: bool = False  # for what nobody knows yet

    @property
    def values(self) -> dict[str, str]:
        """What it puts into the form, by control."""
        found: dict[str, str] = {}
        for control, row in self.figures.items():
            known = constant(row)
            found[control] = number(known.value)
            if known.unit != "%":
                found[f"{control}.unit"] = known.unit
        return found | dict(self.others)

    def said(self) -> str:
        """Its words in the language spoken, with its numbers."""
        shown = {control.rpartition("_")[0]: number(constant(row).value) for control, row in self.figures.items()}
        units = {show_unit(constant(row).unit) for row in self.figures.values()}
        return tr(self.words, **shown, unit=" ".join(units))


@dataclass(frozen=True)
class Question:
    """One screen of the set-up. kind: of item that it stores, under this id: asked again, it is the same item."""

    key: str
    kind: str
    title: str
    ask: str
    asked: tuple[str, ...]  # fields in sight; the item's others wait folded
    usual: tuple[Usual, ...]
    called: tuple[str, str] = ("", "")  # the control of its name and what it is called until somebody says otherwise
    preset: Mapping[str, str] = field(default_factory=dict)

    @property
    def id(self) -> str:
        """Of the item."""
        return f"setup-{self.key}"


def _mould(words: str, row: str, system: str) -> Usual:
    sides = {"length_mm": "length", "width_mm": "width", "height_mm": "height", "fill_height_mm": "fill"}
    return Usual(words, {control: f"{row}_{part}" for control, part in sides.items()}, system, {"figures": "known"})


def _scale(row: str, system: str, unit: str) -> Usual:
    return Usual(
        later("{capacity} {unit}, steps of {division}"),
        {"capacity_g": f"{row}_max", "division_g": f"{row}_step"},
        system,
        {"reads_in": unit, "figures": "known"},
    )


def _stand_in(usual: Usual, words: str) -> Usual:
    return Usual(words, usual.figures, usual.system, {**usual.others, "figures": ASSUMED}, stands_in=True)


def _solid(words: str, alkali: str, row: str) -> Usual:
    return Usual(words, {"assay_fraction": row}, others={"alkali": alkali, "form": "solid"})


BLOCKS = (_mould(later("Block {length} × {width} × {height} {unit}"), "block_in", US),
          _mould(later("Block {length} × {width} × {height} {unit}"), "block_mm", METRIC))  # fmt: skip
FLOOR = {"lb": _scale("floor_lb_usual", US, "lb"), "kg": _scale("floor_kg_usual", METRIC, "kg")}
KITCHEN = {"oz": _scale("kitchen_oz", US, "oz"), "g": _scale("kitchen_g", METRIC, "g")}
NOT_READ = later("I can't read it now: use {capacity} {unit} by {division} for now")

QUESTIONS = (
    Question(
        "mould", "mould", later("Your mold"), later("Inside, with the liner in."),
        ("length_mm", "width_mm", "height_mm", "fill_height_mm"),
        (
            *BLOCKS,
            _mould(later("Slab {length} × {width} × {height} {unit}"), "slab_in", US),
            _mould(later("Slab {length} × {width} × {height} {unit}"), "slab_mm", METRIC),
            _mould(later("Loaf {length} × {width} × {height} {unit}"), "loaf_in", US),
            _mould(later("Loaf {length} × {width} × {height} {unit}"), "loaf_mm", METRIC),
            *(_stand_in(block, later("I haven't measured it: use the block for now")) for block in BLOCKS),
        ),
        called=("name", later("Mold")),
        preset={"figures": "known"},
    ),
    Question(
        "floor", "scale", later("Your floor scale"), later("The one your pot stands on while you pour."),
        ("capacity_g", "division_g", "reads_in"),
        (
            FLOOR["lb"], _scale("floor_lb_small", US, "lb"), _scale("floor_lb_large", US, "lb"),
            FLOOR["kg"], _scale("floor_kg_small", METRIC, "kg"), _scale("floor_kg_large", METRIC, "kg"),
            *(_stand_in(scale, NOT_READ) for scale in FLOOR.values()),
        ),
        called=("name", later("Floor scale")),
        preset={"accuracy_class": "unmarked", "figures": "known"},
    ),
    Question(
        "small", "scale", later("Your small scale"), later("For caustic, scent and the last of the lye."),
        ("capacity_g", "division_g", "reads_in"),
        (
            KITCHEN["oz"], _scale("bench_lb", US, "lb"), KITCHEN["g"], _scale("bench_kg", METRIC, "kg"),
            _scale("letter_g", "", "g"),
            *(_stand_in(scale, NOT_READ) for scale in KITCHEN.values()),
        ),
        called=("name", later("Small scale")),
        preset={"accuracy_class": "unmarked", "figures": "known"},
    ),
    Question(
        "vessel", "vessel", later("Your vessel"), later("The pot or pail you mix in. Full to the brim, and empty."),
        ("capacity_ml", "tare_g"),
        (
            *(Usual("{capacity} {unit}", {"capacity_ml": f"vessel_gal_{size}"}, US) for size in ("small", "usual", "large")),
            *(Usual("{capacity} {unit}", {"capacity_ml": f"vessel_l_{size}"}, METRIC) for size in ("small", "usual", "large")),
            Usual(later("Not weighed yet: use {tare} {unit} for now"), {"tare_g": "vessel_empty_lb"}, US, {"figures": ASSUMED}, True),
            Usual(later("Not weighed yet: use {tare} {unit} for now"), {"tare_g": "vessel_empty_kg"}, METRIC, {"figures": ASSUMED}, True),
        ),
        called=("name", later("Pot")),
        preset={"figures": "known"},
    ),
    Question(
        "caustic", "alkali_lot", later("Your caustic"), later("What the bag or pail says."),
        ("alkali", "form", "assay_fraction", "strength_fraction"),
        (
            _solid(later("Soda flakes, {assay} %"), "naoh", "soda_flakes_assay"),
            _solid(later("Soda beads, {assay} %"), "naoh", "soda_beads_assay"),
            _solid(later("Potash, {assay} %"), "koh", "potash_assay"),
            Usual(later("Lye, {strength} %"), {"strength_fraction": "lye_bought_strength"},
                  others={"alkali": "naoh", "form": "premixed"}),
            Usual(later("Soda, and the bag doesn't say: use a wide range for now"), {},
                  others={"alkali": "naoh", "form": "solid", "assay_fraction": "", "plus_minus_fraction": ""}, stands_in=True),
        ),
        called=("code", later("CAUSTIC-1")),
    ),
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Crew:
    """Who works here, and what the workshop is called: the sixth question."""

    people: str = text(
        later("First names or initials"), max_length=200, help=later("Put commas between them. Each weighing names who did it.")
    )
    name: str | None = text(
        later("Workshop name"), max_length=NAME_LENGTH, optional=True, help=later("Printed at the top of each batch sheet.")
    )


def names_of(crew: Crew) -> tuple[str, ...]:
    """The people named, each once, in the order typed. Raises InputProblems where a name is too long."""
    found = dict.fromkeys(each.strip() for each in re.split("[,;]", crew.people))
    found.pop("", None)
    if longer := next((each for each in found if len(each) > NAME_LENGTH), None):
        told = tr("{label} has {n} characters.", label=longer, n=len(longer))
        raise InputProblems(Problem("people", "too-long", told, tr("Type at most {most} characters.", most=NAME_LENGTH)))
    return tuple(found)


def prefix_of(name: str) -> str:
    """What batch codes begin with: the initials of a workshop's name, three at most, plain capitals.

    >>> prefix_of("Sedge Lane Soap"), prefix_of("Éclair"), prefix_of("石鹸")
    ('SLS', 'E', 'B')
    """
    plain = unicodedata.normalize("NFD", name).encode("ascii", "ignore").decode().upper()
    return "".join(word[0] for word in re.findall(r"[A-Z0-9]+", plain))[:3] or SHOP_PREFIX


def shop_values(name: str, units: str, standing: Mapping[str, str]) -> dict[str, str]:
    """The workshop's own form under this name; what stands in it already stays.

    The limits of scales are those of the country whose units it works in. All else waits: nothing is counted as known.
    """
    scheme = {US: "HB44"}.get(units, "R76")
    return {"code_prefix": prefix_of(name), "tolerance_scheme": scheme, **standing, "name": name}


def still_needed(kinds: Collection[str]) -> tuple[str, ...]:
    """The kinds of things without which no sheet can be made, in the order asked, of those that the workshop lacks."""
    needed = (*dict.fromkeys(question.kind for question in QUESTIONS), "shop")
    return tuple(kind for kind in needed if kind not in kinds)
