"""A tank as it stands: how full it is, how many blocks it still gives, and what open sheets still want of it.

Counted by mass; a volume is mass over the density at the temperature last read, or at the usual one.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from calc.chemistry.density import lye_density_g_per_ml, oil_density_g_per_ml
from calc.mould.scaling import blocks_from_stock
from calc.tables.reference import constant
from calc.tables.rows import Oil
from calc.tanks.drawn import Drawn
from calc.tanks.fold import Contents
from calc.workshop.tanks import Tank

# Where the density tables end [°C].
COLDEST_C, HOTTEST_C = 15.0, 80.0


@dataclass(frozen=True)
class Need:
    """What one block of an issued sheet still wants of a tank [g]."""

    code: str
    soap: str
    formula: str
    block: int
    grams: float


@dataclass(frozen=True)
class Standing:
    """One tank and what follows from what is in it. beside_g: what the other tanks still give that hold the same [g]."""

    tank: Tank
    contents: Contents
    temperature_c: float
    temperature_read: bool
    density_g_per_ml: float
    needs: tuple[Need, ...]
    beside_g: float = 0.0

    @property
    def left_g(self) -> float:
        """What is in it; nothing where more was drawn than loaded."""
        return max(self.contents.left_g, 0.0)

    @property
    def left_ml(self) -> float:
        """How much room that takes."""
        return self.left_g / self.density_g_per_ml

    @property
    def dead_g(self) -> float:
        """What of it won't run out by itself."""
        return min(self.tank.dead_ml * self.density_g_per_ml, self.left_g)

    @property
    def gives_g(self) -> float:
        """What of it blocks can have."""
        return self.left_g - self.dead_g

    @property
    def room_g(self) -> float:
        """What still fits."""
        return max(self.tank.volume_ml * self.density_g_per_ml - self.left_g, 0.0)

    @property
    def wanted_g(self) -> float:
        """What the open sheets still want."""
        return math.fsum(need.grams for need in self.needs)

    @property
    def short_g(self) -> float:
        """By how much it and those beside it are short of that."""
        return max(self.wanted_g - self.gives_g - self.beside_g, 0.0)

    @property
    def served(self) -> int:
        """How many of the blocks still wanted it gives whole, with those beside it, one after the other."""
        return self._whole(self.gives_g + self.beside_g)

    @property
    def served_alone(self) -> int:
        """How many of them it gives by itself."""
        return self._whole(self.gives_g)

    @property
    def left_to_it(self) -> tuple[Need, ...]:
        """The blocks that those beside it don't give."""
        return self.needs[self._whole(self.beside_g) :]

    def _whole(self, gives_g: float) -> int:
        for n, need in enumerate(self.needs):
            gives_g -= need.grams
            if gives_g < 0.0:
                return n
        return len(self.needs)

    @property
    def short_for(self) -> Need | None:
        """The first block that it is short for."""
        return self.needs[self.served] if self.served < len(self.needs) else None

    def blocks_of(self, per_block_g: float) -> int:
        """How many blocks that take so much [g], above 0, it still gives."""
        return blocks_from_stock(self.gives_g, per_block_g).whole_blocks


def drawable_g(held: Sequence[Standing]) -> float:
    """What blocks can have out of some tanks that hold the same [g].

    One that is overdrawn gives nothing, and takes nothing off the others: what blocks drew beyond it, their contents are already less.
    """
    return math.fsum(each.gives_g for each in held)


def is_same(one: Contents, other: Contents) -> bool:
    """Whether blocks can draw from either: one lot's lye as sheets call it, or a blend for the same formulas. What is empty holds nothing."""
    if one.empty or other.empty:
        return False
    if one.alkali or other.alkali:
        return one.as_lot is not None and one.as_lot == other.as_lot
    return set(one.formulas) == set(other.formulas)


def standing(
    tank: Tank, contents: Contents, sheets: Sequence[Mapping[str, Any]], today: date, oils: Mapping[str, Oil], beside: Sequence[Standing] = ()
) -> Standing:  # fmt: skip
    """A tank by its contents. sheets: what the device knows of issued ones. oils: every known oil by key. beside: other tanks that hold the same."""
    usual_c = constant("tank_lye_assumed_temperature" if tank.holds == "lye" else "tank_oil_assumed_temperature").value
    read_c = contents.temperature_c
    temperature_c = usual_c if read_c is None else read_c
    return Standing(
        tank, contents, temperature_c, read_c is not None, density_of(tank.holds, contents, temperature_c, oils),
        needs(tank.holds, contents, sheets, today, [draw for each in (contents, *(other.contents for other in beside)) for draw in each.blocks]),
        drawable_g(beside),
    )  # fmt: skip


def density_of(holds: str, contents: Contents, temperature_c: float, oils: Mapping[str, Oil]) -> float:
    """Density of what is in a tank [g/ml]; an empty one counts as if water or oil were in it. Beyond the tables, that at their end."""
    at_c = min(max(temperature_c, COLDEST_C), HOTTEST_C)
    if holds == "lye":
        fraction = contents.strength.fraction if contents.strength else 0.0
        return lye_density_g_per_ml(contents.alkali or "naoh", min(max(fraction, 0.0), 0.5), at_c)
    usual = constant("oil_density_default").value
    parts = [(part.grams, oil_density_g_per_ml(oils[part.oil], at_c) if part.oil and part.oil in oils else usual) for part in contents.parts]
    volume_ml = math.fsum(grams / density for grams, density in parts)
    return math.fsum(grams for grams, _ in parts) / volume_ml if volume_ml > 0.0 else usual


def needs(holds: str, contents: Contents, sheets: Sequence[Mapping[str, Any]], today: date, draws: Sequence[Drawn]) -> tuple[Need, ...]:
    """What the blocks of open sheets still want of this tank, the oldest sheet first. draws: what they took of it and of those beside it.

    A sheet that nothing was drawn for counts for some days after it was issued; what can't be read of one is no need.
    """
    drawn_g: dict[tuple[str, int], float] = {}
    for draw in draws:
        drawn_g[draw.code, draw.block] = drawn_g.get((draw.code, draw.block), 0.0) + draw.grams
    begun = {code for code, _ in drawn_g}
    # A wrong clock may stand at the calendar's beginning.
    earliest = date.fromordinal(max(today.toordinal() - int(constant("tank_sheet_days").value), 1)).isoformat()
    found = []
    for sheet in sorted(sheets, key=lambda each: (str(each.get("issued_on")), str(each.get("code")))):
        code, closed = str(sheet.get("code")), sheet.get("closed")
        if closed is None or (code not in begun and str(sheet.get("issued_on")) < earliest):
            continue
        per_block_g = per_block(holds, contents, sheet)
        for block in range(1, int(sheet.get("blocks") or 0) + 1):
            rest_g = per_block_g - drawn_g.get((code, block), 0.0)
            if block not in closed and rest_g > constant("tank_rest_told").value * per_block_g:
                found.append(Need(code, str(sheet.get("soap") or code), str(sheet.get("formula") or ""), block, rest_g))
    return tuple(found)


def per_block(holds: str, contents: Contents, sheet: Mapping[str, Any]) -> float:
    """What a block of a sheet takes out of a tank [g]: its lye of that lot, or all oils of the vessel where they come blended."""
    if holds == "lye":
        return _sum(sheet, lambda pour: pour.get("kind") == "alkali" and pour.get("lot") is not None and pour.get("lot") == contents.as_lot)
    for_it = not contents.formulas or sheet.get("formula") in contents.formulas
    return _sum(sheet, lambda pour: pour.get("kind") == "oil" and pour.get("phase") == "vessel") if sheet.get("blended") and for_it else 0.0


def _sum(sheet: Mapping[str, Any], wanted: Any) -> float:
    try:
        return math.fsum(float(pour["target_g"]) for pour in sheet.get("pours") or () if wanted(pour))
    except (AttributeError, KeyError, TypeError, ValueError):
        return 0.0
