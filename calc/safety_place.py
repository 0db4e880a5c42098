"""What the Emergency card and the Safety walk must know of this workshop: whom to call, where help is, its own points.

Built-in points of the walk are not among them: nobody can take one out (reference: shared/safety/walk.csv).
"""

from dataclasses import dataclass

from calc.fields import Range, choice, count, rows, text

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
        "Emergency number", max_length=30, help="The number that works from the workshop's phone. Ring once to be sure of it."
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
    own: tuple[OwnPoint, ...] = rows(
        "Points of your own",
        of=OwnPoint,
        minimum=0,
        maximum=40,
        help="They come after the built-in points of their part. No built-in point can be taken out.",
        add_label="Add a point",
    )
