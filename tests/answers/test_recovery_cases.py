"""Slips on sheets of many kinds, each way on followed to the end: mass conserved, superfat as promised, no silent overflow.

The recount below is a few lines of its own, from masses and the values frozen in the record.
"""

import copy
import json
import math

import pytest

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state
from answers.door import answer
from calc.block_chemistry import Block, display_of_step
from calc.block_events import fold
from calc.recovery import recovery
from calc.recovery_steps import changed_targets

R = 56.1056 / 39.9971  # molar masses, CIAAW 2021
PREMIXED_POTASH = {
    "code": "KOL-0007", "alkali": "koh", "form": "premixed", "strength_fraction": "40", "strength_fraction.unit": "%",
    "plus_minus_fraction": "0.3", "plus_minus_fraction.unit": "%",
}  # fmt: skip
POUNDS = {"division_g": "0.05", "division_g.unit": "lb", "capacity_g": "330", "capacity_g.unit": "lb", "reads_in": "lb"}
OUNCES = {"division_g": "0.05", "division_g.unit": "oz", "capacity_g": "220", "capacity_g.unit": "oz", "reads_in": "oz"}
LATE_AND_ACID = {
    "oils.2.added": "late", "additives.0.kind": "citric_anhydrous", "additives.0.share_fraction": "1",
    "additives.0.share_fraction.unit": "%",
}  # fmt: skip
BOTH = {"alkali": "both", "koh_share_fraction": "20", "koh_share_fraction.unit": "%"}

# name -> what differs from the demo: the shop's habits, scales by place, the formula, the order
CASES = {
    "as the demo": ({}, {}, {}, {}),
    "never tared": ({"tare": "never"}, {}, {}, {}),
    "one oil tank": ({"oils": "blend"}, {}, {}, {}),
    "no hold-back": ({"hold_back_fraction": "0"}, {}, {}, {}),
    "pounds and ounces": ({}, {0: POUNDS, 1: OUNCES}, {}, {}),
    "late oil and citric acid": ({}, {}, LATE_AND_ACID, {}),
    "solid caustic": ({}, {}, {}, {"naoh_lot": "a-naoh"}),
    "two premixed lyes": ({}, {}, BOTH, {"koh_lot": "a-kol"}),
    "two premixed lyes, never tared": ({"tare": "never"}, {}, BOTH, {"koh_lot": "a-kol"}),
}


def issued(case):
    habits, scales, formula, order = CASES[case]
    state = copy.deepcopy(demo_state())
    state["floor"][0]["values"].update(habits)
    state["alkali_lot"].append({"id": "a-kol", "values": PREMIXED_POTASH})
    for place, values in scales.items():
        state["scale"][place]["values"].update(values)
    next(each for each in state["formula"] if each["id"] == "f-marsh-plain")["values"].update(formula)
    values = BATCH_VALUES | order | {"issued_by": "Q", "reason": "a test"}
    reply = json.loads(answer(json.dumps({"task": "issue_batch", "values": values, "state": state, "now": DEMO_NOW})))
    assert reply.get("ok"), reply
    return {key: part for key, part in reply["record"].items() if key != "html"}


class Story:
    """One block's events, each step done just as it asks."""

    def __init__(self, record, events=()):
        self.record = record
        self.events = list(events)

    def add(self, kind, **fields):
        number = len(self.events)
        at = f"2026-11-25T{9 + number // 60:02}:{number % 60:02}:00"
        self.events.append({"id": f"e{number:03}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": kind, "person": "Q", **fields})

    @property
    def block(self):
        return Block(self.record, self.events)

    def step(self):
        """The step in hand with its live target; None at the end."""
        block = self.block
        key = block.events.current
        if key is None:
            return None
        return changed_targets(block, block.lye_targets()).get(key) or next(s for s in block.events.steps if s["key"] == key)

    def do(self, step, count=None):
        """Does a step, a weighing with another count than its target where one is given."""
        if step["kind"] != "weigh":
            planned = next(s for s in self.block.events.steps if s["key"] == step["key"])
            if planned["kind"] == "weigh":
                self.add("checked", step=step["key"], note="nothing-left")
                return
            kind = {"timer": "timed"}.get(step["kind"], "checked")
            reading = {"reading": "36.0", "unit": "degC"} if step["kind"] == "temperature" else {}
            self.add(kind, step=step["key"], **({"action": "ended", "seconds": step["seconds"]} if kind == "timed" else {}), **reading)
            return
        block, display = self.block, display_of_step(step)
        on = 0 if block.tares or step["gross_text"] is None else display.counts(block.on_scale_g - there_g(block, step))
        asked = {part: step[part] + on for part in ("target", "low", "high")}
        asked |= {part: step[part] for part in ("decimals", "unit", "division")}
        shown = display.text((step["target"] if count is None else count) + on)
        mode = "net" if block.tares or step["gross_text"] is None else "gross"
        self.add("weighed", step=step["key"], reading=shown, unit=step["unit"], lot=None, question=None, mode=mode, asked=asked)

    def to_the_end(self):
        while (step := self.step()) is not None:
            assert len(self.events) < 60, step["key"]
            self.do(step)
            assert self.block.events.pending is None, step["title"]
        return self.block


def there_g(block, step):
    found = block.there(step)
    return 0.0 if found is None else found.g


def superfat(record, grams):
    """Lye discount from masses [g] by pour, with the values frozen in the record."""
    chemistry = record["chemistry"]
    demand = sum(grams.get(oil["pour"], 0.0) * oil["used"] for oil in chemistry["oils"])
    lye = sum(
        1000.0 * grams.get(a["pour"], 0.0) * a["hydroxide_fraction"] * (R if a["alkali"] == "naoh" else 1.0)
        for a in chemistry["alkalis"]
    )
    taken = sum(grams.get(acid["pour"], 0.0) * acid["acid_value"] * acid["strength_fraction"] for acid in chemistry["acids"])
    return 1.0 - (lye - taken) / demand


def slips(record):
    return [step["key"] for step in record["steps"] if step["kind"] == "weigh"]


@pytest.mark.parametrize("times", [0.82, 1.18])
@pytest.mark.parametrize("case", CASES)
def test_every_way_on_ends_as_it_promised(case, times):
    record = issued(case)
    followed = 0
    for key in slips(record):
        story = Story(record)
        while (step := story.step())["key"] != key:
            assert len(story.events) < 60, step["key"]
            story.do(step)
        if step["kind"] != "weigh":
            continue
        count = round(times * step["target"] / step["division"]) * step["division"]
        story.do(step, count)
        if story.block.events.pending is None:
            continue  # a small amount whose band is wider than that
        found = recovery(story.block, key)
        asked = {"task": "at_the_scale", "values": {"batch": record["code"], "block": "1"},
                 "state": demo_state() | {"record": record, "events": story.events}, "now": DEMO_NOW}  # fmt: skip
        reply = json.loads(answer(json.dumps(asked)))
        assert reply.get("ok"), reply
        assert set(reply["record"]["choices"]) == {choice.key for choice in found.choices}
        assert found.choices[-1].key == "stop"
        for choice in found.choices[:-1]:
            stored = reply["record"]["choices"][choice.key]
            after = Story(record, story.events)
            after.add("decided", step=key, choice=choice.key, reason="a test", text=stored["text"], steps=stored["steps"], replaced=stored["replaced"])
            end = after.to_the_end()
            grams = {pour: amount.g for pour, amount in end.weighed.items()}
            said = f"{case}, {key}, {choice.key}"
            # The last lye follows what the displays before it could show: half a division of 20 g each way.
            assert choice.batter_g == pytest.approx(math.fsum(grams.values()), abs=20.0), said
            assert choice.superfat.value == pytest.approx(superfat(record, grams), abs=1e-3), said
            assert end.superfat(end.weighed).low >= -1e-3, said
            aside = [step for step in fold(record["steps"], after.events).steps if step["key"] == "pour" and "keep about" in step["how"]]
            assert bool(aside) == bool(choice.aside_text), said
            for new in (*stored["steps"], *stored["replaced"].values()):
                if new["kind"] == "weigh":
                    assert new["target"] % new["division"] == 0, said
            followed += 1
    assert followed >= 4
