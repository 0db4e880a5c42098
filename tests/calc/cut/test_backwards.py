"""From bars wanted back to the batch: none short, none too light, whatever is asked."""

from fractions import Fraction
from random import Random

import pytest

from calc.cut.backwards import Wanted, wanted
from calc.cut.block import Soap, Spread, set_block
from calc.cut.ways import LENGTH, OwnFrames, same_way, ways
from cut.test_ways import bar, block, loaf, own

SOAP = Soap(1.008, Spread(1.04, 1.04, 1.04), Spread(0.12, 0.12, 0.12))
INCH = Fraction(254, 10)


def asked(bars: int | None, sold_g: float | None, frames: OwnFrames, fill_mm: float = 200.0, sinks: float = 0.0, units: str = "metric", size: tuple[float, float] = (600.0, 400.0)) -> Wanted | None:
    made = set_block(*size, fill_mm, SOAP, sinks)
    way = ways(made, frames)[0]
    return wanted(bars, sold_g, way, SOAP, size, fill_mm, sinks, units, lambda pitch: same_way(made, way, frames, pitch))


def test_a_weight_at_sale_becomes_a_fresh_bar_and_its_wires() -> None:
    # Physics F: 100 g at 12 % loss is 113.6 g fresh, 109.3 cm³; over a face of 90 by 60 that is 20.24 mm, up to a tenth 20.3.
    found = asked(None, 100.0, own(loaf(), bar(pitch=20.0)))
    assert found is not None and not found.heavy_enough
    assert found.fresh_g == pytest.approx(113.6, abs=0.05)
    assert found.pitch_mm == pytest.approx(20.3)
    # Bars of 25 mm weigh 140.4 g (row F2): enough, so nothing is hung anew.
    found = asked(None, 100.0, own(loaf(), bar()))
    assert found is not None and found.heavy_enough and found.way.bars == 276


def test_bars_wanted_become_blocks_fill_and_batter() -> None:
    # By hand: 92 bars a layer; 150 are two layers: 5 + 2 x 60 + 5 = 130 mm, and 2 for the level of the fill.
    found = asked(150, None, own(loaf(), bar()))
    assert found is not None and (found.blocks, found.fill_mm, found.all_bars, found.one_block_less) == (1, 132.0, 184, 0)
    assert found.batter_g == pytest.approx(600.0 * 400.0 * 132.0 * 1.008e-3)
    # 300 are more than the 276 of one block: two of two layers each.
    found = asked(300, None, own(loaf(), bar()))
    assert found is not None and (found.blocks, found.fill_mm, found.all_bars, found.one_block_less) == (2, 132.0, 368, 276)
    # A block that sinks is filled higher: 130/0.97 = 134.02, and 2.
    found = asked(150, None, own(loaf(), bar()), sinks=0.03)
    assert found is not None and found.fill_mm == 137.0


def test_none_is_short_and_none_too_light() -> None:
    """Random blocks, frames and wishes in both systems: the block of the fill found is cut anew and counted."""
    chance, counted = Random(21), 0
    for _ in range(1200):
        units = chance.choice(("metric", "us"))
        step = float(INCH / 16) if units == "us" else 1.0
        size = chance.randint(150, 400) * step * 2.0, chance.randint(100, 300) * step * 2.0
        fill, sinks = chance.randint(90, 230) * 1.0, chance.choice((0.0, 0.0, 0.031, 0.08))
        frames = own(loaf(chance.randint(40, 90) * 1.0, chance.randint(25, 70) * 1.0, chance.choice((0.0, 3.0, 5.0))), bar(chance.randint(18, 40) * 1.0))
        if not ways(set_block(*size, fill, SOAP, sinks), frames):
            continue
        bars = chance.randint(1, 1500)
        sold = chance.choice((None, chance.uniform(50.0, 180.0)))
        found = asked(bars, sold, frames, fill, sinks, units, size)
        if found is None:
            continue
        again = same_way(set_block(*size, found.fill_mm, SOAP, sinks), found.way, frames, None if found.heavy_enough else found.pitch_mm)
        assert again is not None and again.bars * found.blocks >= bars
        assert found.all_bars == again.bars * found.blocks or again.bars * found.blocks >= found.all_bars >= bars
        assert found.fill_mm <= fill
        lightest = min(along * across * up for along, across, up in again.sizes_mm) * 1.04e-3
        assert sold is None or lightest * 0.88 >= sold * (1.0 - 1e-8)
        counted += 1
    assert counted > 900


# The typed inches and millimetres of as many plain cases: a loaf n bars long, n bars wanted, none short: 6 x 59 = 354.
SIZES = (Fraction(11, 10) * INCH, Fraction(7, 10) * INCH, Fraction(15, 16) * INCH, Fraction(23, 10) * INCH, Fraction(251, 10), Fraction(603, 10))


@pytest.mark.parametrize("size", SIZES)
def test_n_bars_wanted_of_a_loaf_n_bars_long_are_one_block(size: Fraction) -> None:
    for n in range(1, 60):
        length = float(n * size / INCH) * 25.4
        made = block(length, 90.0, 60.0)
        frames = own(loaf(90.0, 60.0, 0.0), bar(float(size / INCH) * 25.4, 0.0))
        way = next(way for way in ways(made, frames) if way.runs == LENGTH)
        found = wanted(n, None, way, SOAP, (length, 90.0), 60.0, 0.0, "us", lambda pitch: None)
        assert found is not None and (found.blocks, found.all_bars) == (1, n)


def test_wires_that_leave_no_bar_are_no_answer() -> None:
    assert asked(10, 4_000.0, own(loaf(), bar())) is None
