"""Requests to the door by chance: forms, stored items, blocks and envelopes, from the plain to the absurd.

Made from the declarations alone, so that a new field is asked about without a word here. The same seed makes the same
requests.
"""

import copy
import json
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from random import Random
from typing import Any

from answers.demo import BATCH_VALUES, CUT_VALUES, DEMO_NOW, LABEL_VALUES, SCENT_VALUES, demo_state
from answers.door import answer
from answers.tasks import FORMS
from calc.block.events import fold
from calc.cure.declared import ON_RACK
from calc.entry.declare import FieldInfo, describe
from calc.entry.units import convert, internal_unit, typed_units
from calc.formula.declaration import Formula
from calc.tables.fragrance import essential_oils
from calc.tables.reference import additives, oils
from calc.workshop.kinds import KINDS
from pages.cure_forms import CURE_FORMS
from pages.sale_forms import SALE_FORMS
from pages.tank_forms import TANK_FORMS

STORED: dict[str, type[Any]] = {"formula": Formula, **{kind: entry[0] for kind, entry in KINDS.items()}}

ODD_TEXTS = (
    "", " ", "0", "0.0", "-0", "-1", "−1", "00", "1", "2", "10", "100", "1000", "0.001", "1/3", "1/0", "11/2", "½", "3½ lb",
    "1,500", "1.500", "1.234,5", "1,234.5", "50.000", "12 lb 4.5 oz", "12 lb 17 oz", "1e9", "1E-320", "1e999", "nan", "inf",
    "-inf", "∞", "9" * 40, "9" * 41, "0." + "0" * 37 + "1", "5 kg", "5 g", "5 lb", "5 fl oz", "5 °F", "-40 °C", "5 %", "5 mm",
    "5 m", "٣٫٥", "５ｋｇ", "１２．５", "𝟓", "5²", "5\u200b", "\u202e5", "\x00", "\ud800", "\ufeff", "e\u0301" * 50, "🧼" * 20, "x" * 5000,
    "<b>5</b>", "<script>alert(1)</script>", "&amp;", "\"'><", "{{ 7 * 7 }}", "{0}", "{typed}", "%s", "{% raw %}", "../../x",
    "None", "null", "true", "[]", "__class__", "own:", "own:x", "lot:", "lot:x", "yes", "no", "both", "solid", "premixed",
    "naoh", "koh", "1:2", "5;6", "5\n6", "a\tb", "\r\n",
)  # fmt: skip
OIL_TEXTS = ("olive 45, palm 30, coconut 25", "olive 40, palm", "50 olive 50 olive", '"own:x" 5', "olive 1/3 late, late, 5", "oil 99999", "\"" * 9)
ODD_NOWS = ("", "now", "2026-13-45", "2026-11-25", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00", "<b>", "2026-11-25T25:00:00", None, 5)
ODD_JSON: tuple[Any, ...] = (None, True, 0, -1, 1.5, 1e300, "", "x", [], {}, [[]], [{}], {"id": 1}, {"values": {}}, {"": None}, "\ud800")


def form_requests(task: str, seed: int, count: int) -> Iterator[str]:
    """So many requests of one task, as the page would send them."""
    chance = Random(f"{task} {seed}")
    for _ in range(count):
        yield json.dumps(_Maker(chance).request(task))


class _Maker:
    """One request. How wild it is gets drawn first, so that many requests have one thing wrong and no more."""

    def __init__(self, chance: Random) -> None:
        self.chance = chance
        self.state = copy.deepcopy(demo_state())

    def request(self, task: str) -> dict[str, Any]:
        chance = self.chance
        self.state["units"] = chance.choice(("metric", "us"))
        for _ in range(chance.choice((0, 0, 1, 1, 2, 6))):
            self.change_an_item()
        values = dict(chance.choice(self.starts(task)))
        for declaration in FORMS[task]:
            self.change(values, declaration, "", chance.choice((0.0, 0.1, 0.3, 1.0)), chance.choice((0.0, 0.1, 0.5)))
        if task == "formula" and chance.random() < 0.4:
            values["oils_text"] = chance.choice((*ODD_TEXTS, *OIL_TEXTS))
        made: dict[str, Any] = {"task": task, "values": values, "state": self.state, "now": DEMO_NOW}
        made["language"] = chance.choice(("en", "es"))
        if chance.random() < 0.2:
            made |= {"check": True, "id": chance.choice(("", "gone", *(e["id"] for e in self.state.get(task) or ()  if isinstance(e, dict) and "id" in e)))}
        if chance.random() < 0.1:
            self.odd_envelope(made)
        return made

    def starts(self, task: str) -> list[dict[str, str]]:
        """Forms as somebody in the demo workshop would have filled them; and an empty one."""
        if task in ("batch_sheet", "issue_batch"):
            both = BATCH_VALUES | {"formula": "f-saltgrass", "koh_lot": "a-koh", "naoh_lot": "a-naoh"}
            return [each | {"issued_by": "Q", "reason": "a trial"} for each in (BATCH_VALUES, BATCH_VALUES | {"naoh_lot": "a-naoh"}, both)]
        if task == "fragrance":
            return [SCENT_VALUES]
        if task == "soap_label":
            return [LABEL_VALUES | {"person": "Q"}, LABEL_VALUES | {"market": "both", "way": "bar", "parts": "two"}]
        if task == "cut_plan":
            return [CUT_VALUES, CUT_VALUES | {"bars_wanted": "300", "sold_bar_g": "113", "sold_bar_g.unit": "g"}]
        if of_tank := [dict(form.values) | {"person": "Q"} for form in TANK_FORMS.values() if form.task == task]:
            return of_tank
        if of_sale := [dict(form.values) | {"person": "Q"} for form in SALE_FORMS.values() if form.task == task]:
            return of_sale
        if of_rack := [dict(form.values) | {"person": "Q"} for form in CURE_FORMS.values() if form.task == task]:
            return of_rack
        return [*(entry["values"] for entry in demo_state().get(task, ())), {}]

    def change_an_item(self) -> None:
        """Something of the workshop is otherwise, odd, or gone."""
        chance = self.chance
        kind = chance.choice(sorted(STORED))
        entries = self.state[kind]
        if chance.random() < 0.1:
            self.state[kind] = []
        elif chance.random() < 0.1 or not entries:
            entries.append({"id": chance.choice(("new", "a b", "<b>", "own:x", "")), "values": {}, "revision": 1})
        elif chance.random() < 0.1:
            entries[chance.randrange(len(entries))]["id"] = chance.choice(("other", "<i>", "own:own:x"))
        else:
            self.change(chance.choice(entries)["values"], STORED[kind], "", chance.choice((0.1, 0.3, 1.0)), chance.choice((0.0, 0.0, 0.2)))

    def change(self, values: dict[str, Any], declaration: type[Any], prefix: str, share: float, odd: float) -> None:
        """Fills a share of a form's fields anew: some of them with odd texts, the rest within what is offered."""
        chance = self.chance
        for info in describe(declaration):
            name = prefix + info.name
            if info.type == "rows":
                there = {int(key[len(name) + 1 :].split(".")[0]) for key in values if key.startswith(f"{name}.")}
                if chance.random() < share / 2:
                    there.add(chance.choice((*range(6), 40, 9999)))
                for index in sorted(there):
                    self.change(values, info.of, f"{name}.{index}.", share, odd)
            elif chance.random() < share:
                if chance.random() < odd:
                    values[name] = chance.choice(ODD_TEXTS)
                    values[f"{name}.unit"] = chance.choice(("", "g", "kg", "lb", "oz", "%", "degF", "in", "parsec", "<u>"))
                else:
                    self.fill(values, info, name)

    def fill(self, values: dict[str, Any], info: FieldInfo, name: str) -> None:
        """Something that the field itself may take."""
        chance = self.chance
        if info.optional and chance.random() < 0.3:
            values.pop(name, None)
        elif info.type == "measure":
            unit = chance.choice(info.offered)
            low, high = (convert(end, internal_unit(info.kind), unit) for end in (info.refuse.low, info.refuse.high))
            values[f"{name}.unit"] = unit
            values[name] = f"{self.number(low, high):.12g}" if chance.random() < 0.9 else f"{low:.3g} {chance.choice(typed_units(info.kind))}"
        elif info.type == "count":
            values[name] = str(round(self.number(info.refuse.low, info.refuse.high)))
        elif info.type == "day":
            values[name] = f"20{chance.randrange(100):02}-{chance.randint(1, 12):02}-{chance.randint(1, 31):02}"
        elif info.type == "time":
            values[name] = f"{chance.randrange(25):02}:{chance.randrange(60):02}"
        elif info.type == "choice":
            values[name] = chance.choice(tuple(info.options))
        elif info.type == "item":
            values[name] = chance.choice(self.ids(info.kind))
        else:
            values[name] = chance.choice(("Q", "Quill <marsh> & co", "Ünïcode", "x" * info.max_length, "{0} %s", *ODD_TEXTS[-8:]))

    def number(self, low: float, high: float) -> float:
        """Both ends, and everything between them. A small amount is as likely as a large one."""
        chance = self.chance
        if chance.random() < 0.25:
            return chance.choice((low, high))
        near = low + (high - low) * 10 ** chance.uniform(-6, 0)
        return min(max(float(f"{near:.3g}"), low), high)

    def ids(self, kind: str) -> tuple[str, ...]:
        known = {"oil": tuple(oils()), "additive": tuple(additives()), "essential_oil": tuple(essential_oils()), ON_RACK: ("QM-114:1", "QM-118:1")}
        stored = tuple(str(entry["id"]) for entry in self.state.get(kind) or () if isinstance(entry, dict) and "id" in entry)
        swapped = tuple(str(entry["id"]) for entry in demo_state()[self.chance.choice(sorted(STORED))])
        found = known.get(kind, stored)
        if kind == "scent" and essential_oils():
            found += (self.chance.choice(tuple(essential_oils())), "lot:e-lav")
        return (*found, *found, *found, *swapped, "gone") if self.chance.random() < 0.3 or not found else found

    def odd_envelope(self, made: dict[str, Any]) -> None:
        """What stands around the form: the workshop as it was stored, the clock, the language."""
        chance = self.chance
        what = chance.choice(("now", "language", "state", "units", "kind", "entry", "values", "value", "codes"))
        kind = chance.choice(sorted(STORED))
        odd = chance.choice(ODD_JSON)
        entries = self.state[kind]
        if what == "now":
            made["now"] = chance.choice(ODD_NOWS)
        elif what == "language":
            made["language"] = chance.choice(("", "de", "es-MX", "ES", None, 3, [], "\ud800"))
        elif what == "state":
            made["state"] = odd
        elif what == "units":
            self.state["units"] = odd
        elif what == "codes":
            self.state["batch_codes"] = odd
        elif what == "kind":
            self.state[kind] = odd
        elif what == "value":
            made["values"][chance.choice(("name", "code", "formula", "blocks", "oils.x.oil", "", "\ud800"))] = odd
        elif entries and what == "entry":
            entries[0] = odd
        elif entries:
            entries[0]["values"] = odd if chance.random() < 0.5 else entries[0]["values"] | {"name": odd}


# What else a block may be issued from: changes to the demo's floor, formula and order.
PREMIXED_POTASH = {"code": "KOL-0007", "alkali": "koh", "form": "premixed", "strength_fraction": "40", "plus_minus_fraction": "0.3"}
BOTH = {"alkali": "both", "koh_share_fraction": "20"}
ACID = {"oils.2.added": "late", "additives.0.kind": "citric_anhydrous", "additives.0.share_fraction": "1"}
BLOCKS: tuple[tuple[dict[str, str], dict[str, str], dict[str, str]], ...] = (
    ({}, {}, {}),
    ({"tare": "never"}, {}, {}),
    ({"oils": "blend", "hold_back_fraction": "0"}, {}, {}),
    ({}, ACID, {"naoh_lot": "a-naoh"}),
    ({"tare": "never"}, BOTH, {"koh_lot": "a-kol"}),
    ({"oils": "blend"}, BOTH | ACID, {"koh_lot": "a-koh", "naoh_lot": "a-naoh"}),
    ({}, {"scent_fraction": "2", "scent": "n-reed"}, {"scale_to": "batch_mass", "batch_mass_g": "120 g"}),
)


@cache
def issued_blocks() -> tuple[dict[str, Any], ...]:
    """Records to weigh by, as issued; each read back from what a store would keep."""
    made = []
    for n, (floor, formula, order) in enumerate(BLOCKS):
        state = copy.deepcopy(demo_state()) | {"units": ("metric", "us")[n % 2]}
        state["floor"][0]["values"].update(floor)
        state["alkali_lot"].append({"id": "a-kol", "values": PREMIXED_POTASH})
        next(each for each in state["formula"] if each["id"] == "f-marsh-plain")["values"].update(formula)
        asked = {"task": "issue_batch", "values": BATCH_VALUES | order | {"issued_by": "Q", "reason": "a trial"}}
        reply = json.loads(answer(json.dumps(asked | {"state": state, "now": DEMO_NOW})))
        if not reply.get("ok"):
            raise RuntimeError(f"block {n} can't be issued: {reply}")
        made.append({key: part for key, part in reply["record"].items() if key != "html"})
    return tuple(made)


def block_requests(seed: int, count: int) -> Iterator[tuple[str, bool]]:
    """Blocks weighed by chance, each asked about as it goes; the ways back that are offered are taken now and then.

    With each, whether its record or its events were spoilt.
    """
    chance = Random(f"block {seed}")
    made = 0
    while made < count:
        for request in _block(chance):
            spoil = chance.random() < 0.15
            yield json.dumps(_spoilt(request, chance) if spoil else request), spoil
            made += 1


def _block(chance: Random) -> Iterator[dict[str, Any]]:
    record = chance.choice(issued_blocks())
    events: list[dict[str, Any]] = []
    wild, ask = chance.choice((0.0, 0.05, 0.3)), chance.choice((0.1, 0.5))
    replaced: dict[str, Any] = {}

    def request() -> dict[str, Any]:
        state = demo_state() | {"units": chance.choice(("metric", "us")), "record": record, "events": events}
        values = {"batch": record["code"], "block": "1"}
        return {"task": "at_the_scale", "values": values, "state": state, "now": DEMO_NOW, "language": chance.choice(("en", "es"))}

    for _ in range(chance.randrange(1, 60)):
        events = list(events)
        standing = fold(record["steps"], events)
        step = next((each for each in standing.steps if each["key"] == standing.current), None)
        if step is None:
            break
        if standing.pending is not None or chance.random() < ask:
            yield request()
            reply = json.loads(answer(json.dumps(request())))
            found = reply.get("record") or {}
            replaced = found.get("replaced") or {}
            if found.get("pending") is not None:
                key, choice = chance.choice([*found["choices"].items(), ("leave", {"steps": [], "replaced": {}})])
                events.append(_event(len(events), "decided", step=found["pending"], choice=key, text=choice.get("text", ""),
                                     reason="a trial", steps=choice["steps"], replaced=choice["replaced"]))  # fmt: skip
                continue
        weighings = [each for each in events if each["kind"] == "weighed"]
        if weighings and chance.random() < wild:
            old = chance.choice(weighings)
            reading = _reading(chance, old["asked"], 1.0)
            events.append(_event(len(events), "corrected", corrects=old["id"], reading=reading, unit=old["unit"], reason="misread"))
            continue
        events.append(_done(len(events), replaced.get(step["key"], step), chance, wild))
    yield request()


def _event(number: int, kind: str, **fields: Any) -> dict[str, Any]:
    at = f"2026-11-25T{9 + number // 60:02}:{number % 60:02}:00"
    return {"id": f"e{number:03}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": kind, "person": "Q", **fields}


def _done(number: int, step: dict[str, Any], chance: Random, wild: float) -> dict[str, Any]:
    kind, key = step["kind"], step["key"]
    if kind == "weigh":
        asked = {part: step[part] for part in ("target", "low", "high", "decimals", "unit", "division")}
        mode = chance.choice(("net", "net", "net", "gross")) if chance.random() < wild else "net"
        return _event(number, "weighed", step=key, reading=_reading(chance, asked, wild), unit=step["unit"], mode=mode, asked=asked,
                      lot=step["lot"], question=None)  # fmt: skip
    if kind == "temperature":
        reading = chance.choice(("36", "36.5", "0", "100", "999999999")) if chance.random() < wild else "36"
        return _event(number, "checked", step=key, reading=reading, unit=step["unit"])
    if kind == "timer":
        return _event(number, "timed", step=key, action=chance.choice(("started", "ended", "ended", "ended")), seconds=step["seconds"])
    return _event(number, "checked", step=key, **({"note": "nothing-left"} if chance.random() < wild / 2 else {}))


def _reading(chance: Random, asked: dict[str, Any], wild: float) -> str:
    """What the display is said to have shown: near the target, or off it by a slip in pouring or in typing."""
    count = asked["target"]
    if chance.random() < wild:
        count = chance.choice((0, 1, asked["division"], count // 10, count * 10, count * 100, count * 1000, 999_999_999,
                               round(count * chance.uniform(0, 3)), round(count * chance.uniform(0.9, 1.1))))  # fmt: skip
    elif chance.random() < 0.3:
        count += asked["division"] * chance.randrange(-3, 4)
    return f"{Decimal(max(count, 0)).scaleb(-asked['decimals']):f}"


def _spoilt(made: dict[str, Any], chance: Random) -> dict[str, Any]:
    """The same with one thing changed in its record or its events, as a damaged or foreign copy might bring it."""
    spoilt = copy.deepcopy(made)
    state = spoilt["state"]
    place: Any = state
    key: Any = chance.choice(("record", "events", "events", "events"))
    for _ in range(chance.randrange(1, 5)):
        inner = place[key]
        if not isinstance(inner, (dict, list)) or not inner:
            break
        place, key = inner, chance.choice(sorted(inner)) if isinstance(inner, dict) else chance.randrange(len(inner))
    deed = chance.random()
    if deed < 0.3 and place is not state:
        del place[key]
    elif deed < 0.5 and isinstance(place, list):
        place.insert(chance.randrange(len(place) + 1), place[key])
    else:
        place[key] = chance.choice(ODD_JSON)
    return spoilt
