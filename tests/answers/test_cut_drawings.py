"""Pictures of a cut block: what comes off is hatched all over."""

import re

import pytest

from answers.cut_drawings import HATCH, WIDTH, block_cut, faces
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


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("size", [(600.0, 400.0, 193.0), (600.0, 400.0, 70.0), (300.0, 290.0, 90.0), (1200.0, 150.0, 60.0)])
def test_the_measures_stand_beside_the_block_and_not_in_it(size: tuple[float, float, float], units: str) -> None:
    length, width, height = (cut_side(side, Wires((30.0,)), 5.0, 5.0) for side in size)
    picture = block_cut(Way({}, ("A", "B"), LENGTH, (1, 2), (length, width, height), (True, True, True), None), units)
    (side,) = re.findall(r'class="d-soap-side d-edge" points="([^"]+)"', picture)
    near, far = (tuple(map(float, point.split(","))) for point in side.split()[:2])
    text = re.findall(r'<text class="d-text" x="([\d.]+)" y="([\d.]+)" text-anchor="start">', picture)
    ((x, y),) = [tuple(map(float, each)) for each in text]
    edge = near[1] + (far[1] - near[1]) * max(0.0, x - near[0]) / (far[0] - near[0])
    # Digits rise some twelve units over their line.
    assert y - 12.0 >= edge
    tall = float(re.findall(r'viewBox="0 0 [\d.]+ ([\d.]+)"', picture)[0])
    assert y <= tall
