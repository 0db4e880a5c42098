"""The steps that keep people whole: each is confirmed by a named person, and no shop can leave one out.

Each names its source. The words defer to the supplier's safety data sheet.
"""

from calc.entry.language import tr
from calc.steps.keys import DISSOLVE
from calc.steps.step import WeighStep, confirm
from calc.tables.safety import figure


def lye_wear() -> str:
    """Common practice, made stricter where a splash can reach the eyes: row draw of shared/safety/equipment.csv."""
    return tr("Gloves on, goggles and face shield down, head to the side.")


def batter_wear() -> str:
    """What stays on while the batter is raw."""
    return tr("Gloves and goggles stay on: fresh batter burns.")


def drips() -> str:
    """When not to open the valve."""
    return tr("Stop if the hose or valve drips.")


def splash() -> str:
    """Row flush_minutes of shared/safety/values.csv: the longer of the published times."""
    return tr("Lye on skin or in eyes: rinse at once, at least {minutes} minutes, call for help.", minutes=figure("flush_minutes"))


def boiling() -> str:
    """When no more caustic goes in."""
    return tr("Stop adding if it boils, spits or cakes: step back and keep the air moving.")


def sheet_decides() -> str:
    """Who has the last word."""
    return tr("If the supplier's safety data sheet asks for more, do more.")


def safety_steps(vessel: str, *, solid: bool) -> tuple[WeighStep, ...]:
    """Protection, eyewash and vessel, before anything is weighed. solid: caustic is weighed and dissolved here."""
    wear = tr("Goggles and face shield, long chemical gloves, apron, closed shoes.")
    dust = tr("No draft on the caustic; don't breathe its dust.") if solid else ""
    clean = tr("{vessel} and the lye pail", vessel=vessel) if solid else vessel
    return (
        # 29 CFR 1910.132(d), .133, .138; P280 and P260 of suppliers' safety data sheets.
        confirm(
            "check:protect",
            tr("Put on protection"),
            " ".join(filter(None, (wear, dust, sheet_decides()))),
            safety=True,
            stop=tr("Stop if anything is missing or damaged."),
        ),
        # 29 CFR 1910.151(c); figures of ANSI/ISEA Z358.1 in shared/safety/values.csv. Somebody within call: common practice, no source.
        confirm(
            "check:eyewash",
            tr("Check the eyewash and shower"),
            tr(
                "Reached in {seconds} seconds on a clear path, water lukewarm, run within {days} days. Somebody is within call.",
                seconds=figure("eyewash_reach_seconds"),
                days=figure("eyewash_weekly_days"),
            ),
            safety=True,
            stop=tr("Stop if any of this isn't so."),
        ),
        # Rows of shared/safety/materials.csv: with lye aluminium, zinc and tin give hydrogen (producers' sheets on caustic soda).
        confirm(
            "check:vessel",
            tr("Check the vessel"),
            tr(
                "{vessel}: clean, dry and empty, stainless steel or a plastic made for hot lye. Never aluminum, zinc, tin, "
                "brass or copper.",
                vessel=clean,
            ),
            safety=True,
            stop=tr("Stop if it's another vessel or another metal."),
        ),
    )


def dissolve() -> WeighStep:
    """Caustic into the water: ICSC 0360, suppliers' safety data sheets; 29 CFR 1910.1200(f)(8)."""
    return confirm(
        DISSOLVE,
        tr("Caustic into the water"),
        tr(
            "Never water onto caustic. Add a little at a time, stir until clear, wait. It gets scalding hot. "
            "Label and cover the pail. {data_sheet}",
            data_sheet=sheet_decides(),
        ),
        safety=True,
        stop=boiling(),
    )
