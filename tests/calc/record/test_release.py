"""What a workshop asks of a block before its bars are sold."""

from itertools import product

import pytest

from calc.record.release import Found, ReleaseChecks, checked


@pytest.mark.parametrize(("start_g", "loss"), list(product(range(100, 200, 10), (5, 10, 20))))
def test_a_bar_exactly_at_its_limit_passes_and_a_tenth_of_a_gram_short_of_it_fails(start_g, loss):
    # A loss of so many per cent of whole grams, worked out as any scale shows it.
    gone_g = start_g * loss / 100
    asked = ReleaseChecks(loss_least_fraction=loss / 100)
    for more_g, wanted in ((0.0, "passed"), (0.1, "failed")):
        (check,) = (each for each in checked(asked, {"loss": Found(value=1 - (start_g - gone_g + more_g) / start_g)}) if each.key == "loss")
        assert check.state == wanted
    most = ReleaseChecks(moisture_most_fraction=loss / 100)
    for more_g, wanted in ((0.0, "passed"), (0.1, "failed")):
        (check,) = (each for each in checked(most, {"moisture": Found(value=1 - (start_g - gone_g - more_g) / start_g)}) if each.key == "moisture")
        assert check.state == wanted
