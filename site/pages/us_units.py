"""What is built into a form, as a maker would have typed it who works in US units."""

from collections.abc import Mapping
from typing import Any

from calc.entry.declare import describe
from calc.entry.shown import number
from calc.entry.units import convert


def in_us_units(declared: type[Any], values: Mapping[str, str]) -> dict[str, str]:
    """By control, each number that is in another unit than a US maker's: in that one, as round as people type."""
    found: dict[str, str] = {}
    for info in describe(declared):
        unit = values.get(f"{info.name}.unit") or (info.offered[0] if info.offered else "")
        if info.us is None or unit == info.us or not values.get(info.name):
            continue
        exact = convert(float(values[info.name]), unit, info.us)
        # Thermometers are read to a degree, scales to more digits than anybody plans by.
        whole = info.kind == "temperature" or abs(exact) >= 100.0
        found |= {info.name: number(exact, 0 if whole else 1).removesuffix(".0"), f"{info.name}.unit": info.us}
    return found
