"""The examples in the docstrings of calc are run: what one says comes of a call must come of it.

Their figures are those of the notes on the trade's physics, worked by hand (physics_check_values.csv names most of them).
"""

import doctest
import importlib
import pkgutil
from types import ModuleType

import pytest

import calc

MODULES = [importlib.import_module(found.name) for found in pkgutil.walk_packages(calc.__path__, "calc.")]
FOUND = {module.__name__: doctest.DocTestFinder(exclude_empty=True).find(module) for module in MODULES}
WITH_EXAMPLES = [module for module in MODULES if any(each.examples for each in FOUND[module.__name__])]


@pytest.mark.parametrize("module", WITH_EXAMPLES, ids=lambda module: module.__name__)
def test_what_an_example_says_comes_of_it(module: ModuleType) -> None:
    assert doctest.testmod(module).failed == 0


def test_every_example_is_one_that_runs() -> None:
    """The search finds docstrings at all, and none of them tells an example in prose beside."""
    told = [text for found in FOUND.values() for each in found if "Example" in (text := each.docstring)]
    assert told == []
    assert len(WITH_EXAMPLES) > 5
