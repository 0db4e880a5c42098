"""A person at the scale, and a vessel that keeps what was truly poured into it, for blocks made at random.

The page's part (what the display is to show without tare) is written out here once more; nothing of the reckoning is.
"""

import copy
import json
from decimal import Decimal

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state
from answers.door import answer
from answers.request import Request
from answers.state import State
from answers.tasks.at_the_scale import at_the_scale
from calc.block.events import fold

# KOH and NaOH by the atomic weights of CIAAW 2021, abridged (K, Na, O, H).
R = (39.0983 + 15.999 + 1.008) / (22.98976928 + 15.999 + 1.008)
GRAMS = {"g": 1.0, "kg": 1000.0, "lb": 453.59237, "oz": 28.349523125}  # NIST SP 811 Appendix B.8, exact
DISPLAY_GOES_ON = ("on:", "out:")  # the display is not tared before these; its reading is of both
POTASH = {
    "code": "KOL-0007", "alkali": "koh", "form": "premixed", "strength_fraction": "40", "strength_fraction.unit": "%",
    "plus_minus_fraction": "0.3", "plus_minus_fraction.unit": "%",
}  # fmt: skip
POUNDS = {"division_g": "0.05", "division_g.unit": "lb", "capacity_g": "330", "capacity_g.unit": "lb", "reads_in": "lb"}
OUNCES = {"division_g": "0.05", "division_g.unit": "oz", "capacity_g": "220", "capacity_g.unit": "oz", "reads_in": "oz"}


def percent(name, value):
    return {name: str(value), f"{name}.unit": "%"}


def issued(floor=None, scales=None, formula=None, order=None):
    """The record of the demo's plain soap with other ways of the shop, scales by place, formula and order."""
    state = copy.deepcopy(demo_state())
    state["floor"][0]["values"].update(floor or {})
    state["alkali_lot"].append({"id": "a-kol", "values": POTASH})
    for place, values in (scales or {}).items():
        state["scale"][place]["values"].update(values)
    next(each for each in state["formula"] if each["id"] == "f-marsh-plain")["values"].update(formula or {})
    values = BATCH_VALUES | (order or {}) | {"issued_by": "Q", "reason": "a test"}
    reply = json.loads(answer(json.dumps({"task": "issue_batch", "values": values, "state": state, "now": DEMO_NOW})))
    assert reply.get("ok"), reply
    return {key: part for key, part in reply["record"].items() if key != "html"}


def at_random(chance):
    """A record: how it is tared, poured and held back, in which units, of which alkali, oils and additives."""
    floor = {
        "tare": chance.choice(["each", "never"]),
        "oils": chance.choice(["each", "each", "blend"]),
        "scent": chance.choice(["before", "trace"]),
        "top_up": chance.choice(["jug", "vessel"]),
        **percent("hold_back_fraction", chance.choice([0, 5, 10])),
    }
    scales = chance.choice([{}, {}, {0: POUNDS, 1: OUNCES}])
    olive = chance.randint(20, 60)
    palm = chance.randint(10, 90 - olive)
    shares = (olive, palm, 100 - olive - palm)
    formula = percent("superfat_fraction", chance.choice([0, 1, 2, 3, 5, 6, 8, 12]))
    for n, share in enumerate(shares):
        formula |= percent(f"oils.{n}.share_fraction", share)
    formula |= {"oils.2.added": chance.choice(["main", "main", "late"])}
    formula |= percent("scent_fraction", chance.choice([0, 2.5]))
    kinds = chance.choice([(), ("citric_anhydrous",), ("honey",), ("honey", "citric_anhydrous")])
    for n, kind in enumerate(kinds):
        formula |= {f"additives.{n}.kind": kind, **percent(f"additives.{n}.share_fraction", 1)}
    alkali, lots = chance.choice([
        ("naoh", {}), ("naoh", {}), ("naoh", {"naoh_lot": "a-naoh"}), ("both", {"koh_lot": "a-kol"}),
        ("both", {"koh_lot": "a-kol"}), ("koh", {"koh_lot": "a-kol"}),
    ])  # fmt: skip
    formula |= {"alkali": alkali, **(percent("koh_share_fraction", chance.choice([10, 40])) if alkali == "both" else {})}
    formula |= percent("lye_strength_fraction", chance.choice([28, 32]))
    return issued(floor, scales, formula, lots)


class Hand:
    """Does what the page asks for, or something else, and knows what is really in the vessel."""

    def __init__(self, record, events=()):
        self.record = record
        self.events = list(events)
        # What stands in the vessel, in the lye pail and covered in its cup [g by pour], and what the display showed at each
        # weighing [g].
        self.vessel, self.pail, self.cup, self.shown = {}, {}, {}, {}
        self.gross = not any(step["key"].startswith("check:tare") for step in record["steps"])
        self.misread = {}  # id of a weighing typed wrongly -> what stood there in truth

    def as_read(self):
        """Another person, who has poured just what was read, whatever was misread."""
        other = Hand(self.record, self.events)
        got, other.shown = recounted(self)
        made = any(event.get("step") == "lye:made" for event in self.events)
        for pour, grams in got.items():
            place = other.vessel if made or phase(self.record, pour) != "lye" else other.pail
            (other.cup if self._waits(pour) else place)[pour] = grams
        return other

    def add(self, kind, **fields):
        number = len(self.events)
        at = f"2026-11-25T{9 + number // 60:02}:{number % 60:02}:00"
        event = {"id": f"e{number:03}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": kind, "person": "Q", **fields}
        self.events.append(event)
        return event

    def ask(self):
        """The door's answer about the block as it stands."""
        state = State(demo_state() | {"record": self.record, "events": self.events})
        return at_the_scale(Request({"batch": self.record["code"], "block": "1"}, state, DEMO_NOW)).record

    def step(self, reply):
        """The step in hand as the page shows it; None at the end."""
        found = fold(self.record["steps"], self.events)
        if found.current is None:
            return None
        step = reply["replaced"].get(found.current) or next(s for s in found.steps if s["key"] == found.current)
        return self._on_display(found, step)

    def to_weigh(self, step):
        """What a weighing is meant to add to the display [counts]. On one that is never tared, what stood there before is taken off."""
        frozen = next(s for s in fold(self.record["steps"], self.events).steps if s["key"] == step["key"])
        return self.ask()["replaced"].get(step["key"], frozen)["target"]

    def poured(self):
        """What is truly in the vessel [g by pour]. What is back in its jug, to be weighed anew, is not."""
        found = fold(self.record["steps"], self.events)
        total = dict(self.vessel)
        for pour, grams in (*self.pail.items(), *self.cup.items()):
            total[pour] = total.get(pour, 0.0) + grams
        for step in found.steps:
            if step["key"] in found.done and out_of_its_jug(found, step["key"]) and f"again:{step['key']}" not in found.done:
                for pour, share in shares(self.record, step, {}).items():
                    total[pour] -= share * self.shown[step["key"]]
        return total

    def state(self):
        """What the page is asked about the block as it stands, and what it is to answer."""
        found = fold(self.record["steps"], self.events)
        reply = self.ask()
        current = found.current if reply["pending"] is None else None
        step = reply["replaced"].get(current) or next((s for s in found.steps if s["key"] == current), None)
        shows = step and self._on_display(found, step)
        return {
            "steps": self.record["steps"], "events": list(self.events), "shown": step,
            "expected": {
                "keys": [s["key"] for s in found.steps], "done": sorted(found.done), "current": found.current,
                "pending": found.pending, "taken_in": True, "shows": shows and [shows["target"], shows["low"], shows["high"]],
            },
        }  # fmt: skip

    def _on_display(self, found, step):
        if step["kind"] != "weigh" or step["gross_text"] is None or not self.gross:
            return step
        by_key = {each["key"]: each for each in found.steps}
        before = [
            event for event in self.events
            if event["kind"] == "weighed" and event["mode"] == "gross" and event["step"] in by_key
            and first_of(event["step"]) != first_of(step["key"])
        ]  # fmt: skip
        on = count(step["gross_text"], step) - step["target"]
        if before:
            last = before[-1]
            on += count(self.reading(last), step) - count(by_key[last["step"]]["gross_text"], step)
        return step | {part: step[part] + on for part in ("target", "low", "high")}

    def reading(self, event):
        return ([e["reading"] for e in self.events if e.get("corrects") == event["id"]] or [event["reading"]])[-1]

    def do(self, step, off=0, typed_off=0):
        """Does a step; a weighing by so many counts beside its target, and typed by so many beside what it shows."""
        if step["kind"] != "weigh":
            planned = next(s for s in fold(self.record["steps"], self.events).steps if s["key"] == step["key"])
            if planned["kind"] == "weigh":
                return self.add("checked", step=step["key"], note="nothing-left")
            if step["key"] == "lye:made":
                self._tip(self.pail)
            if step["key"].endswith(":in"):
                self._tip(self.cup)
            kind = {"timer": "timed"}.get(step["kind"], "checked")
            more = {"reading": "36.0", "unit": "degC"} if step["kind"] == "temperature" else {}
            more |= {"action": "ended", "seconds": step["seconds"]} if kind == "timed" else {}
            return self.add(kind, step=step["key"], **more)
        gross = self.gross and step["gross_text"] is not None
        shows = max(step["target"] + off, self._there(step, gross))
        self._pour(step, shows * GRAMS[step["unit"]] / 10 ** step["decimals"], gross)
        asked = {part: step[part] for part in ("target", "low", "high", "decimals", "unit", "division")}
        event = self.add("weighed", step=step["key"], reading=digits(shows + typed_off, step), unit=step["unit"], lot=None,
                         question=None, mode="gross" if gross else "net", asked=asked)  # fmt: skip
        if typed_off:
            self.misread[event["id"]] = digits(shows, step)
        return event

    def _there(self, step, gross):
        """What the display shows before the pour [counts]: nobody pours down to a target that a misreading has set."""
        if step["key"].startswith("out:"):
            return 0
        goes_on = step["key"].startswith("on:")
        there_g = self.shown.get(step["key"].removeprefix("on:"), 0.0) if goes_on else 0.0
        if gross:
            there_g = self.record["vessel"]["tare_g"] + sum(self.vessel.values())
        return -int(-there_g / GRAMS[step["unit"]] * 10 ** step["decimals"] // step["division"]) * step["division"]

    def _pour(self, step, shown_g, gross):
        key = step["key"]
        prefix = next((each for each in ("on:", "out:", "again:") if key.startswith(each)), "")
        before = key.removeprefix(prefix)
        if prefix == "again:" and before in self.shown:
            self._put(step, -self.shown[before])
        if gross:
            more_g = shown_g - self.record["vessel"]["tare_g"] - sum(self.vessel.values())
        else:
            more_g = shown_g - (self.shown[before] if prefix in DISPLAY_GOES_ON else 0.0)
        assert more_g < 0.0 if prefix == "out:" else more_g > -1e-6, (key, more_g)
        self.shown[key] = shown_g
        self._put(step, more_g)

    def _put(self, step, grams):
        place = self.pail if step["pour"] and phase(self.record, step["pour"]) == "lye" else self.vessel
        place = self.cup if self._waits(step["pour"]) else place
        for pour, share in shares(self.record, step, self.vessel).items():
            place[pour] = place.get(pour, 0.0) + share * grams

    def _waits(self, pour):
        """Whether a pour stands by in its cup: it goes in by a step of its own, which is not done yet."""
        goes_in = any(step["key"] == f"{pour}:in" for step in self.record["steps"])
        return goes_in and not any(event.get("step") == f"{pour}:in" for event in self.events)

    def _tip(self, pail):
        for pour, grams in pail.items():
            self.vessel[pour] = self.vessel.get(pour, 0.0) + grams
        pail.clear()

    def decide(self, key, name, choice):
        self.add("decided", step=key, choice=name, reason="a test", **{part: choice[part] for part in ("text", "steps", "replaced")})

    def answer(self, asked, choice):
        replaced = asked["replaced"] if choice == "with-oils" else {}
        self.add("decided", step=asked["key"], choice=choice, reason="", text=asked["recorded"][choice], steps=[], replaced=replaced)

    def correct(self, event):
        self.add("corrected", corrects=event["id"], reading=self.misread.pop(event["id"]), unit=event["unit"], reason="misread")

    def to_the_end(self):
        """All that is left, each just as it is asked for."""
        while (step := self.step(reply := self.ask())) is not None:
            assert reply["pending"] is None, reply["pending"]
            assert len(self.events) < 150, step["key"]
            if reply["asked"]:
                self.answer(reply["asked"], "as-planned")
            else:
                self.do(step)


def first_of(key):
    """The pour that a step on the same display began with."""
    for prefix in DISPLAY_GOES_ON:
        if key.startswith(prefix):
            return first_of(key.removeprefix(prefix))
    return key


def phase(record, pour):
    return next(row["phase"] for row in record["pours"] if row["key"] == pour)


def shares(record, step, vessel):
    """What a weighing consists of, by pour. A blend is of all oils of the vessel; what is ladled out is of all that is in it."""
    if step["key"].startswith("out:"):
        return {pour: grams / sum(vessel.values()) for pour, grams in vessel.items()}
    if step["pour"] is not None:
        return {step["pour"]: 1.0}
    planned = {row["key"]: row["target_g"] for row in record["pours"] if row["key"].startswith("oil:") and row["phase"] == "vessel"}
    return {pour: grams / sum(planned.values()) for pour, grams in planned.items()}


def recounted(hand):
    """Grams by pour from the readings alone, in the order of time, and what the display showed at each weighing [g]."""
    record, got, shown, on_g = hand.record, {}, {}, hand.record["vessel"]["tare_g"]
    found = fold(record["steps"], hand.events)
    steps = {step["key"]: step for step in found.steps}
    ahead = {key.removesuffix(":in") for key in steps if key.endswith(":in")}
    for event in hand.events:
        if event["kind"] == "checked" and event["step"].endswith(":in"):
            pour = event["step"].removesuffix(":in")
            ahead.discard(pour)
            on_g += got.get(pour, 0.0)
        if event["kind"] == "checked" and event["step"] == "lye:made":
            on_g += sum(grams for pour, grams in got.items() if phase(record, pour) == "lye")
        if event["kind"] != "weighed" or out_of_its_jug(found, event["step"]):
            continue
        key, step = event["step"], steps[event["step"]]
        g = float(hand.reading(event)) * GRAMS[event["unit"]]
        base = shown.get(key.partition(":")[2], 0.0) if key.startswith(DISPLAY_GOES_ON) else 0.0
        more_g = g - on_g if event["mode"] == "gross" else g - base
        shown[key] = g
        in_vessel = {pour: grams for pour, grams in got.items() if phase(record, pour) != "lye" or "lye:made" in shown}
        in_vessel = {pour: grams for pour, grams in in_vessel.items() if pour not in ahead}
        for pour, share in shares(record, step, in_vessel).items():
            got[pour] = got.get(pour, 0.0) + share * more_g
        if not (step["pour"] and (phase(record, step["pour"]) == "lye" or step["pour"] in ahead)):
            on_g += more_g
    return got, shown


def out_of_its_jug(found, key):
    """Whether a weighing counts nowhere. It was decided to weigh it anew, and nobody was asked about it since."""
    again = f"again:{key}"
    return any(step["key"] == again for step in found.steps) and (found.pending != key or again in found.done)


def superfat(record, grams):
    """Lye discount from masses [g] by pour, with the values frozen in the record; None without oils or lye."""
    chemistry = record["chemistry"]
    demand = sum(grams.get(oil["pour"], 0.0) * oil["used"] for oil in chemistry["oils"])
    lye = sum(
        1000.0 * grams.get(a["pour"], 0.0) * a["hydroxide_fraction"] * (R if a["alkali"] == "naoh" else 1.0)
        for a in chemistry["alkalis"]
    )
    taken = sum(grams.get(acid["pour"], 0.0) * acid["acid_value"] * acid["strength_fraction"] for acid in chemistry["acids"])
    return 1.0 - (lye - taken) / demand if demand and lye else None


def count(text, step):
    return int(Decimal(text).scaleb(step["decimals"]))


def digits(counts, step):
    return f"{Decimal(counts).scaleb(-step['decimals']):f}"
