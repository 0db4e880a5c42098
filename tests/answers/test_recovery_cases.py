"""Blocks made at random, looked at after each event. Nothing is lost or doubled, and each way on ends as it promised.

The recount is a few lines of its own, from readings in the order of time and the values frozen in the record; beside it
stands a vessel that keeps what was truly poured.
"""

import json
import math
import random
from pathlib import Path

import pytest
from hand import Hand, at_random, recounted, superfat

from calc.block.chemistry import Block
from calc.block.events import fold
from calc.block.recovery import recovery
from runtime.node import run_node

ROOT = Path(__file__).resolve().parents[2]
BLOCKS = 24
MOST_SLIPS = 3
# What a promise may be off: 0.1 points, and what the displays before the last lye could not show.
PROMISED_FRACTION, PROMISED_G = 1e-3, 25.0
# Where the last lye is topped up straight into the vessel, it may come out a step of the vessel's scale beside it (0.05 lb, of
# a lye of 15 kg and more), and half a step is lost where that display is never tared.
STRAIGHT_FRACTION, STRAIGHT_G = 1.5e-3, 35.0


def slip(chance, step):
    """Counts beside the target: a third of all far out of the band, the others within it."""
    band = range(step["low"], step["high"] + 1, step["division"])
    return chance.choice(band) - step["target"]


def far(chance, step, net):
    return round(chance.uniform(-0.5, 0.5) * net / step["division"]) * step["division"]


class Walk:
    """One block from its first step to its last, with slips, misreadings put right later, and a way on taken each time."""

    def __init__(self, seed):
        self.chance = random.Random(seed)
        self.hand = Hand(at_random(self.chance))
        self.slips = 0
        self.figures = {"events": 0, "ways": 0, "mass_g": 0.0, "superfat": 0.0, "promise": 0.0, "promise_g": 0.0}
        self.states = []  # of which the page's own fold is asked

    def worst(self, **found):
        for name, figure in found.items():
            self.figures[name] = max(self.figures[name], figure)

    def to_the_end(self):
        while self.moves_on():
            self.looked_at()

    def moves_on(self):
        """One more event; False when the block is done or can only be stopped."""
        hand, chance = self.hand, self.chance
        reply = hand.ask()
        misread = [event for event in hand.events if event["id"] in hand.misread]
        if reply["pending"]:
            done = next(e for e in hand.events if e["kind"] == "weighed" and e["step"] == reply["pending"])
            ways = self.ways(reply)
            if done in misread and chance.random() < 0.6:
                hand.correct(done)
            elif not ways:
                return False
            else:
                way = chance.choice(ways)
                hand.decide(reply["pending"], way, reply["choices"][way])
            return True
        step = hand.step(reply)
        if misread and (step is None or chance.random() < 0.3):
            hand.correct(misread[0])
        elif step is None:
            return False
        elif reply["asked"]:
            hand.answer(reply["asked"], chance.choice(["with-oils", "as-planned"]))
        else:
            self.does(step)
        return True

    def does(self, step):
        if step["kind"] != "weigh":
            self.hand.do(step)
            return
        net, luck = self.hand.to_weigh(step), self.chance.random()
        slips = self.slips < MOST_SLIPS and luck < 0.2
        self.slips += slips
        ladles = step["key"].startswith("out:")
        if slips and luck < 0.12 and not ladles:
            self.hand.do(step, off=far(self.chance, step, net))
        elif slips:
            self.hand.do(step, typed_off=far(self.chance, step, net) // 2 // step["division"] * step["division"])
        else:
            self.hand.do(step, off=slip(self.chance, step))

    def ways(self, reply):
        """The ways on, each of them followed to its end on a vessel of its own."""
        hand, key = self.hand, reply["pending"]
        found = recovery(Block(hand.record, hand.events), key)
        assert {choice.key for choice in found.choices} == set(reply["choices"])
        assert found.choices[-1].key == "stop"
        for choice in found.choices[:-1]:
            after = hand.as_read()
            stored = reply["choices"][choice.key]
            after.decide(key, choice.key, stored)
            for new in (*stored["steps"], *stored["replaced"].values()):
                assert new["kind"] != "weigh" or new["target"] % new["division"] == 0, choice.key
            keeps_out = [s for s in fold(hand.record["steps"], after.events).steps if s["key"] == "pour" and "keep about" in s["how"]]
            assert bool(keeps_out) == bool(choice.aside_text), choice.key
            after.to_the_end()
            grams, _ = recounted(after)
            told = abs(choice.superfat.value - superfat(hand.record, grams))
            told_g = abs(choice.batter_g - math.fsum(grams.values()))
            straight = any(step["key"].endswith(":top-up") and step["gross_text"] is not None for step in hand.record["steps"])
            most, most_g = (STRAIGHT_FRACTION, STRAIGHT_G) if straight else (PROMISED_FRACTION, PROMISED_G)
            assert told <= most and told_g <= most_g, (key, choice.key, told, told_g)
            self.worst(promise=told, promise_g=told_g)
            self.figures["ways"] += 1
        return [choice.key for choice in found.choices[:-1]]

    def looked_at(self):
        """Compares the reckoning after an event with a recount and, where nothing was misread, with the vessel itself."""
        hand = self.hand
        block = Block(hand.record, hand.events)
        weighed = {pour: amount.g for pour, amount in block.weighed.items()}
        grams, _ = recounted(hand)
        truths = [grams] if hand.misread else [grams, hand.poured()]
        off_g = max(
            (abs(weighed.get(pour, 0.0) - truth.get(pour, 0.0)) for truth in truths for pour in {*weighed, *truth}),
            default=0.0,
        )
        found, own = block.superfat(block.weighed), superfat(hand.record, grams)
        off = 0.0 if found is None or own is None else abs(found.value - own)
        assert off_g < 0.01, hand.events[-1]
        # Molar masses of the test and of the tables differ in the sixth figure.
        assert off < 1e-4, hand.events[-1]
        self.worst(mass_g=off_g, superfat=off)
        self.figures["events"] += 1
        self.states.append(hand.state())


@pytest.mark.parametrize("seed", range(BLOCKS))
def test_after_every_event_the_masses_are_those_poured_and_every_way_on_ends_as_it_promised(seed):
    walk = Walk(seed)
    walk.to_the_end()
    assert walk.figures["events"] > 10
    assert all(amount >= -0.01 for amount in walk.hand.poured().values())


def test_page_and_calculation_fold_the_same_events_to_the_same_block(tmp_path):
    states = []
    for seed in range(BLOCKS, BLOCKS + 6):
        walk = Walk(seed)
        walk.ways = lambda reply: [key for key in reply["choices"] if key != "stop"]
        walk.to_the_end()
        states += walk.states
    blocks = tmp_path / "blocks.json"
    blocks.write_text(json.dumps([{part: state[part] for part in ("steps", "events", "shown")} for state in states]))
    page = json.loads(run_node(ROOT / "tests" / "site_js" / "fold_answers.mjs", blocks, cwd=ROOT))
    for state, answer in zip(states, page, strict=True):
        assert answer == state["expected"], state["events"][-1]
    assert len(states) > 60
