"""What is asked of a day: what is made on it, who is there, and what there is one of."""

from dataclasses import dataclass
from datetime import date, time

from calc.entry.declare import NAME_LENGTH, Range, choice, count, day, item, mass, rows, text, time_of_day
from calc.entry.language import later
from calc.entry.shown import duration
from calc.tables.reference import constant

# The most blocks whose orders can all be looked at.
MOST_BLOCKS = 12
# What can be made: an open batch sheet ("sheet:CODE"), or a formula ("formula:ID").
TO_MAKE = "to_make"
FEW = Range(1, 20, later("a small workshop has only a few of them"))
WARM_UP = Range(0, 1440, later("no tank here takes more than a day to get warm"))


def _usual(key: str) -> str:
    return duration(60 * int(constant(key).value))


@dataclass(frozen=True, kw_only=True)
class BlockRow:
    """Blocks of one kind."""

    what: str = item(later("Batch sheet or formula"), kind=TO_MAKE)
    blocks: int | None = count(
        later("Blocks"), refuse=Range(1, MOST_BLOCKS, later("a plan holds at most twelve blocks")), optional=True, help=later("Left empty: one.")
    )  # fmt: skip
    mould: str | None = item(later("Mold"), kind="mould", lone=True, optional=True)
    who: str | None = item(later("Who"), kind="person", optional=True)
    start_at: time | None = time_of_day(later("Not before"), optional=True)


@dataclass(frozen=True, kw_only=True)
class DayQuestion:
    """One day: the form."""

    on: date = day(later("Day"))
    starts_at: time = time_of_day(later("Work starts"))
    ends_at: time | None = time_of_day(later("Work should end by"), optional=True)
    blocks: tuple[BlockRow, ...] = rows(later("Blocks to make"), of=BlockRow, minimum=0, maximum=MOST_BLOCKS, add_label=later("Add blocks"))
    earlier: str = choice(
        later("Blocks still in their molds"),
        options={"yes": later("Unmold and cut what's due that day"), "no": later("Leave them out")},
    )
    hands: int | None = count(
        later("People at work"), refuse=FEW, optional=True, help=later("Left empty: everyone listed in Workshop.")
    )
    mixers: int | None = count(later("Mixers"), refuse=FEW, optional=True, help=later("Left empty: one."))
    hoists: int | None = count(later("Hoists"), refuse=FEW, optional=True, help=later("Left empty: one."))
    cutters: int | None = count(
        later("Cutters"), refuse=FEW, optional=True, help=later("Left empty: one, whose frames are changed between loaves and bars.")
    )
    moulds: int | None = count(
        later("Molds of each kind"), refuse=Range(1, 200, later("a small workshop has no more than 200 molds")), optional=True,
        help=later("Left empty: never short."),
    )  # fmt: skip
    oil_tank_minutes: int | None = count(
        later("Oil tank warms up in, minutes"), refuse=WARM_UP, optional=True,
        help=later("0: not heated. Left empty: figured from what’s in the tank; if nobody has logged that, {time} (common practice, no source).", time=_usual("day_oil_tank_usual")),
    )  # fmt: skip
    lye_tank_minutes: int | None = count(
        later("Lye tank warms up in, minutes"), refuse=WARM_UP, optional=True,
        help=later("0: not heated. Left empty: figured from what’s in the tank; if nobody has logged that, {time} (common practice, no source).", time=_usual("day_lye_tank_usual")),
    )  # fmt: skip
    switched_on: time | None = time_of_day(
        later("Tanks switched on at"), optional=True, help=later("On the day itself: until it’s entered, they count as cold.")
    )
    lye_on_hand_g: float | None = mass(
        later("Lye ready in the tank"), refuse=Range(0.0, 5_000_000.0, later("a tank here holds at most 5 metric tons")), optional=True,
        help=later("What can be drawn. Left empty: what the tanks’ entries say."),
    )  # fmt: skip
    order: str | None = text(
        later("Order, set by hand"), max_length=200, optional=True,
        help=later("The plan’s own marks, in the order you want. Left empty: the order that ends soonest."),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Planner:
    """Whoever keeps the plan."""

    person: str = text(later("Who plans it"), max_length=NAME_LENGTH)
