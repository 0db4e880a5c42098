"""What must hold for any block and any wire frame."""

from fractions import Fraction

from blocks_cut import cut_into, used_fraction
from hypothesis import given
from hypothesis import strategies as st

from calc.mould.bars import count_fitting

LENGTHS = st.floats(10.0, 3000.0)
PIECES = st.floats(3.0, 1000.0)
KERFS = st.floats(0.0, 10.0)
TRIMS = st.floats(0.0, 100.0)


@given(LENGTHS, st.floats(0.0, 500.0), PIECES, KERFS, TRIMS)
def test_a_longer_block_never_gives_fewer_pieces(
    length: float, more: float, piece: float, kerf: float, trim: float
) -> None:
    assert count_fitting(length + more, piece, kerf, trim) >= count_fitting(length, piece, kerf, trim)


@given(LENGTHS, PIECES, st.floats(0.0, 100.0), KERFS, st.floats(0.0, 5.0), TRIMS)
def test_a_wider_piece_or_cut_never_gives_more(
    length: float, piece: float, wider: float, kerf: float, thicker: float, trim: float
) -> None:
    now = count_fitting(length, piece, kerf, trim)
    assert count_fitting(length, piece + wider, kerf, trim) <= now
    assert count_fitting(length, piece, kerf + thicker, trim) <= now


@given(st.integers(1, 200), st.integers(30, 5000), st.integers(0, 100), st.integers(0, 500), st.integers(-1, 1))
def test_counts_equal_exact_fractions_of_a_tenth_inch(pieces: int, piece: int, kerf: int, trim: int, off: int) -> None:
    """Sizes in thousandths of an inch, at and one step either side of an exact fit."""
    exact = Fraction(pieces * (piece + kerf) + off, piece + kerf)
    length = pieces * piece + (pieces - 1) * kerf + 2 * trim + off
    mm = 0.0254
    assert count_fitting(length * mm, piece * mm, kerf * mm, trim * mm) == exact.numerator // exact.denominator


@given(st.tuples(LENGTHS, LENGTHS, LENGTHS), st.tuples(PIECES, PIECES, PIECES), KERFS, TRIMS)
def test_bars_never_hold_more_soap_than_the_block(
    block: tuple[float, float, float], bar: tuple[float, float, float], kerf: float, trim: float
) -> None:
    found = cut_into(block, bar, kerf, trim)
    assert 0.0 <= used_fraction(found) <= 1.0 + 1e-8
    for cut, side, piece in zip(found, block, bar, strict=True):
        leftover, usable = cut.spare_mm, max(0.0, side - trim - trim)
        assert 0.0 <= leftover <= usable
        assert leftover < piece + kerf or leftover == usable < piece
