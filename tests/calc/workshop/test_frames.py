"""Frames as typed: how far apart their wires stand, what a cut removes, what can't be."""

from dataclasses import replace

import pytest

from calc.entry.fields import check, read
from calc.entry.problems import InputProblems
from calc.workshop.frames import BarFrame, LoafFrame, Space

LOAF = LoafFrame(name="L", pitch_mm=90.0, spaces=(), level_pitch_mm=60.0, cuts_with="wire", trim_mm=5.0)
BAR = BarFrame(name="B", pitch_mm=25.0, spaces=(), cuts_with="wire", trim_mm=5.0)
FORM = {"name": "B", "pitch_mm": "1", "pitch_mm.unit": "in", "trim_mm": "0", "trim_mm.unit": "mm"}


def codes(frame: object) -> list[tuple[str, str]]:
    with pytest.raises(InputProblems) as faults:
        check(frame)
    return [(each.field, each.code) for each in faults.value.problems]


def test_a_wire_removes_nothing_a_blade_its_thickness() -> None:
    wire = read(BarFrame, {**FORM, "cuts_with": "wire", "thickness_mm": "0.8", "thickness_mm.unit": "mm"}).value
    assert (wire.kerf_mm, wire.spaces_mm) == (0.0, (25.4,))
    blade = read(BarFrame, {**FORM, "cuts_with": "blade", "thickness_mm": "0.8", "thickness_mm.unit": "mm"}).value
    assert blade.kerf_mm == 0.8
    with pytest.raises(InputProblems, match="Thickness"):
        read(BarFrame, {**FORM, "cuts_with": "blade"})


def test_spaces_that_differ_stand_in_their_order() -> None:
    rows = {"spaces.0.space_mm": "60", "spaces.0.space_mm.unit": "mm", "spaces.1.space_mm": "8.5", "spaces.1.space_mm.unit": "cm"}
    frame = read(LoafFrame, {**FORM, "pitch_mm": "", "cuts_with": "wire", **rows}).value
    check(frame)
    assert frame.spaces_mm == (60.0, 85.0)


def test_wires_stand_in_one_way_and_wider_than_they_cut() -> None:
    check(LOAF)
    check(BAR)
    assert codes(replace(LOAF, pitch_mm=None)) == [("pitch_mm", "one-way-of-spacing")]
    assert codes(replace(LOAF, spaces=(Space(space_mm=60.0),))) == [("pitch_mm", "one-way-of-spacing")]
    thick = {"cuts_with": "blade", "thickness_mm": 9.0}
    assert codes(replace(BAR, pitch_mm=8.0, **thick)) == [("pitch_mm", "kerf-over-pitch")]
    assert codes(replace(LOAF, level_pitch_mm=8.0, **thick)) == [("level_pitch_mm", "kerf-over-pitch")]
    assert codes(replace(BAR, cross_pitch_mm=9.0, **thick)) == [("cross_pitch_mm", "kerf-over-pitch")]


def test_a_frame_needs_more_room_than_stays_free_under_it() -> None:
    # About two inches, 50 mm: common practice, a row of constants.csv.
    check(replace(BAR, opening_mm=51.0))
    assert codes(replace(BAR, opening_mm=50.0)) == [("opening_mm", "no-room-under-frame")]
