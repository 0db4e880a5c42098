"""The words of a step at the scale in each language, kept with it: a sheet issued in one is weighed by in the other.

English stands in the step itself, every other language under its own key; figures, names and units are in both the same.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from calc.entry.language import LANGUAGES, speaking, spoken

Step = Mapping[str, Any]

FIELDS = ("title", "how", "stop", "band_text", "close_valve_text", "next")


def all_in_each_language(make: Callable[[], Sequence[Step]]) -> list[dict[str, Any]]:
    """The steps that `make` makes once in each language, as one. An older step in them must come through `in_words`."""
    made = []
    for language in LANGUAGES:
        with speaking(language):
            made.append([in_words(step) for step in make()])
    others = LANGUAGES[1:]
    return [
        {**english, **{language: _words(step) for language, step in zip(others, words, strict=True)}}
        for english, *words in zip(*made, strict=True)
    ]


def in_each_language(make: Callable[[], Step]) -> dict[str, Any]:
    """One such step."""
    (found,) = all_in_each_language(lambda: [make()])
    return found


def in_words(step: Step) -> Step:
    """A step with its words in the language spoken only; with those it has, where it was made without that language."""
    plain = {key: value for key, value in step.items() if key not in LANGUAGES}
    words = step.get(spoken())
    if words is None:
        return plain
    return {
        **plain,
        **{field: words[field] for field in FIELDS},
        "fine": None if step["fine"] is None else {**step["fine"], "from_text": words["from_text"]},
        "questions": [{**asked, "text": text} for asked, text in zip(step["questions"], words["questions"], strict=True)],
    }


def _words(step: Step) -> dict[str, Any]:
    return {
        **{field: step[field] for field in FIELDS},
        "from_text": None if step["fine"] is None else step["fine"]["from_text"],
        "questions": [asked["text"] for asked in step["questions"]],
    }
