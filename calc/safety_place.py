"""What the Emergency card and the Safety walk must know of this workshop: whom to call, where help is, its own points.

Built-in points of the walk are not among them: nobody can take one out (reference: shared/safety/walk.csv).
"""

import re
from dataclasses import dataclass

from calc.fields import Range, choice, count, rows, text
from calc.problems import Caution, InputProblems, Problem

# In the words of shared/safety/phases.csv; a test compares them. Repeated, for in the browser that folder is not there.
PHASES = {
    "before": "Before you start",
    "protection": "Protective equipment",
    "weigh": "Weighing caustic",
    "dissolve": "Dissolving",
    "tank": "Tank and draw-off",
    "mix": "Oils, mixing, pour",
    "lift": "Lift",
    "cut": "Demould and cut",
    "close": "Clean and close",
}


# One number and nothing else: of "911 or 112" the digits alone would dial a third one. A zero in brackets after a
# country's code is not dialled. The card's script and the workshop's mirror follow the same two rules.
ONE_NUMBER = re.compile(r"(?!\+.*\(0\))\+?[\d(][\d ()-]*\d", re.ASCII)
# Two short numbers side by side ("911 112") look like a number in parts.
SHORT = 7
# What the demo workshop once put into this form: nobody may read an invented address to an ambulance.
INVENTED = re.compile(r"Quillmarsh|^On the wall beside the lye tank, left of the door$")


@dataclass(frozen=True, kw_only=True)
class OwnPoint:
    """A point that this workshop adds to the walk."""

    phase: str = choice("Part of the walk", options=PHASES)
    what: str = text("Point", max_length=80, help="What is looked at, in a few words, in the languages of your people.")
    question: str = text("Question", max_length=200, help="Asked so that Yes is the safe answer.")
    stop: str = text("Stop if", max_length=200, help="Narrower than the built-in limit where there is one.")


@dataclass(frozen=True, kw_only=True)
class SafetyPlace:
    """The workshop as somebody who calls for help must know it."""

    emergency_number: str = text(
        "Emergency number", max_length=30, help="One number, the one that works from the workshop's phone. Ring once to be sure of it."
    )
    address: str = text(
        "Address to read aloud",
        max_length=200,
        multiline=True,
        help="As you would tell it to a stranger: street, number, town, which gate.",
    )
    poison_centre: str | None = text("Poison centre's number", max_length=30, optional=True)
    eyewash: str = text("Where the nearest eyewash is", max_length=120, help="From the place where lye is handled.")
    training_months: int = count(
        "Months a training holds",
        refuse=Range(1, 60, "a training that nobody renews for over five years is forgotten"),
        warn=Range(1, 12, "a year is usual (common practice, no source)"),
        help="After that the walk is due again.",
    )
    eyewash_days: int | None = count(
        "Days between two runs of the eyewash",
        refuse=Range(1, 7, "the standard asks for one run a week (ANSI/ISEA Z358.1, as quoted by an eyewash maker's manual)"),
        help="Empty: the standard's. It can be fewer, never more.",
        optional=True,
    )
    eyewash_months: int | None = count(
        "Months between two inspections of the eyewash",
        refuse=Range(1, 12, "the standard asks for one a year (ANSI/ISEA Z358.1, as quoted by an eyewash maker's manual)"),
        help="Empty: the standard's. It can be fewer, never more.",
        optional=True,
    )
    own: tuple[OwnPoint, ...] = rows(
        "Points of your own",
        of=OwnPoint,
        minimum=0,
        maximum=40,
        help="They come after the built-in points of their part. No built-in point can be taken out.",
        add_label="Add a point",
    )


def check(place: SafetyPlace) -> tuple[Caution, ...]:
    """What to look at again. Raises InputProblems where the card would dial or read out what nobody here meant."""
    numbers = [
        ("emergency_number", "Emergency number", place.emergency_number),
        ("poison_centre", "Poison centre's number", place.poison_centre or ""),
    ]
    faults = [
        Problem(
            name,
            "not-one-number",
            f"{label}: '{number}' is not one telephone number.",
            "Type one number as it is dialled from that phone: digits, spaces, +, - and brackets. Leave (0) out after +.",
        )
        for name, label, number in numbers
        if number and not ONE_NUMBER.fullmatch(number)
    ]
    faults += [
        Problem(name, "invented", f"{label}: this is the invented demo workshop's.", "Type that of your own workshop.")
        for name, label, words in (
            ("address", "Address to read aloud", place.address),
            ("eyewash", "Where the nearest eyewash is", place.eyewash),
        )
        if INVENTED.search(words)
    ]
    if faults:
        raise InputProblems(*faults)
    return tuple(
        Caution(name, "number-in-parts", f"{label}: '{number}' is dialled as {dialled(number)}.", "Be sure that it is one number.")
        for name, label, number in numbers
        if " " in number and len(dialled(number)) <= SHORT
    )


def dialled(number: str) -> str:
    """What a telephone dials for a number that `check` lets through."""
    return re.sub(r"[^\d+]", "", number)
