"""The same question gets the same answer from Python here and from Python in the browser."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator
from typing import Any

from playwright.sync_api import BrowserContext
from screens import answered

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state, stored_values
from answers.door import answer

NewContext = Callable[..., BrowserContext]

# Both compute in IEEE 754 doubles; only the last bits of library functions may differ between the C libraries.
TOLERANCE = 1e-12

# Keeps the page's own line to its worker, to ask over it what no form of the page would.
KEEP_LINE = """
const Original = SharedWorker;
globalThis.SharedWorker = class extends Original {
  constructor(...values) {
    super(...values);
    globalThis.line = this.port;
  }
};
"""
ASK = """(requests) => Promise.all(requests.map((request, index) => new Promise((resolve) => {
  const id = 1_000_000 + index;
  globalThis.line.addEventListener("message", ({data}) => {
    if (data.id === id && data.reply !== undefined) resolve(data.reply);
  });
  globalThis.line.postMessage({id, request});
})))"""


def examples() -> Iterator[tuple[str, dict[str, Any]]]:
    def request(task: str, values: dict[str, str], state: dict[str, Any] | None = None) -> dict[str, Any]:
        return {"task": task, "values": values, "state": state or demo_state(), "now": DEMO_NOW}

    marsh, honey = stored_values("formula", "f-marsh-plain"), stored_values("formula", "f-saltgrass")
    us = demo_state() | {"units": "us"}
    both = marsh | {"alkali": "both", "koh_share_fraction": "12.5"}
    acids = honey | {
        "additives.1.kind": "citric_monohydrate",
        "additives.1.share_fraction": "1.2",
    }
    yield "workshop", request("workshop", {})
    yield "workshop in US units", request("workshop", {}, us)
    yield "formula list", request("formula_list", {})
    yield "formula", request("formula", marsh)
    yield "formula with both alkalis", request("formula", both)
    yield "formula with caustic potash", request("formula", marsh | {"alkali": "koh"})
    yield "formula with additives", request("formula", acids)
    yield "formula with lye to water and a wax", request(
        "formula", marsh | {"water_as": "water_to_lye", "water_to_lye_ratio": "2 1/3", "oils.1.oil": "beeswax"}
    )
    as_text = {name: text for name, text in marsh.items() if not name.startswith("oils.")}
    yield "formula with its oils as text", request("formula", as_text | {"oils_text": "olive 33 1/3, palma 40,5 late; coco"})
    yield "formula with faults", request("formula", marsh | {"superfat_fraction": "1,500", "scent_fraction": "-1"})
    yield "mould", request("mould", stored_values("mould", "m-half"))
    yield "own oil", request("own_oil", {"name": "Sea buckthorn", "source": "x", "ester": "triglyceride",
                                         "saponification_low_value": "190", "saponification_high_value": "201.5"})  # fmt: skip
    yield "sheet", request("batch_sheet", BATCH_VALUES)
    yield "sheet in US units", request("batch_sheet", BATCH_VALUES, us)
    yield "sheet by height", request("batch_sheet", BATCH_VALUES | {"scale_to": "fill_height", "fill_height_mm": "7 1/2",
                                                                    "fill_height_mm.unit": "in"})  # fmt: skip
    yield "sheet by mass", request("batch_sheet", BATCH_VALUES | {"scale_to": "batch_mass", "batch_mass_g": "90 lb 4.5 oz",
                                                                  "formula": "f-reed-lavender"})  # fmt: skip
    yield "sheet by bars", request("batch_sheet", BATCH_VALUES | {"scale_to": "bars", "bars_wanted": "300"})
    yield "sheet by stock", request("batch_sheet", BATCH_VALUES | {"scale_to": "oil_left", "oil_left": "coconut",
                                                                   "oil_left_g": "18.4", "oil_left_g.unit": "kg"})  # fmt: skip
    yield "sheet from solid caustic with honey", request(
        "batch_sheet", BATCH_VALUES | {"formula": "f-saltgrass", "naoh_lot": "a-naoh", "mould": "m-half"}
    )
    small = {"name": "Loaf mould", "length_mm": "300", "width_mm": "200", "height_mm": "120", "fill_height_mm": "100"}
    with_small = demo_state() | {"mould": [*demo_state()["mould"], {"id": "m-loaf", "values": small}]}
    yield "sheet with nothing weighed in the vessel", request("batch_sheet", BATCH_VALUES | {"mould": "m-loaf"}, with_small)
    yield "issue", request("issue_batch", BATCH_VALUES | {"issued_by": "M", "code": "QM-TEST"})
    yield "no such task", request("nothing", {})


def differences(here: Any, there: Any, path: str = "") -> Iterator[str]:
    """Where two replies differ, numbers by more than the tolerance."""
    if isinstance(here, dict) and isinstance(there, dict) and here.keys() == there.keys():
        for key in here:
            yield from differences(here[key], there[key], f"{path}.{key}")
    elif isinstance(here, list) and isinstance(there, list) and len(here) == len(there):
        for index, (left, right) in enumerate(zip(here, there, strict=True)):
            yield from differences(left, right, f"{path}[{index}]")
    elif isinstance(here, float) and isinstance(there, int | float):
        if not math.isclose(here, there, rel_tol=TOLERANCE, abs_tol=1e-15):
            yield f"{path}: {here} here, {there} in the browser"
    elif here != there:
        yield f"{path}: {here!r} here, {there!r} in the browser"


def test_every_example_has_the_same_answer_here_and_in_the_browser(new_context: NewContext) -> None:
    context = new_context()
    context.add_init_script(KEEP_LINE)
    page = context.new_page()
    page.goto("batch/")
    answered(page, "batch_sheet")
    named = list(examples())
    replies = page.evaluate(ASK, [json.dumps(request) for _, request in named])
    wrong: list[str] = []
    for (name, request), reply in zip(named, replies, strict=True):
        here, there = json.loads(answer(json.dumps(request))), json.loads(reply)
        if "fault" in here:
            here.pop("report"), there.pop("report")  # paths of two machines
            assert name == "no such task", here
        wrong += [f"{name}{each}" for each in differences(here, there)]
    assert wrong == []
    ok = [name for (name, _), reply in zip(named, replies, strict=True) if json.loads(reply).get("ok")]
    assert len(ok) >= 18, f"only these were answered: {ok}"


def test_the_page_shows_what_python_here_answers(new_context: NewContext) -> None:
    page = new_context().new_page()
    page.goto("batch/")
    shown = answered(page, "batch_sheet").locator(".target").all_text_contents()
    html = json.loads(answer(json.dumps(next(each for name, each in examples() if name == "sheet"))))["html"]["batch_sheet"]
    holder = page.context.new_page()
    holder.set_content(html)
    assert shown == holder.locator(".target").all_text_contents()
