"""A workshop by chance: raw events of some hundred batches, and a naive search through them.

The search goes through every weighing again for every question and knows nothing of graphs: it is what the trace is held against.
"""

import random
from collections import defaultdict
from datetime import UTC, datetime, timedelta

START = datetime(2025, 1, 6, 8, tzinfo=UTC)
TANK_LYE = "LYE-TANK"
MIXED = ", "


def shop(seed, batches=150):
    """Sheets with their planned lots, weighings, what was told of tanks, packed lots; in the order of time."""
    chance = random.Random(seed)
    clock = [START]

    def now():
        clock[0] += timedelta(minutes=chance.randint(1, 40))
        return clock[0].isoformat(timespec="milliseconds").replace("+00:00", "Z")

    made = {"sheets": [], "weighed": [], "tanks": [], "packed": [], "release": [], "counted": {}}
    oils = [f"OIL-{n:03}" for n in range(18)]
    soda = [f"SODA-{n}" for n in range(6)]
    scents = [f"SCENT-{n}" for n in range(7)]
    outlets = [f"outlet-{n}" for n in range(9)]
    number = [0]

    def event(kind, subject, **fields):
        number[0] += 1
        return {"id": f"x{number[0]:06}", "at": (at := now()), "local": at[:19] + "+00:00", "kind": kind, "subject": subject, "person": "Q", **fields}

    def part(lot, alkali=None):
        return {"name": lot, "lot": lot, "grams": 1000.0, "alkali": alkali}

    def load(tank):
        if tank == "oil":
            names = chance.sample(oils, 3)
            made["tanks"].append(event("tank_loaded", "contents:oil", parts=[part(name) for name in names], formulas=["f-blend"]))
        elif tank == "pail":
            made["tanks"].append(event("tank_loaded", "contents:pail", parts=[part(chance.choice(soda), "naoh")], as_lot="LYE-PAIL"))
        else:
            lot = chance.choice([*soda, "LYE-PAIL"])
            made["tanks"].append(event("tank_loaded", "contents:lye", parts=[part(lot, "naoh"), {"name": "Water", "grams": 900.0}], as_lot=TANK_LYE))

    # The oils' tank held lye before.
    made["tanks"].append(event("tank_loaded", "contents:oil", parts=[part(chance.choice(soda), "naoh")], as_lot="LYE-OLD"))
    made["tanks"].append(event("tank_emptied", "contents:oil"))
    for tank in ("oil", "pail", "lye"):
        load(tank)
    cut = []
    for n in range(batches):
        if chance.random() < 0.25:
            load(chance.choice(("oil", "pail", "lye")))
        if chance.random() < 0.06:
            made["tanks"].append(event("tank_emptied", f"contents:{chance.choice(('oil', 'pail', 'lye'))}"))
        if chance.random() < 0.04 and made["tanks"]:
            taken = chance.choice(made["tanks"])
            if taken["kind"] != "tank_taken_back":
                made["tanks"].append(event("tank_taken_back", taken["subject"], takes=taken["id"]))
        code, blended = f"B-{n:03}", chance.random() < 0.3
        lots = {"oil:0": chance.choice(oils), "oil:1": chance.choice(oils), "lye:naoh": chance.choice([TANK_LYE, TANK_LYE, *soda]), "scent": chance.choice(scents)}
        if chance.random() < 0.4:
            # A mix: a sheet names its lots in one line.
            lots["scent"] = MIXED.join(chance.sample(scents, 2))
        if cut and chance.random() < 0.2:
            lots["soap:0"] = chance.choice(cut)
        blocks = chance.randint(1, 3)
        made["sheets"].append({"code": code, "formula": "f-blend" if blended else "f-plain", "lots": lots, "blocks": blocks})
        begun = blocks if chance.random() < 0.95 else 0
        for block in range(1, begun + 1):
            for pour, planned in lots.items():
                # Now and then somebody takes another lot than the sheet has, and sometimes halfway through.
                real = [chance.choice(oils if pour.startswith("oil") else scents)] if chance.random() < 0.1 and pour[:3] in ("oil", "sce") else [planned]
                if chance.random() < 0.05 and pour.startswith("oil"):
                    real.append(chance.choice(oils))
                if blended and pour == "oil:1":
                    continue
                for each in real:
                    # Now and then it's typed at the scale, in small letters.
                    each = each.lower() if chance.random() < 0.05 and pour.startswith("oil") else each
                    step, lot = ("oil:blend", None) if blended and pour == "oil:0" else (pour, each)
                    made["weighed"].append(event("weighed", f"block:{code}/{block}", step=step, lot=lot))
            made["counted"][f"{code}/{block}"] = bars = chance.randint(180, 260)
            cut.append(f"{code}/{block}")
            if chance.random() < 0.2:
                made["release"].append(event("sample_kept", f"release:{code}/{block}", bars=2))
                bars -= 2
            while bars > 0 and chance.random() < 0.7:
                some = chance.randint(1, bars)
                bars -= some
                _pack(made, event, chance, code, block, some, outlets)
    return made


def _pack(made, event, chance, code, block, bars, outlets):
    id_ = f"p{len(made['packed']):05}"
    parts = [{"code": code, "block": block, "bars": bars}]
    made["packed"].append(event("packed", f"packed:{id_}", code=f"{code}-{id_}", parts=parts))
    packing = made["packed"][-1]
    left, there = bars, defaultdict(int)
    for _ in range(chance.randint(0, 3)):
        if left < 1:
            break
        outlet, some = chance.choice(outlets), chance.randint(1, left)
        sent = event("sent", f"packed:{id_}", outlet=outlet, outlet_name=outlet.upper(), bars=some)
        made["packed"].append(sent)
        if chance.random() < 0.05:
            made["packed"].append(event("packed_taken_back", f"packed:{id_}", takes=sent["id"], reason="wrong"))
            continue
        left -= some
        there[outlet] += some
        if chance.random() < 0.2:
            back = chance.randint(1, there[outlet])
            made["packed"].append(event("came_back", f"packed:{id_}", outlet=outlet, bars=back))
            left, there[outlet] = left + back, there[outlet] - back
            if chance.random() < 0.2:
                # Another phone has told of the same return.
                made["packed"].append(event("came_back", f"packed:{id_}", outlet=outlet, bars=back))
                left, there[outlet] = left + min(back, there[outlet]), max(there[outlet] - back, 0)
    if chance.random() < 0.1:
        # On a phone that may know nothing of what was sent.
        made["packed"].append(event("packed_taken_back", f"packed:{id_}", takes=packing["id"], reason="wrong"))


def lots_named(line):
    """The lots that a line of a sheet or a weighing names, as deliveries are written on their labels."""
    return [lot if "/" in lot else lot.upper() for lot in line.split(MIXED) if lot]


def entries(made):
    """What the batch log keeps of each batch: its blocks, planned lots, and every weighing's own lots."""
    rows = []
    for sheet in made["sheets"]:
        code = sheet["code"]
        own = [each for each in made["weighed"] if each["subject"].startswith(f"block:{code}/")]
        drawn = [
            {"n": int(each["subject"].rsplit("/", 1)[1]), "lot": lot, "at": each["at"]} | ({"soap": True} if each["step"].startswith("soap") else {})
            for each in own
            for lot in (lots_named(each["lot"]) if each["lot"] else [""])
        ]
        parts = [
            {"n": n, "state": "curing" if f"{code}/{n}" in made["counted"] else "issued", "bars": made["counted"].get(f"{code}/{n}"), "poured_on": ""}
            for n in range(1, sheet["blocks"] + 1)
        ]
        rows.append({"code": code, "formula": sheet["formula"], "formulaName": "Soap", "local": "2025-01-06T08:00:00+00:00", "parts": parts,
                     "lots": [*dict.fromkeys(lot for line in [*sheet["lots"].values(), *(each["lot"] for each in own if each["lot"])] for lot in lots_named(line))], "drawn": drawn, "used": []})
    return rows


def in_tank(made, tank, at):
    """Every lot that was put into a tank since it was last empty, by an instant; through lye that another tank was called by too."""
    taken = {each["takes"] for each in made["tanks"] if each["kind"] == "tank_taken_back"}
    told = [each for each in made["tanks"] if each["subject"] == f"contents:{tank}" and each["at"] < at and each["id"] not in taken]
    empties = [each["at"] for each in told if each["kind"] == "tank_emptied"]
    loads = [each for each in told if each["kind"] == "tank_loaded" and each["at"] > max(empties, default="")]
    found = set()
    for each in loads:
        for part in each["parts"]:
            if part.get("lot"):
                found.add(part["lot"])
                if part["lot"] == "LYE-PAIL":
                    found |= in_tank(made, "pail", each["at"])
    return found


def lots_in(made, block):
    """Every lot in a block, by asking each of its weighings anew."""
    found = set()
    for each in made["weighed"]:
        if each["subject"] != f"block:{block}":
            continue
        if each["step"] == "oil:blend":
            known = in_tank(made, "oil", each["at"])
            sheet = next(sheet for sheet in made["sheets"] if sheet["code"] == block.rsplit("/", 1)[0])
            found |= known or {lot for lot in planned_and_weighed(made, sheet) if "/" not in lot}
            continue
        found.update(lots_named(each["lot"]))
        if each["lot"] == TANK_LYE:
            found |= in_tank(made, "lye", each["at"])
        if "/" in each["lot"]:
            found |= lots_in(made, each["lot"])
    return found


def planned_and_weighed(made, sheet):
    """What stands for a blend out of a tank of which nothing is known: the lots of the sheet, and those weighed by it."""
    lines = [*sheet["lots"].values(), *(each["lot"] for each in made["weighed"] if each["lot"] and each["subject"].startswith(f"block:{sheet['code']}/"))]
    return {lot for line in lines for lot in lots_named(line)}


def raw(made):
    """Every event as a phone stores it: sheets as they are issued, and all that came after."""
    issued = []
    for n, sheet in enumerate(made["sheets"]):
        pours = [{"key": key, "kind": {"oil": "oil", "lye": "alkali", "sce": "scent", "soa": "soap"}[key[:3]], "lot": lot} for key, lot in sheet["lots"].items()]
        scents = sheet["lots"]["scent"].split(MIXED)
        parts = [{"name": lot, "lot": lot, "share_fraction": 1.0 / len(scents)} for lot in scents]
        issued.append({"id": f"i{n:05}", "at": "2025-01-06T07:00:00.000Z", "local": "2025-01-06T07:00:00+00:00", "kind": "issued", "subject": f"batch:{sheet['code']}", "code": sheet["code"],
                       "blocks": sheet["blocks"], "formula": {"id": sheet["formula"], "event": "e", "name": "Soap"}, "pours": pours, "scent": {"parts": parts}})  # fmt: skip
    return [*issued, *made["weighed"], *made["release"]]


def recall(made, lot):
    """By outlet and packed lot the bars to get back, what is still here packed, and the blocks: by going through everything.

    Soap set aside is named by its block, which is reached itself.
    """
    reached = {block for block in made["counted"] if block == lot or lot in lots_in(made, block)}
    taken = {each["takes"] for each in made["packed"] if each["kind"] == "packed_taken_back"}
    out, here = defaultdict(int), {}
    for each in made["packed"]:
        if each["kind"] != "packed" or not any(f"{part['code']}/{part['block']}" in reached for part in each["parts"]):
            continue
        moves = [move for move in made["packed"] if move["subject"] == each["subject"] and move["id"] not in taken and move["kind"] in ("sent", "came_back")]
        if each["id"] in taken and not moves:
            continue
        left = sum(part["bars"] for part in each["parts"])
        for move in moves:
            # No more can come back than is there.
            there = out[move["outlet"], each["code"]]
            bars = move["bars"] if move["kind"] == "sent" else -min(move["bars"], there)
            out[move["outlet"], each["code"]] += bars
            left -= bars
        here[each["code"]] = left
    return reached, {key: bars for key, bars in out.items() if bars}, {code: bars for code, bars in here.items() if bars}
