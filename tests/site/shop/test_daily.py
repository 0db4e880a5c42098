"""The daily copy is made when it's due, and one that came to nothing keeps no machine busy."""

import asyncio
import json
from datetime import UTC, datetime, timedelta

import pytest

from shop import copies, daily
from shop.copies import Copied

DAY_S = 24 * 3600


class Enough(Exception):
    pass


@pytest.fixture
def lived(tmp_path, monkeypatch):
    """Lives through some turns without waiting: what was copied, how long it would have waited, and its words of trouble."""

    def through(turns, outcomes):
        waits, told = [], []

        async def copy():
            outcome = outcomes.pop(0)
            if isinstance(outcome, Exception):
                raise outcome
            if outcome in ("written", "same"):
                (tmp_path / copies.LOOKED).write_text(json.dumps({"at": datetime.now(UTC).isoformat()}))
            return Copied(outcome, None, 7, 0, 9)

        each = daily.Daily(tmp_path, copy)

        async def sleep(seconds):
            waits.append(seconds)
            told.append(each.trouble)
            if len(waits) == turns:
                raise Enough

        monkeypatch.setattr(daily.asyncio, "sleep", sleep)
        with pytest.raises(Enough):
            asyncio.run(each.go_on())
        return waits, told

    through.folder = tmp_path
    return through


def test_it_is_made_at_once_where_there_is_none_and_then_a_day_later(lived):
    waits, told = lived(3, ["written"])
    assert waits == [3600, 3600, 3600]
    assert told == [None] * 3
    yesterday = datetime.now(UTC) - timedelta(hours=25)
    (lived.folder / copies.LOOKED).write_text(json.dumps({"at": yesterday.isoformat()}))
    assert lived(1, ["same"]) == ([3600], [None])
    nearly = datetime.now(UTC) - timedelta(seconds=DAY_S - 100)
    (lived.folder / copies.LOOKED).write_text(json.dumps({"at": nearly.isoformat()}))
    (wait,), _ = lived(1, [])
    assert 90 < wait <= 100


def test_where_the_clock_was_set_back_it_is_made_anew(lived):
    (lived.folder / copies.LOOKED).write_text(json.dumps({"at": (datetime.now(UTC) + timedelta(days=3)).isoformat()}))
    assert lived(1, ["written"]) == ([3600], [None])


def test_what_came_to_nothing_waits_and_says_why(lived):
    waits, told = lived(4, ["empty", "fewer", OSError("no room"), "written"])
    assert waits == [600, 600, 600, 3600]
    assert told[0] is None
    assert "the last one has 9 records, and the mailbox 7" in told[1]
    assert told[2] == "The daily copy could not be written: no room"
    assert told[3] is None
