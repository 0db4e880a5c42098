"""What displays send, read: by the fixture that the scripts are asked too, and what of it is told, by a clock of the test's."""

import json
from pathlib import Path

import pytest

from shop.speaks.frames import LINE, LONGEST, Splitter, compiled, garbage, gone, read_line, read_sma, tells_rest
from shop.speaks.judge import Judge

FIXTURE = json.loads((Path(__file__).parents[2] / "fixtures" / "scale_lines.json").read_text("utf-8"))


def said(reading):
    return {name: getattr(reading, name) for name in ("status", "zero", "net", "count", "unit")}


@pytest.mark.parametrize("case", FIXTURE["sma"], ids=lambda case: case["says"])
def test_a_frame_of_the_standard_is_read_as_it_says(case):
    assert said(read_sma(case["text"])) == case["reading"]


@pytest.mark.parametrize("case", FIXTURE["line"], ids=lambda case: case["says"])
def test_a_line_is_read_as_it_says(case):
    form = compiled(case["pattern"]) if "pattern" in case else LINE
    reading = read_line(case["text"], form, case.get("unit"))
    assert said(reading) == case["reading"]
    # What was read stays beside what was made of it.
    assert reading.raw == case["text"]


def test_no_line_that_is_cut_anywhere_becomes_another_weight():
    line = "ST,NT,+   12.34kg"
    for cut in range(1, len(line)):
        assert read_line(line[:cut]).status == "garbage"
    frame = " 1N       12.34kg "
    for cut in range(1, len(frame)):
        assert read_sma(frame[:cut]).status == read_sma(frame[cut:]).status == "garbage"


def test_the_first_line_may_be_half_and_is_dropped():
    lines = Splitter()
    # Cut from "112.34 kg", it would pass for a weight by itself.
    assert lines.feed(b"2.34 kg\r\n") == []
    assert lines.feed(b"12.3") == []
    assert lines.feed(b"4 kg\r\n\x0212.36 kg\x03\r") == ["12.34 kg", "12.36 kg"]


def test_a_line_without_an_end_is_cut_and_does_not_grow():
    lines = Splitter()
    lines.feed(b"\r")
    [text] = lines.feed(b"x" * 5000)
    assert len(text) == LONGEST
    assert read_line(text).status == "garbage"


def test_bytes_that_are_no_text_are_told_as_such():
    lines = Splitter()
    lines.feed(b"\r")
    assert lines.feed(b"\xff\xfe12.34 kg\r") == ["\\xff\\xfe12.34 kg"]


def test_a_display_that_does_not_say_that_it_has_settled_has_once_it_stood_for_a_second():
    judge = Judge(0)
    told = [judge.heard(read_line("12.34 kg"), now, tells_rest=False).status for now in (0.0, 0.5, 0.9, 1.1)]
    assert told == ["moving", "moving", "moving", "stable"]
    assert judge.heard(read_line("12.36 kg"), 1.2, tells_rest=False).status == "moving"
    assert not tells_rest("12.34 kg")


def test_one_that_says_so_is_believed_at_once():
    assert tells_rest("ST,NT,+12.34kg")
    assert Judge(0).heard(read_line("ST,NT,+12.34kg"), 0, tells_rest=True).status == "stable"


def test_one_broken_line_among_good_ones_is_not_told_and_garbage_alone_is():
    judge = Judge(0)
    judge.heard(read_sma(" 1N       12.34kg "), 0, tells_rest=True)
    assert judge.heard(garbage("12"), 0.2, tells_rest=True) is None
    assert judge.heard(garbage("12"), 2.5, tells_rest=True).status == "garbage"


def test_what_says_nothing_for_two_seconds_is_gone_and_shows_no_last_weight():
    judge = Judge(0)
    judge.heard(read_sma(" 1N       12.34kg "), 0, tells_rest=True)
    assert judge.silent(1.9) is None
    assert judge.silent(2.1) == gone()
    assert gone().count is None
