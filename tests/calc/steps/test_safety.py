"""The safety steps of a block against the tables of the safety pages."""

import re

import pytest

from calc.entry.language import LANGUAGES, speaking
from calc.steps.safety import safety_steps, splash
from calc.tables import safety as tables


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_steps_at_the_scale_tell_the_figures_of_the_safety_pages(language):
    figures = tables.values()
    with speaking(language):
        rinse = splash()
        (eyewash,) = (step for step in safety_steps("Vessel", solid=False) if step.key == "check:eyewash")
    assert re.findall(r"\d+", rinse) == [figures["flush_minutes"].value]
    wanted = [figures["eyewash_reach_seconds"].value, figures["eyewash_weekly_days"].value]
    assert re.findall(r"\d+", eyewash.how) == wanted
