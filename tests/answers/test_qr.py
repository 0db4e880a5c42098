"""QR codes, read back by a reader written here from the standard and by one from outside, not by the encoder's own tables."""

import pytest
from codes import of_drawing, read

from answers.qr import QUIET, DataOverflowError, code_svg, modules

# ISO/IEC 18004, 6.3.3: the finder pattern, 7 by 7, in three corners.
FINDER = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]


def _square(rows, top, left):
    return ["".join(str(int(dark)) for dark in row[left : left + 7]) for row in rows[top : top + 7]]


def test_a_code_has_its_three_finders_and_its_timing_lines():
    for text in ("QM-261125-1", "https://example.org/take/#1." + "a_-Z" * 120):
        rows = modules(text)
        size = len(rows)
        assert {len(row) for row in rows} == {size} and size % 4 == 1  # 17 + 4 times the version
        assert _square(rows, 0, 0) == _square(rows, 0, size - 7) == _square(rows, size - 7, 0) == FINDER
        # 6.3.5: between the finders dark and light take turns, beginning dark.
        assert [rows[6][x] for x in range(8, size - 8)] == [x % 2 == 0 for x in range(8, size - 8)]


def _read(rows):
    """Reads a code of version 1 (21 by 21): one block, bytes; ISO/IEC 18004, 7.3 to 7.8, written down anew."""
    size = len(rows)
    assert size == 21
    # 7.9: the format's bits 14 to 10 beside the first finder, over the mask 101010000010010; its last three are the mask.
    format_bits = [rows[8][x] for x in (0, 1, 2, 3, 4)]
    mask = "".join(str(int(bit) ^ int(over)) for bit, over in zip(format_bits, "10101", strict=True))[2:]
    flips = {
        "000": lambda y, x: (y + x) % 2 == 0, "001": lambda y, x: y % 2 == 0, "010": lambda y, x: x % 3 == 0,
        "011": lambda y, x: (y + x) % 3 == 0, "100": lambda y, x: (y // 2 + x // 3) % 2 == 0,
        "101": lambda y, x: y * x % 2 + y * x % 3 == 0, "110": lambda y, x: (y * x % 2 + y * x % 3) % 2 == 0,
        "111": lambda y, x: ((y + x) % 2 + y * x % 3) % 2 == 0,
    }[mask]  # fmt: skip
    fixed = {(y, x) for y in range(size) for x in range(size) if (y < 9 and (x < 9 or x >= size - 8)) or (y >= size - 8 and x < 9) or 6 in (y, x)}
    bits = []
    right, up = size - 1, True
    while right > 0:
        right -= right == 6
        for y in range(size - 1, -1, -1) if up else range(size):
            bits += [rows[y][x] ^ flips(y, x) for x in (right, right - 1) if (y, x) not in fixed]
        right, up = right - 2, not up
    def number(at: int, length: int) -> int:
        return int("".join(str(int(bit)) for bit in bits[at : at + length]), 2)
    assert number(0, 4) == 0b0100  # bytes
    return bytes(number(12 + 8 * n, 8) for n in range(number(4, 8))).decode()


@pytest.mark.parametrize("text", ["qm-261125-1", "a", "lot_9z/2~"])
def test_what_a_code_holds_can_be_read_back(text):
    assert _read(modules(text, "l")) == text


def test_the_drawing_is_the_code_with_the_margin_of_the_standard():
    rows = modules("qm-1")
    svg = code_svg(rows, 'a "code" <b>')
    assert f'viewBox="0 0 {len(rows) + 8} {len(rows) + 8}"' in svg and QUIET == 4  # ISO/IEC 18004, 6.3.8
    assert "<b>" not in svg
    drawn = set()
    for part in svg.partition(' d="')[2].partition('"')[0].split("z")[:-1]:
        place, _, rest = part.removeprefix("M").partition("h")
        x, y = map(int, place.split())
        drawn |= {(y - 4, x - 4 + n) for n in range(int(rest.partition("v")[0]))}
    assert drawn == {(y, x) for y, row in enumerate(rows) for x, dark in enumerate(row) if dark}


# From three pixels a square on, what a link of the page may be at most; a share link is some hundred characters.
@pytest.mark.parametrize("pixels_a_square", [3.0, 3.7, 8.0])
@pytest.mark.parametrize("text", ["qm-261125-1", "https://example.org/take/#1." + "a_-Z9" * 60, "https://example.org/take/#1." + "a_-Z9" * 234])
def test_the_drawing_is_read_by_a_reader_from_outside(text, pixels_a_square):
    assert len(text) <= 1200
    assert read(of_drawing(code_svg(modules(text, "l"), "code"), pixels_a_square)) == [text]


def test_without_its_margin_or_with_a_square_too_many_it_is_another_code():
    # That the reader reads what is drawn, and not what is hoped.
    rows = [list(row) for row in modules("qm-261125-1", "l")]
    for y in range(7):
        rows[y][:7] = [False] * 7
    assert read(of_drawing(code_svg(rows, "code"), 8.0)) == []


def test_more_than_the_largest_code_holds_is_refused():
    # ISO/IEC 18004, table 7: version 40, level L, 2,953 bytes.
    modules("a" * 2953, "l")
    with pytest.raises(DataOverflowError):
        modules("a" * 2954, "l")
