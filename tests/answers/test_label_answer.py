"""The answer to a label: what keeps it a draft, what is kept, and that each batch goes by its own sheet."""

import copy
import json

import pytest

from answers.demo import BATCH_VALUES, DEMO_NOW, LABEL_VALUES, demo_state
from answers.door import answer
from answers.qr import modules


def asked(values=None, state=None, **more):
    request = {"task": "soap_label", "values": LABEL_VALUES | (values or {}), "state": state or demo_state(), "now": DEMO_NOW, **more}
    return json.loads(answer(json.dumps(request)))


def shown(values=None, state=None, **more):
    reply = asked(values, state, **more)
    assert reply.get("ok"), reply
    return reply["html"]["soap_label"]


def confirmed(*keys):
    names = {"olive": "Olea Europaea (Olive) Fruit Oil", "coconut": "Cocos Nucifera (Coconut) Oil", "palm": "Elaeis Guineensis (Palm) Oil", "castor": "Ricinus Communis (Castor) Seed Oil"}
    return copy.deepcopy(demo_state()) | {"inci": [{"key": f"{key}.raw.us", "name": names[key], "person": "Q"} for key in keys or names]}


def test_a_name_is_confirmed_once_and_the_draft_is_none_any_more():
    first = shown()
    assert "Draft: one thing is open" in first and "label-draft" in first and "Ingredient names nobody has looked up yet: 4." in first
    then = shown(state=confirmed())
    assert "Ready to print" in then and "label-draft" not in then and "confirmed by Q" in then
    assert "Ingredient names nobody has looked up yet: 3." in shown(state=confirmed("olive"))


def test_an_incomplete_list_of_allergens_says_so_and_prints_as_a_draft():
    european = {"market": "eu", "keeps_months": "24", "responsible": "R, 1 Street, City"}
    # The demo's lavender has an analysis; its clove has neither that nor a statement from its supplier.
    found = shown(european | {"formula": "f-saltgrass"})
    assert ("The list of allergens is incomplete" in found) == ("label-draft" in found and "statement for" in found)
    state = copy.deepcopy(demo_state())
    lot = next(each for each in state["scent_lot"] if each["id"] == "e-lav")
    lot["values"] = {"code": "LAV-0611", "material": "fragrance", "name": "Lavender fragrance", "in_use": "yes"}
    found = shown(european, state)
    assert "The list of allergens is incomplete. Get the supplier&#39;s statement for: Lavender fragrance" in found and "label-draft" in found
    # In the United States the blend may stand for all: then none is named, and that is said.
    found = shown({}, state)
    assert "The list of allergens is incomplete" not in found and "Allergens aren&#39;t named" in found


def test_the_two_ways_are_never_mixed():
    added, bar = shown({"way": "added"}), shown({"way": "bar"})
    assert "Ingredients as added." in added and "Sodium Hydroxide" in added and "Sodium Olivate" not in added and "Glycerin" not in added.split("label-sheets")[1]
    assert "Ingredients as in the finished bar." in bar and "Sodium Olivate" in bar and "Sodium Hydroxide" not in bar and "Glycerin" in bar


def sheet_for_label():
    values = BATCH_VALUES | {"formula": "f-reed-lavender", "issued_by": "Q"}
    reply = json.loads(answer(json.dumps({"task": "issue_batch", "values": values, "state": demo_state(), "now": DEMO_NOW})))
    record = reply["record"]
    kept = {key: record.get(key) for key in ("code", "pours", "oils", "chemistry", "scent", "set_aside")}
    return kept | {"local": DEMO_NOW, "soap": "Reed Lavender", "formula": "f-reed-lavender", "typed": record["inputs"]["formula"]}


def test_a_batch_lists_what_its_own_sheet_says_and_carries_its_code():
    sheet = sheet_for_label()
    state = copy.deepcopy(demo_state()) | {"label_sheets": [sheet]}
    found = shown({"batch": sheet["code"]}, state)
    lists = [each.split("<text")[0] for each in (shown(), found)]
    of_formula, of_batch = [each[each.index("Ingredients:") : each.index("NET WT")].split(". ")[0] for each in lists]
    assert of_formula == of_batch
    assert f"Batch {sheet['code']}" in found and f"Batch {sheet['code']}" not in shown()
    # Every dark square of the code is drawn, and none besides.
    drawn = found.split('class="label-code"')[1].split('<path d="')[1].split('"')[0]
    assert drawn.count("M") == sum(map(sum, modules(sheet["code"])))
    other = asked({"batch": sheet["code"], "formula": "f-marsh-plain"}, state)
    assert other["problems"][0]["code"] == "other-formula"
    assert asked({"batch": "GONE"}, state)["problems"][0]["code"] == "sheet-missing"
    old = {key: part for key, part in sheet.items() if key != "chemistry"}
    assert asked({"batch": sheet["code"]}, state | {"label_sheets": [old]})["problems"][0]["code"] == "sheet-too-old"


def test_bars_that_were_weighed_bound_the_net_weight():
    sheet = sheet_for_label()
    racked = [
        {"id": "c1", "kind": "cure_racked", "subject": f"cure:{sheet['code']}/1", "person": "Q", "soap": "Reed Lavender", "local": "2026-10-01T10:00",
         "values": {"code": sheet["code"], "block": "1", "bars": "90", "stands": "yes", "water_fraction": "0", "cut_on": "2026-10-01", "sell_on": "2026-11-25"}},
        {"id": "c2", "kind": "cure_bars", "subject": f"cure:{sheet['code']}/1", "person": "Q", "local": "2026-11-25T10:00",
         "values": {"batch": f"{sheet['code']}:1", "weights": " ".join(["125"] * 12), "weighed_in": "g", "weighed_on": "2026-11-25"}},
    ]  # fmt: skip
    racked[0]["values"].pop("water_fraction")
    state = copy.deepcopy(demo_state()) | {"label_sheets": [sheet], "cure": racked}
    # Twelve bars alike: the average rule allows what they weigh.
    found = shown({"batch": sheet["code"], "net_g": ""}, state)
    assert "125 g" in found and "The bars weighed allow less" not in found
    assert "The bars weighed allow less than this net weight." in shown({"batch": sheet["code"], "net_g": "130"}, state)
    assert asked({"net_g": ""})["problems"][0]["field"] == "net_g"


def test_what_is_kept_is_the_label_alone():
    reply = asked({"batch": "", "sheets": "2"}, check=True)
    (item,) = reply["record"]["items"]
    assert (item["kind"], item["id"]) == ("label", "f-reed-lavender")
    assert item["values"]["identity"] == "Bar soap" and not {"formula", "batch", "paper", "sheets"} & set(item["values"])
    assert asked()["record"] is None


@pytest.mark.parametrize(
    ("values", "told"),
    [({"claims": "Heals acne"}, "Words that make it a drug."), ({"market": "eu"}, "The EU wants a responsible person"), ({"market": "eu"}, "The EU wants a batch code"),
     ({"market": "eu", "keeps_months": "36"}, "Over 30 months"), ({"words": "Moisturizing"}, "A cosmetic in the US needs"),
     ({"height_mm": "30"}, "It doesn&#39;t all fit.")],
)  # fmt: skip
def test_what_is_open_is_told_and_keeps_it_a_draft(values, told):
    found = shown(values, confirmed())
    assert told in found and "label-draft" in found
    assert told not in shown(state=confirmed())


def test_what_somebody_typed_stays_text():
    found = shown({"name": "<script>x</script>", "maker": "A & B\n<b>"})
    assert "<script>" not in found and "<b>" not in found and "&lt;script&gt;" in found
