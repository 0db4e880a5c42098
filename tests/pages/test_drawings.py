"""Pictures say the same as their text equivalents, at the ends of what can happen too."""

import itertools
import re
from dataclasses import dataclass
from xml.etree import ElementTree

import pytest

from answers import drawings
from calc.mould.bars import BarYield


def _read(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def _x(element: ElementTree.Element, key: str = "x") -> float:
    return float(element.attrib[key])


@pytest.mark.parametrize(
    ("stated", "low", "high"),
    [(0.06, 0.04, 0.08), (0.01, -0.014, 0.034), (0.0, -0.3, -0.2), (0.5, 0.3, 0.7), (0.05, 0.05, 0.05)],
)
@pytest.mark.parametrize("small", [False, True])
def test_superfat_lies_where_its_scale_says(stated, low, high, small):
    picture = _read(drawings.superfat(stated, low, high, small=small))
    ticks = [t for t in picture if t.tag == "text" and re.fullmatch(r"\N{MINUS SIGN}?\d+", t.text or "")]
    by_value = {float((t.text or "").replace("\N{MINUS SIGN}", "-")): _x(t) for t in ticks}
    (first, x_first), (last, x_last) = min(by_value.items()), max(by_value.items())
    zero = next(e for e in picture if e.get("class") == "d-zero")
    assert _x(zero, "x1") == pytest.approx(by_value[0.0], abs=0.2)

    def at(fraction: float) -> float:
        return x_first + (fraction * 100 - first) / (last - first) * (x_last - x_first)

    diamond = next(e for e in picture if e.get("class") == "d-stated")
    corners = [float(pair.split(",")[0]) for pair in diamond.attrib["points"].split()]
    assert (min(corners) + max(corners)) / 2 == pytest.approx(at(stated), abs=0.3)
    assert all(0 <= x <= drawings.WIDTH for x in (at(low), at(high)))
    under = [e for e in picture if e.get("class") == "d-under"]
    assert bool(under) == (low < 0)  # a shape of its own, not only a colour
    assert ("free lye is possible" in picture.attrib["aria-label"]) == (low < 0)


def test_the_small_picture_says_in_words_what_the_large_one_says_and_takes_half_its_height():
    large, small = (_read(drawings.superfat(-0.005, -0.02, 0.03, 0.001, small=small)) for small in (False, True))
    assert small.attrib["aria-label"] == large.attrib["aria-label"]
    heights = [float(picture.attrib["viewBox"].split()[3]) for picture in (large, small)]
    assert heights[1] <= heights[0] / 2
    # Nothing of it is cut off.
    for shape in small:
        tall = [float(shape.attrib[key]) for key in ("y", "y1", "y2") if key in shape.attrib]
        assert all(0 <= y <= heights[1] for y in tall)


def test_the_mean_is_a_stroke_of_its_own_beside_the_stated_value():
    # Halfway between the ends it is drawn halfway; without one there is no stroke and no word of it.
    picture = _read(drawings.superfat(0.05, 0.04, 0.1, 0.07))
    (stroke,) = [e for e in picture if e.get("class") == "d-typical"]
    left, right = sorted(_x(e, "x1") for e in picture if e.get("class") == "d-end")
    assert _x(stroke, "x1") == pytest.approx((left + right) / 2.0, abs=0.2)
    assert "On average 7.0 %." in picture.attrib["aria-label"]
    without = _read(drawings.superfat(0.05, 0.04, 0.1))
    assert not [e for e in without if e.get("class") == "d-typical"]
    assert "average" not in without.attrib["aria-label"]


@pytest.mark.parametrize("interval", [(-0.012, 0.03), (0.044, 0.083), (-0.3, -0.2), (0.4, 0.6)])
def test_the_line_of_zero_goes_through_no_word(interval):
    picture = _read(drawings.superfat(0.05, *interval))
    zero = next(e for e in picture if e.get("class") == "d-zero")
    words = [e for e in picture if e.tag == "text" and not re.fullmatch(r"\N{MINUS SIGN}?\d+", e.text or "")]
    assert len(words) == 2
    # A word stands on its baseline, which is above where the line begins.
    assert all(_x(word, "y") < _x(zero, "y1") for word in words)
    # The two begin at their own ends of the picture and leave each other room.
    assert {word.attrib["text-anchor"] for word in words} == {"start", "end"}


@pytest.mark.parametrize("shown", [("600 mm", "400 mm", "200 mm"), ("23.62 in", "15.75 in", "7.87 in"), ("1200 mm", "1200 mm", "1000 mm")])
@pytest.mark.parametrize("size", [(600, 400, 210), (300, 1200, 100), (1200, 50, 60)])
def test_no_label_of_the_block_is_cut_off(shown, size):
    length, width, fill = shown
    picture = _read(drawings.block(size, size[2] - 10, (length, width, "210 mm"), fill, None))
    by_words = {e.text: e for e in picture if e.tag == "text"}
    # A capital M, the widest letter, is one em wide; figures and small letters of a text face are 0.6 em on average.
    wide = {words: 0.6 * 16 * len(words) for words in by_words}
    assert _x(by_words[width]) + wide[width] <= drawings.WIDTH
    if fill != width:
        assert _x(by_words[fill]) - wide[fill] >= 0


def test_block_says_its_sizes_and_its_bars():
    # By hand: 590/25, 390/90 and 190/60 in whole bars, 135 cm³ each of 48 L, and what is left of the three sides.
    bars = BarYield(23, 4, 3, 276, 276 * 0.135 / 48, 15, 30, 10)
    picture = _read(drawings.block((600, 400, 210), 200, ("600 mm", "400 mm", "210 mm"), "200 mm", bars))
    label = picture.attrib["aria-label"]
    assert "600 mm long" in label and "filled to 200 mm" in label and f"{bars.total} bars" in label
    # Geometry: every whole bar along, across and up has one cut at its far side, drawn on two faces each.
    cuts = [e for e in picture if e.get("class") == "d-cut"]
    assert len(cuts) == 2 * (bars.along + bars.across + bars.up)


def test_block_without_a_cutter_and_overfull():
    picture = _read(drawings.block((100, 100, 50), 60, ("100 mm", "100 mm", "50 mm"), "60 mm", None))
    assert not [e for e in picture if e.get("class") == "d-cut"]
    assert "bars" not in picture.attrib["aria-label"]


@dataclass(frozen=True)
class _Layer:
    name: str
    target_g: float


def test_vessel_layers_fill_its_share():
    layers = [_Layer("Olive oil (virgin)", 3.0), _Layer("Water & lye", 1.0)]
    picture = _read(drawings.vessel(80.0, 40.0, layers, "half full"))
    heights = [float(e.attrib["height"]) for e in picture if "d-layer" in e.get("class", "")]
    vessel = next(e for e in picture if e.get("class") == "d-vessel")
    top, base = (float(part) for part in re.findall(r"M[\d.]+ ([\d.]+)V([\d.]+)", vessel.attrib["d"])[0])
    assert sum(heights) == pytest.approx((base - top) / 2, abs=0.2)
    assert heights[0] == pytest.approx(3 * heights[1], abs=0.3)
    words = [e.text for e in picture if e.tag == "text"]
    assert words == ["Olive oil", "Water & lye"]


def test_names_typed_by_people_stay_text():
    layers = [_Layer("<script>x</script>", 1.0)]
    assert "<script>" not in drawings.vessel(80.0, 40.0, layers, '"><script>')


def test_neighbouring_layers_of_the_vessel_and_the_first_six_are_told_apart():
    layers = [_Layer(f"Oil {n}", 1.0) for n in range(9)]
    looks: list[tuple[str, bool]] = []
    for element in _read(drawings.vessel(80.0, 40.0, layers, "half full")):
        css = element.get("class", "")
        if css.startswith("d-layer "):
            looks.append((css, False))
        elif css.startswith("d-stripe"):
            looks[-1] = (looks[-1][0], True)
    assert len(looks) == 9
    assert all(look != after for look, after in itertools.pairwise(looks))
    assert len(set(looks[:6])) == 6
