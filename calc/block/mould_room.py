"""What the mould does not hold of a batter below its free rim, and how that is told on a scale's display."""

from calc.block.chemistry import Amounts, Block
from calc.scales.display import display_of
from calc.tables.reference import constant


def overflow_g(block: Block, amounts: Amounts) -> float:
    """So much of the batter that the mould can't hold [g]; 0 or more. A sheet that fills higher than that was issued so."""
    batter, mould = block.batter(amounts), block.record["mould"]
    planned_mm = float(block.record.get("fill_height_mm") or 0.0)
    most_mm = max(mould["height_mm"] - constant("mould_free_height").value, planned_mm)
    over_mm = max(batter.fill_height_mm - most_mm, 0.0)
    return batter.mass_g * over_mm / batter.fill_height_mm if over_mm else 0.0


def aside_text(block: Block, mass_g: float) -> str:
    """So much as a scale can show, rounded up: what is left must fit. Empty for nothing."""
    if mass_g <= 0.0:
        return ""
    _, item = max(block.scales.values(), key=lambda pair: pair[0].capacity_g)
    display = display_of(item.division_g, item.reads_in)
    counts = display.counts_within(mass_g)
    return display.said(counts if display.grams(counts) >= mass_g else counts + display.division)
