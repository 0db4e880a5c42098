"""Codes as a camera or a printer's dots have them, read by a library that knows nothing of ours: zxing-cpp, for ISO/IEC 18004."""

import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import zxingcpp

INCH_MM = 25.4
LIGHT, DARK = 255, 0


def read(pixels: Any) -> list[str]:
    """What every QR code in a picture says; a picture is gray, a byte a pixel."""
    return [found.text for found in zxingcpp.read_barcodes(pixels, formats=zxingcpp.BarcodeFormat.QRCode, try_invert=False)]


def squares(path: str) -> Iterator[tuple[float, float, float]]:
    """Of a path of level rectangles one unit high: left, top and width of each."""
    for x, y, wide in re.findall(r"M([\d.]+) ([\d.]+)h([\d.]+)v1h-[\d.]+z", path):
        yield float(x), float(y), float(wide)


def paint(pixels: Any, left: float, top: float, wide: float, high: float) -> None:
    """Darkens a rectangle, its edges at the nearest pixel."""
    pixels[round(top) : round(top + high), round(left) : round(left + wide)] = DARK


def of_drawing(svg: str, pixels_a_square: float) -> Any:
    """A code's own drawing, its margin included, on a darker ground: only its own light stands around it."""
    side = int(re.findall(r'viewBox="0 0 (\d+) \1"', svg)[0])
    around = round(6 * pixels_a_square)
    whole = round(side * pixels_a_square)
    pixels = np.full((whole + 2 * around, whole + 2 * around), DARK, dtype=np.uint8)
    pixels[around : around + whole, around : around + whole] = LIGHT
    for x, y, wide in squares(svg.partition('class="qr-dark" d="')[2].partition('"')[0]):
        paint(pixels, around + x * pixels_a_square, around + y * pixels_a_square, wide * pixels_a_square, pixels_a_square)
    return pixels


def of_label(svg: str, dots_an_inch: float, width: Any) -> Any:
    """A label as a printer sets it: its frame, its lines of text as solid bars, its code. width: how wide a text of a size is [mm]."""
    wide_mm, high_mm = map(float, re.findall(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)[0])
    per_mm = dots_an_inch / INCH_MM
    pixels = np.full((round(high_mm * per_mm), round(wide_mm * per_mm)), LIGHT, dtype=np.uint8)
    pixels[[0, -1], :] = pixels[:, [0, -1]] = DARK
    for x, y, size, bold, middle, words in re.findall(
        r'<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"( font-weight="700")?( text-anchor="middle")? data-role="\w*">([^<]*)<', svg
    ):
        long = width(words, float(size), bold=bool(bold))
        left = float(x) - (long / 2 if middle else 0.0)
        paint(pixels, left * per_mm, (float(y) - 0.7 * float(size)) * per_mm, long * per_mm, 0.9 * float(size) * per_mm)
    code = re.search(r'class="label-code" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" viewBox="0 0 (\d+) \5"[^>]*><path d="([^"]+)"', svg)
    if code:
        left, top, side_mm, _, side = map(float, code.groups()[:5])
        square = side_mm / side * per_mm
        for x, y, wide in squares(code[6]):
            paint(pixels, left * per_mm + x * square, top * per_mm + y * square, wide * square, square)
    return pixels
