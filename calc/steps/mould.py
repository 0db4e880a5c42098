"""The mould before the first pour, and the batter into it: how high it stands follows from the amounts."""

from calc.batch.sheet import BatchSheet
from calc.entry.language import tr
from calc.entry.shown import level, weight
from calc.steps.keys import INTO_MOULD, MOULD_READY
from calc.steps.safety import batter_wear
from calc.steps.step import WeighStep, confirm


def mould_ready(sheet: BatchSheet, units: str) -> WeighStep:
    """Lined and where it can stay: once the batter thickens nobody has a hand free for that."""
    return confirm(
        MOULD_READY,
        tr("Get the mold ready"),
        tr(
            "Line {mould}. Set it where the block can stay until it comes out; a heavy one goes on its dolly. {mass} of "
            "batter will fill it to {filled}.",
            mould=sheet.mould.name,
            mass=weight(sheet.batter_g, units),
            filled=level(sheet.fill_height_mm, units),
        ),
    )


def into_mould(sheet: BatchSheet, units: str) -> WeighStep:
    """All of the batter, by the sheet."""
    how = into_mould_words(sheet.mould.name, level(sheet.fill_height_mm, units))
    return confirm(INTO_MOULD, tr("Pour into the mold"), how)


def into_mould_words(mould: str, filled: str) -> str:
    """How it is poured. filled: how high it then stands, "200 mm"."""
    return tr(
        "Into the mold “{mould}”. It should come up to about {filled}. Scrape out the vessel. {wear}",
        mould=mould,
        filled=filled,
        wear=batter_wear(),
    )
