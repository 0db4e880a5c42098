"""The engine is killed while a phone sends; thirty times in `bench shop`."""

import gc

import pytest
from engine_alone import EngineAlone, phones
from engine_killed import kill_often

pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning")


def test_nothing_that_was_acknowledged_is_lost_or_comes_twice(tmp_path):
    (phone,) = phones(1)
    told = kill_often(EngineAlone(tmp_path, [phone]), phone, times=3, seed=1)
    gc.collect()
    assert told.lost == set()
    assert told.spoiled == 0
    assert len(told.held) == len(set(told.held)) >= len(told.acknowledged) > 50
    # Else it was killed while it had nothing to do.
    assert told.kills_with_some_under_way == 3
