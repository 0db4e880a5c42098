"""The words of a step at the scale in each language, kept with it: a sheet issued in one is weighed by in the other.

English stands in the step itself, every other language under its own key; figures, names and units are in both the same.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar, cast

from calc.entry.language import LANGUAGES, speaking, spoken
from calc.steps.frozen import Step, Weighing, display_of_step
from calc.steps.step import goes_on_from, how_going_on

S = TypeVar("S", bound=Step)

FIELDS = ("title", "how", "how_around", "stop", "band_text", "close_valve_text", "next")


def all_in_each_language(make: Callable[[], Sequence[S]]) -> list[S]:
    """The steps that `make` makes once in each language, as one. An older step in them must come through `in_words`."""
    made = []
    for language in LANGUAGES:
        with speaking(language):
            made.append([in_words(step) for step in make()])
    others = LANGUAGES[1:]
    return [
        cast(S, {**english, **{language: _words(step) for language, step in zip(others, words, strict=True)}})
        for english, *words in zip(*made, strict=True)
    ]


def in_each_language(make: Callable[[], S]) -> S:
    """One such step."""
    (found,) = all_in_each_language(lambda: [make()])
    return found


def in_words(step: S) -> S:
    """A step with its words in the language spoken only; with those it has, where it was made without that language."""
    plain: dict[str, Any] = {key: value for key, value in step.items() if key not in LANGUAGES}
    words = cast(Mapping[str, Any], step).get(spoken())
    if words is None:
        return cast(S, plain)
    return cast(
        S,
        {
            **plain,
            **{field: words[field] for field in FIELDS if field in words},
            "fine": None if step["fine"] is None else {**step["fine"], "from_text": words["from_text"]},
            "questions": [{**asked, "text": text} for asked, text in zip(step["questions"], words["questions"], strict=True)],
        },
    )


def _words(step: Step) -> dict[str, Any]:
    said: dict[str, Any] = dict(step)
    return {
        **{field: said[field] for field in FIELDS if field in said},
        "from_text": None if step["fine"] is None else step["fine"]["from_text"],
        "questions": [asked["text"] for asked in step["questions"]],
    }


def done_so(step: S, how: str) -> S:
    """A step in the words of the language spoken, but done otherwise."""
    return cast(S, {**in_words(step), "how": how})


def going_on_from(step: Weighing, planned: int, now: int) -> str:
    """How to do a step that nobody tares for, its display going on from another count than planned.

    Where it was frozen in one with the rest of `how`, the plan's sentence is looked for there, and gives way to one with
    what is there now. Where a sheet was issued before there was the language spoken, its words are English.
    """
    display, around = display_of_step(step), step.get("how_around")
    if around is not None:
        return how_going_on(around, display.said(now))
    for language in (spoken(), LANGUAGES[0]):
        with speaking(language):
            plan, sentence = (goes_on_from(display.said(count)) for count in (planned, now))
        first, found, rest = step["how"].partition(plan)
        if found:
            return f"{first}{sentence}{rest}"
    return step["how"]
