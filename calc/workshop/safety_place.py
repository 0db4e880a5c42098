"""What the Emergency card and the Safety walk must know of this workshop: whom to call, where help is, its own points.

Built-in points of the walk are not among them: nobody can take one out (reference: shared/safety/walk.csv).
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from calc.entry.declare import Range, Whole, choice, count, describe, mass, measure, rows, temperature, text
from calc.entry.language import later, tr
from calc.entry.problems import Caution, Problem
from calc.tables.reference import constant
from calc.tables.safety import figure, shown

# The words of shared/safety/phases.csv, repeated because the browser lacks that folder. A test compares them.
PHASES = {
    "before": "Before you start",
    "protection": "Protective equipment",
    "weigh": "Weighing caustic",
    "dissolve": "Dissolving",
    "tank": "Tank and draw-off",
    "mix": "Oils, mixing, pour",
    "lift": "Lift",
    "cut": "Unmold and cut",
    "close": "Clean and close",
}


TRAINING_USUAL_MONTHS = int(constant("training_usual").value)
NEEDED = "unless it's all in Spanish"
# None of the shop's own limits below may be looser than the built-in one, a number of shared/safety/values.csv.
EMPTY = "Leave it empty to use the built-in limit."

# One number and nothing else: the digits of "911 or 112", dialled together, are a third number. A zero in brackets
# after a country's code is not dialled. The card's script and the workshop's mirror follow the same two rules.
ONE_NUMBER = re.compile(r"(?!\+.*\(0\))\+?[\d(][\d ()-]*\d", re.ASCII)
# Two short numbers side by side ("911 112") look like one number in parts.
SHORT = 7
# What the demo workshop once put into this form: nobody may read an invented address to an ambulance.
INVENTED = re.compile(r"Quillmarsh|^On the wall beside the lye tank, left of the door$")


def _figures(*keys: str) -> dict[str, str]:
    return {key: shown(key) for key in keys}


TEPID = Range(
    figure("tepid_low_c"),
    figure("tepid_high_c"),
    later(
        "the built-in limits are {tepid_low_c} to {tepid_high_c} ({tepid_low_f} to {tepid_high_f}) (ANSI/ISEA Z358.1, as quoted by an eyewash maker's manual); yours can be stricter, never looser",
        **_figures("tepid_low_c", "tepid_high_c", "tepid_low_f", "tepid_high_f"),
    ),
)


@dataclass(frozen=True, kw_only=True)
class OwnPoint:
    """A point that this workshop adds to the walk: whole in English, in Spanish, or in both."""

    phase: str = choice(later("Part of the walk"), options=PHASES)
    what: str | None = text(
        later("Point, in English"), max_length=80, optional=True, needed=NEEDED, help="What to look at, in a few words."
    )
    question: str | None = text(
        later("Question, in English"), max_length=200, optional=True, needed=NEEDED, help="Asked so that Yes is the safe answer."
    )
    stop: str | None = text(
        later("Stop if, in English"),
        max_length=200,
        optional=True,
        needed=NEEDED,
        help="Stricter than the built-in limit, if there is one.",
    )
    what_es: str | None = text(
        later("Point, in Spanish"), max_length=80, optional=True, help="If one language is empty, the walk shows the other and says so."
    )
    question_es: str | None = text(later("Question, in Spanish"), max_length=200, optional=True)
    stop_es: str | None = text(later("Stop if, in Spanish"), max_length=200, optional=True)


# Where hot water burns deeply in seconds [°C].
SCALDS_C = float(figure("scald_high_c"))


def _hottest_lye() -> Any:
    return temperature(
        later("Lye, hottest"),
        plain=True,
        refuse=Range(
            20.0,
            figure("hdpe_c"),
            later(
                "the built-in limit is {hdpe_c} ({hdpe_f}), what polyethylene holds (resistance charts, from memory); yours can be stricter, never looser",
                **_figures("hdpe_c", "hdpe_f"),
            ),
        ),
        help=f"The highest temperature you agree on for dissolving, mixing and storing lye. {EMPTY}",
        optional=True,
    )


def _coldest_tank() -> Any:
    return temperature(
        later("Lye in the tank, coldest"),
        plain=True,
        refuse=Range(
            figure("crystal_high_c"),
            50.0,
            later(
                "{half_lye} lye starts to crystallize at up to {crystal_high_c} ({crystal_high_f}) (a producer's data sheet); "
                "yours can be stricter, never looser",
                **_figures("half_lye", "crystal_high_c", "crystal_high_f"),
            ),
        ),
        help=EMPTY,
        optional=True,
    )


@dataclass(frozen=True, kw_only=True)
class LyeLimits:
    """The two limits on a reading of lye at the scale. They stand apart: they count whatever else the form says."""

    hottest_lye_c: float | None = _hottest_lye()
    coldest_tank_c: float | None = _coldest_tank()


def _hoist() -> Any:
    return mass(
        later("Hoist's stated limit"),
        offered=("kg", "lb"),
        plain=True,
        refuse=Range(1000.0, 10_000_000.0, later("a hoist for blocks of soap carries from 1 kg to 10 metric tons")),
        help=later("On the hoist's tag. Each block's weight is held against it before it is lifted."),
        optional=True,
    )


@dataclass(frozen=True, kw_only=True)
class HoistLimit:
    """What the hoist carries by its tag. It stands apart: it counts whatever else the form says."""

    hoist_g: float | None = _hoist()


@dataclass(frozen=True, kw_only=True)
class SafetyPlace(Whole):
    """What somebody who calls for help must know of the workshop."""

    # Which number is whose: from memory. Sources for not testing it: a county's page on its number, 911.gov on needless calls.
    emergency_number: str = text(
        later("Emergency number"),
        max_length=30,
        help=(
            "One number, the way the workshop's phone dials it: 911 in the United States and Mexico, 112 in the European Union. "
            "Ask your local emergency authority or phone company which one works here. Never call it to try it out."
        ),
    )
    address: str = text(
        later("Address to read aloud"),
        max_length=200,
        multiline=True,
        help="As you'd tell it to a stranger: street, number, town, which gate.",
    )
    poison_centre: str | None = text(later("Poison center's number"), max_length=30, optional=True)
    eyewash: str = text(later("Nearest eyewash"), max_length=120, help="From where you handle lye.")
    training_months: int = count(
        later("Months until training is renewed"),
        refuse=Range(1, 60, later("training that nobody renews for over five years is forgotten")),
        warn=Range(
            1,
            TRAINING_USUAL_MONTHS,
            later("{months} months are usual (common practice, no source)", months=TRAINING_USUAL_MONTHS),
        ),
        help="After that, the walk is due again.",
    )
    eyewash_days: int | None = count(
        later("Days between eyewash runs"),
        refuse=Range(1, figure("eyewash_weekly_days"), later("the standard asks for one run a week (ANSI/ISEA Z358.1, as quoted by an eyewash maker's manual)")),
        help="Leave it empty to use the standard's. It can be fewer, never more.",
        optional=True,
    )
    eyewash_months: int | None = count(
        later("Months between eyewash inspections"),
        refuse=Range(1, figure("eyewash_yearly_months"), later("the standard asks for one a year (ANSI/ISEA Z358.1, as quoted by an eyewash maker's manual)")),
        help="Leave it empty to use the standard's. It can be fewer, never more.",
        optional=True,
    )
    flush_minutes: int | None = count(
        later("Minutes of rinsing"),
        refuse=Range(
            figure("flush_minutes"),
            120,
            later(
                "the built-in least is {flush_minutes} minutes (New Jersey fact sheet on sodium hydroxide); yours can be stricter, never looser",
                **_figures("flush_minutes"),
            ),
        ),
        help=f"If your caustic's data sheet asks for more. {EMPTY}",
        optional=True,
    )
    reach_seconds: int | None = count(
        later("Seconds to the eyewash"),
        refuse=Range(
            1,
            figure("eyewash_reach_seconds"),
            later(
                "the built-in limit is {eyewash_reach_seconds} seconds (ANSI/ISEA Z358.1, as quoted by an eyewash maker's manual); yours can be stricter, never looser",
                **_figures("eyewash_reach_seconds"),
            ),
        ),
        help=EMPTY,
        optional=True,
    )
    tepid_low_c: float | None = temperature(
        later("Eyewash water, coldest"), plain=True, refuse=TEPID, help=EMPTY, optional=True
    )
    tepid_high_c: float | None = temperature(
        later("Eyewash water, warmest"), plain=True, refuse=TEPID, help=EMPTY, optional=True
    )
    hottest_lye_c: float | None = _hottest_lye()
    coldest_tank_c: float | None = _coldest_tank()
    lift_g: float | None = mass(
        later("Heaviest lift for one person"),
        offered=("kg", "lb"),
        plain=True,
        refuse=Range(
            1000.0,
            1000.0 * figure("lift_kg"),
            later(
                "the built-in limit is {lift_kg} ({lift_lb}) (CCOHS page on the NIOSH lifting equation); yours can be stricter, never looser",
                **_figures("lift_kg", "lift_lb"),
            ),
        ),
        help=EMPTY,
        optional=True,
    )
    hoist_g: float | None = _hoist()
    air_psi: int | None = count(
        later("Air for cleaning, psi"),
        refuse=Range(
            1,
            figure("air_psi"),
            later("the built-in limit is {air_psi} (29 CFR 1910.242(b)); yours can be stricter, never looser", **_figures("air_psi")),
        ),
        help=EMPTY,
        optional=True,
    )
    waste_ph: float | None = measure(
        later("Hold back wastewater from pH"),
        kind="ratio",
        offered=("",),
        plain=True,
        refuse=Range(
            7.0,
            float(shown("waste_ph_high")),
            later(
                "the built-in limit is pH {waste_ph_high} (40 CFR 261.22); yours can be stricter, never looser", **_figures("waste_ph_high")
            ),
        ),
        help=f"If your sewer authority asks for less. {EMPTY}",
        optional=True,
    )
    own: tuple[OwnPoint, ...] = rows(
        later("Your own points"),
        of=OwnPoint,
        minimum=0,
        maximum=40,
        help=(
            "They come after the built-in points of their part. Built-in points can't be taken out. "
            "A point from before there were two languages is under English: move it if it's in Spanish."
        ),
        add_label="Add a point",
    )

    def whole(self) -> Iterator[Problem | Caution]:
        """What the card would dial or read out wrong, a range with its ends swapped, a point that is half said."""
        yield from _told(self)
        yield from _turned_round(self)
        yield from _half_said(self)


LABELS = {info.name: info.label for info in describe(OwnPoint)}
NO_LYE_LIMITS = LyeLimits(hottest_lye_c=None, coldest_tank_c=None)
# The fields that hold a built-in limit more strictly.
LIMITS = (
    "flush_minutes", "reach_seconds", "tepid_low_c", "tepid_high_c", "eyewash_days", "eyewash_months",
    "hottest_lye_c", "coldest_tank_c", "lift_g", "air_psi", "waste_ph",
)  # fmt: skip


def _told(place: SafetyPlace) -> Iterator[Problem | Caution]:
    """What the card would dial or read out that nobody here meant."""
    numbers = [("emergency_number", place.emergency_number), ("poison_centre", place.poison_centre or "")]
    for name, number in numbers:
        if number and not ONE_NUMBER.fullmatch(number):
            yield Problem(
                name,
                "not-one-number",
                tr("{label}: '{number}' isn't one phone number.", label=_label(name), number=number),
                tr("Type one number the way that phone dials it: digits, spaces, +, - and parentheses. Leave (0) out after +."),
            )
    for name, words in (("address", place.address), ("eyewash", place.eyewash)):
        if INVENTED.search(words):
            message = tr("{label}: this belongs to the invented demo workshop.", label=_label(name))
            yield Problem(name, "invented", message, tr("Type your own workshop's."))
    for name, number in numbers:
        if " " in number and len(dialled(number)) <= SHORT:
            message = tr("{label}: '{number}' is dialed as {dialled}.", label=_label(name), number=number, dialled=dialled(number))
            yield Caution(name, "number-in-parts", message, tr("Make sure it's one number."))


def _label(name: str) -> str:
    return tr(next(info.label for info in describe(SafetyPlace) if info.name == name))


def _turned_round(place: SafetyPlace) -> Iterator[Problem]:
    if place.tepid_low_c is not None and place.tepid_high_c is not None and place.tepid_low_c > place.tepid_high_c:
        message = tr("Eyewash water, warmest: it's below the coldest.")
        yield Problem("tepid_high_c", "range-turned-round", message, tr("Swap the two."))


def _half_said(place: SafetyPlace) -> Iterator[Problem]:
    """A point must be complete in each language in which it is begun, and stand in at least one."""
    for n, point in enumerate(place.own):
        english = {"what": point.what, "question": point.question, "stop": point.stop}
        spanish = {"what_es": point.what_es, "question_es": point.question_es, "stop_es": point.stop_es}
        begun = [said for said in (english, spanish) if any(said.values())]
        for part in (part for said in begun for part, words in said.items() if not words):
            message = tr("Your own point {n}, {label}: still missing.", n=n + 1, label=tr(LABELS[part]))
            yield Problem(f"own.{n}.{part}", "half-said", message, tr("Type it, or clear the other two in that language."))


def own_limits(place: SafetyPlace) -> int:
    """How many built-in limits this workshop holds more strictly."""
    return len([name for name in LIMITS if getattr(place, name) is not None])


def dialled(number: str) -> str:
    """What a telephone dials for a number that `whole` lets through."""
    return re.sub(r"[^\d+]", "", number)
