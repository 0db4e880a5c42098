"""The steps that keep people whole: each is confirmed by a named person, and no shop can leave one out.

Sources beside each, by the codes of the safety reference. The words defer to the supplier's safety data sheet.
"""

from calc.weigh_step import WeighStep, confirm

# A4, from common practice made stricter where a splash can reach the eyes: the safety data sheet decides.
LYE_WEAR = "Gloves on, goggles and face shield down, head to the side."
BATTER_WEAR = "Gloves and goggles stay on: fresh batter burns."
DRIPS = "Stop if hose or valve drips. "
# A7: New Jersey fact sheet on sodium hydroxide (30 minutes); ANSI/ISEA Z358.1 has 15: the longer one.
SPLASH = "Lye on skin or in eyes: rinse at once, at least 30 minutes, call for help."
SHEET_DECIDES = "The supplier's safety data sheet decides where it asks for more."


def safety_steps(vessel: str, mould: str, *, solid: bool) -> tuple[WeighStep, ...]:
    """Protection, eyewash and vessel, before anything is weighed. solid: caustic is weighed and dissolved here."""
    dust = " No draught on the caustic; don't breathe its dust." if solid else ""
    pail = " and the lye pail" if solid else ""
    return (
        # A4: 29 CFR 1910.132(d), .133, .138; P280 and P260 of suppliers' safety data sheets.
        confirm(
            "check:protect",
            "Put on protection",
            f"Goggles and face shield, long chemical gloves, apron, closed shoes.{dust} {SHEET_DECIDES}",
            safety=True,
            stop="Stop if anything is missing or damaged.",
        ),
        # A6.1: 29 CFR 1910.151(c); A6.6, A6.8, A6.9: ANSI/ISEA Z358.1. Somebody within call: common practice, no source.
        confirm(
            "check:eyewash",
            "Check eyewash and shower",
            "Reached in 10 seconds with a clear path, water lukewarm, run within 7 days. Somebody is within call.",
            safety=True,
            stop="Stop if one of these is not so.",
        ),
        # A3: with lye aluminium, zinc and tin give hydrogen (producers' sheets on caustic soda).
        confirm(
            "check:vessel",
            "Check the vessel",
            f"{vessel}{pail}: clean, dry and empty, stainless steel or a plastic made for hot lye. "
            f"Never aluminium, zinc, tin, brass or copper. {mould} stands ready.",
            safety=True,
            stop="Stop if it is another vessel or another metal.",
        ),
    )


def dissolve() -> WeighStep:
    """Caustic into the water. A2.1, A2.5, A5.3: ICSC 0360, suppliers' safety data sheets; 29 CFR 1910.1200(f)(8)."""
    return confirm(
        "lye:dissolve",
        "Caustic into the water",
        "Never water onto caustic. Add a little at a time, stir until clear, wait. It gets scalding hot. "
        f"Label and cover the pail. {SHEET_DECIDES}",
        safety=True,
        stop="Stop adding if it boils, spits or cakes: step back and keep the air moving.",
    )
