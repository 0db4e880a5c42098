"""Pictures of a cut block: what comes off is hatched all over."""

import re

import pytest

from answers.cut_drawings import HATCH, WIDTH, faces
from calc.cut.ways import LENGTH, Way
from calc.mould.cuts import Wires, cut_side


@pytest.mark.parametrize("trim_mm", [30.0, 45.0])
def test_strokes_lie_at_equal_distances_over_all_of_the_trim(trim_mm: float) -> None:
    # A square of 100 mm with a frame of trim around one bar: slanted strokes u - v = n x step, from corner to corner.
    side = cut_side(100.0, Wires((100.0 - 2.0 * trim_mm,)), trim_mm, trim_mm)
    way = Way({}, ("A", "B"), LENGTH, (1, 2), (side, side, side), (True, True, True), None)
    picture = faces(way, "metric")[0].picture
    scale = (WIDTH - 4.0) / 100.0
    step = HATCH / scale
    (path,) = re.findall(r'class="d-trim" d="([^"]+)"', picture)
    strokes = [tuple(map(float, each)) for each in re.findall(r"M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)", path)]
    # Down to up on the screen: v is measured from the bottom.
    found = {round(((x - 2.0) / scale - (2.0 + 100.0 * scale - y) / scale) / step) for x, y, _, _ in strokes}
    most = int(100.0 / step - 1e-9)
    assert found == set(range(-most, most + 1))
