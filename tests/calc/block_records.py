"""A block to weigh, made by hand from plain numbers, and its events: no part of the sheet's own reckoning is in it."""

import json
from dataclasses import asdict

from calc.block.recovery import recovery
from calc.scales.display import display_of
from calc.steps.step import Band, OnScale, ReadOn, Said, Weighed, confirm, weigh

FLOOR = {"name": "Floor", "capacity_g": 150_000.0, "division_g": 20.0, "reads_in": "kg", "accuracy_class": "III"}
BENCH = {"name": "Bench", "capacity_g": 6_000.0, "division_g": 1.0, "reads_in": "g", "accuracy_class": "III"}
CARRIES_G = {scale["name"]: scale["capacity_g"] for scale in (FLOOR, BENCH)}

# The example block of physics_check_values.csv: middles and half ranges of three oils, 33 % lye.
EXAMPLE_OILS = (("olive", 15_740.0, 190.0, 6.0), ("palm", 10_500.0, 199.5, 9.5), ("coconut", 8_740.0, 256.5, 8.5))
STRENGTH_HALF_WIDTHS = (0.00097, 0.00062, 0.00097)
# KOH and NaOH by the atomic weights of CIAAW 2021, abridged (K, Na, O, H): rounded otherwise, a sheet and what is reckoned
# anew for it part by 0.04 g in 14 kg of lye, and fall on two sides of half a gram.
R = (39.0983 + 15.999 + 1.008) / (22.98976928 + 15.999 + 1.008)


def record(
    oils=EXAMPLE_OILS, *, superfat=0.05, strength=0.33, hold_back=0.0, tares=True, height_mm=215.0, vessel_ml=80_000.0
):
    """An issued record as far as a block is weighed by it; lye in one pour or short and top-up.

    Of the mould's 215 mm 5 stay free (common practice, no source): 210 are left.
    """
    exact_g = (1.0 - superfat) * sum(grams * sv for _, grams, sv, _ in oils) / 1000.0 / R / strength
    floor, bench = display_of(20.0, "kg"), display_of(1.0, "g")
    lye_g = floor.grams(floor.counts(exact_g))
    steps = [confirm("check:tare-oils", "Tare", "Tare.")] if tares else []
    pours, running_g = [], 11_400.0

    def step(key, title, grams, allowed_g, pour, display=floor, scale="Floor", vessel=True, twice=False, whole_g=None):
        nonlocal running_g
        made = weigh(
            key,
            Said(title=title, how="Pour."),
            Weighed(grams=grams, pour=pour, twice=twice),
            ReadOn(scale, display, CARRIES_G[scale]),
            Band(allowed_g=allowed_g, short_of_g=whole_g),
            OnScale(grams=running_g, tared=tares) if vessel else None,
        )
        running_g += grams
        return made

    for n, (name, grams, _, _) in enumerate(oils):
        pours.append(_pour(f"oil:{n}", name, grams, grams))
        steps.append(step(f"oil:{n}", f"Pour {name}", grams, 0.0025 * grams, f"oil:{n}"))
    pours.append(_pour("lye:naoh", "Lye", exact_g, lye_g))
    if hold_back:
        short_g = floor.grams(floor.counts_within((1.0 - hold_back) * lye_g))
        allowed_g = (lye_g - short_g) / 2.0
        steps.append(
            step("lye:naoh:short", "Pour lye", short_g, allowed_g, "lye:naoh", twice=True, whole_g=lye_g)
        )
        steps.append(
            step("lye:naoh:top-up", "Top up", exact_g - short_g, 8.0, "lye:naoh", bench, "Bench", False, True)
        )
    else:
        steps.append(step("lye:naoh", "Pour lye", lye_g, 0.0025 * lye_g, "lye:naoh", twice=True))
    steps.append(confirm("pour", "Pour into the mold", "Into the mold."))
    return json.loads(json.dumps({
        "code": "QM-261125-1", "blocks": 1, "superfat_stated_fraction": superfat,
        "superfat": {"value": superfat, "low": superfat - 0.03, "high": superfat + 0.03},
        "mould": {"name": "Block", "length_mm": 600.0, "width_mm": 400.0, "height_mm": height_mm,
                  "fill_height_mm": 200.0},
        "vessel": {"name": "Pot", "capacity_ml": vessel_ml, "tare_g": 11_400.0},
        "scales": [FLOOR, BENCH], "inputs": {"shop": {"shop": {"tolerance_scheme": "R76"}}},
        "pours": pours, "steps": [asdict(s) for s in steps],
        "chemistry": {
            "oils": [{"pour": f"oil:{n}", "name": name, "used": sv, "low": sv - half, "high": sv + half,
                      "density_g_per_ml": 0.9097} for n, (name, _, sv, half) in enumerate(oils)],
            "alkalis": [{"pour": "lye:naoh", "name": "LYE", "alkali": "naoh", "hydroxide_fraction": strength,
                         "relative": [*([f"strength {n}", half / 0.33] for n, half in enumerate(STRENGTH_HALF_WIDTHS)), ["purity", 0.005]]}],
            "acids": [], "lye_density_g_per_ml": 1.3478, "lye_strength_fraction": strength,
            "other_density_g_per_ml": 1.0,
        },
    }))  # fmt: skip


def _pour(key, name, exact_g, target_g):
    return {
        "key": key, "name": name, "phase": "vessel", "lot": f"LOT-{key}", "exact_g": exact_g, "target_g": target_g,
        "scale": "Floor", "unit": "kg", "division_g": 20.0, "limit_g": 40.0, "in_vessel": True, "running_g": None,
    }  # fmt: skip


def event(number, kind, **fields):
    """One stored event; number orders them."""
    at = f"2026-11-25T09:{number // 60:02}:{number % 60:02}"
    return {"id": f"e{number:04}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": kind, "person": "Q", **fields}


def weighed(number, step, reading, **fields):
    """A reading as the display shows it ("16.34"), in the step's own unit."""
    asked = {part: step[part] for part in ("target", "low", "high", "decimals", "unit", "division")}
    return event(
        number, "weighed", step=step["key"], reading=reading, unit=step["unit"], mode="net", question=None,
        lot=step["lot"], asked=asked,
    ) | fields  # fmt: skip


def weigh_through(made, upto, readings=None):
    """Events of all steps up to one, at their targets but for the readings given."""
    events = []
    for number, step in enumerate(made["steps"]):
        if step["kind"] == "weigh":
            events.append(weighed(number, step, (readings or {}).get(step["key"], step["target_text"])))
        else:
            events.append(event(number, "checked", step=step["key"]))
        if step["key"] == upto:
            break
    return events


def choices(block, key):
    """The ways on after a reading outside its band."""
    return recovery(block, key).choices


def meant_g(made, choice, pour):
    """What the displays show of a pour in all once a way on is taken [g]; 1 kg = 1000 g."""
    steps = [choice.replaced.get(step["key"], step) for step in made["steps"]]
    grams_of = {"g": 1.0, "kg": 1000.0}
    return sum(step["target"] / 10 ** step["decimals"] * grams_of[step["unit"]] for step in steps if step["pour"] == pour)
