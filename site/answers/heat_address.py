"""What puts temperatures into the form of a tank's heat, and what its page opens with."""

from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from urllib.parse import quote, urlencode

from calc.entry.shown import number
from calc.entry.units import convert
from calc.tanks.heating import DAY_S, HOUR_S
from calc.tanks.readings import Read


def earlier_put(read: Read, units: str) -> dict[str, str]:
    """What puts a reading of some hours ago into the form."""
    return temperature_put("earlier_c", read.temperature_c, units) | {"earlier_at": read.at.time().isoformat("minutes")}


def temperature_put(name: str, value_c: float, units: str) -> dict[str, str]:
    """What puts a temperature [°C] into a field, in the maker's unit."""
    unit = "degF" if units == "us" else "degC"
    return {name: number(convert(value_c, "degC", unit), 1).removesuffix(".0"), f"{name}.unit": unit}


def heat_address(tank: str, now_c: float, before: Sequence[Read], now: str, units: str) -> str:
    """What the page of a tank's heat opens with, as the end of its address: the tank, its temperature, and an earlier one of the last day."""
    puts = temperature_put("now_c", now_c, units)
    with suppress(ValueError):
        at = datetime.fromisoformat(now[:16])
        earlier = [each for each in before if HOUR_S <= (at - each.at).total_seconds() < DAY_S]
        puts |= earlier_put(earlier[0], units) if earlier else {}
    return f"{quote(tank, safe='')}?{urlencode(puts)}"


def wanted_address(tank: str, wanted_c: float, ready: datetime, units: str) -> str:
    """The same of a tank that is to be so warm [°C] at an instant, going by what was read of it last."""
    puts = {"now_c": "", **temperature_put("wanted_c", wanted_c, units), "ready_at": ready.time().isoformat("minutes")}
    return f"{quote(tank, safe='')}?{urlencode(puts)}"
