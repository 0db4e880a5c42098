"""The answer to a label: what keeps it a draft, what is kept, and that each batch goes by its own sheet."""

import copy
import json
import re

import pytest
from codes import of_label, read, squares

from answers.demo import BATCH_VALUES, DEMO_NOW, LABEL_VALUES, demo_state
from answers.door import answer
from answers.qr import QUIET, modules
from calc.label.lettering import width
from calc.tables.reference import lines_of


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
    assert "Draft: one thing is open" in first and "label-draft" in first and "Ingredient names to look up: 4" in first
    then = shown(state=confirmed())
    assert "Ready to print" in then and "label-draft" not in then and "confirmed by Q" in then
    assert "Ingredient names to look up: 3" in shown(state=confirmed("olive"))


def test_two_colors_of_one_formula_are_two_names_to_look_up():
    state = copy.deepcopy(confirmed())
    formula = next(each for each in state["formula"] if each["id"] == "f-reed-lavender")
    for n, (kind, share) in enumerate((("colour", "1"), ("colour", "0.5"), ("clay", "1"))):
        formula["values"] |= {f"additives.{n}.kind": kind, f"additives.{n}.share_fraction": share}
    found = shown(state=state)
    assert "Ingredient names to look up: 3" in found
    assert set(re.findall(r'data-inci="([^"]+@[^"]+)"', found)) == {"colour@f-reed-lavender", "colour@f-reed-lavender@2", "clay@f-reed-lavender"}
    assert "Color 2" in found and "label-draft" in found
    # One of them looked up says nothing of the other; with all three the list has both, colors last.
    names = {"colour@f-reed-lavender": "CI 77891", "clay@f-reed-lavender": "Kaolin", "colour@f-reed-lavender@2": "CI 77007"}
    for n, (key, name) in enumerate(names.items(), 1):
        state["inci"].append({"key": key, "name": name, "person": "Q", "id": f"e{n}"})
        left = len(names) - n
        assert (f"Ingredient names to look up: {left}" in shown(state=state)) == (left > 0)
    last = shown(state=state)
    assert "Ready to print" in last and [name for name, _ in listed(last)][-2:] == ["CI 77891", "CI 77007"]
    # What was confirmed can be taken back, each by its own entry.
    assert 'data-take-back="e2" data-subject="inci:clay@f-reed-lavender" data-kind="inci_taken_back"' in last


def test_an_incomplete_list_of_allergens_says_so_and_prints_as_a_draft():
    european = {"market": "eu", "keeps_months": "24", "responsible": "R, 1 Street, City"}
    # No supplier's statement is in for the demo's oils; a soap without scent needs none.
    for formula, lacks in (("f-reed-lavender", "Lavender"), ("f-saltgrass", "Clove bud"), ("f-marsh-plain", None)):
        found = shown(european | {"formula": formula})
        told = f"The list of allergens is incomplete. Get the supplier&#39;s statement for: {lacks}."
        assert (told in found) == (lacks is not None) == ("The list of allergens is incomplete" in found) and "label-draft" in found
    state = copy.deepcopy(demo_state())
    lot = next(each for each in state["scent_lot"] if each["id"] == "e-lav")
    lot["values"]["eu_statement"] = "yes"
    assert "The list of allergens is incomplete" not in shown(european, state)
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
    assert sum(wide for _, _, wide in squares(drawn)) == sum(map(sum, modules(sheet["code"])))
    other = asked({"batch": sheet["code"], "formula": "f-marsh-plain"}, state)
    assert other["problems"][0]["code"] == "other-formula"
    assert asked({"batch": "GONE"}, state)["problems"][0]["code"] == "sheet-missing"
    old = {key: part for key, part in sheet.items() if key != "chemistry"}
    assert asked({"batch": sheet["code"]}, state | {"label_sheets": [old]})["problems"][0]["code"] == "sheet-too-old"


def used_in(sheet, block, **times):
    """What the record of a closed block tells, each pour as planned, or so many times that."""
    return [{"n": block, "pour": pour["key"], "g": pour["exact_g"] * times.get(pour["key"].replace(":", "_"), 1.0)} for pour in sheet["pours"] if pour["kind"] != "lye made"]


def listed(found):
    """The list as the page shows it: name and share [%], in order."""
    rows = found.partition('class="label-list"')[2].partition("</table>")[0]
    return [(name, share) for name, share in re.findall(r'<th scope="row"><span[^>]*>([^<]*)</span>.*?<td class="figure">(.*?)</td>', rows, re.DOTALL)]


def test_a_batch_goes_by_what_was_really_weighed_and_says_of_which_blocks():
    sheet = sheet_for_label()
    state = copy.deepcopy(demo_state())

    def of(used, **values):
        return shown({"batch": sheet["code"], **values}, state | {"label_sheets": [sheet | {"used": used}]})

    planned = of([])
    assert "Amounts from the sheet: no block of it is closed yet." in planned and "Amounts from the formula." in shown()
    # As planned, and so the list stays; then the last oil of the sheet weighed ten times over, in one block of two.
    assert listed(of(used_in(sheet, 1))) == listed(planned)
    names = {f"oil:{n}": oil["name"] for n, oil in enumerate(sheet["oils"])}
    least = min(names, key=lambda key: next(pour["exact_g"] for pour in sheet["pours"] if pour["key"] == key))
    used = used_in(sheet, 1) + used_in(sheet, 3, **{least.replace(":", "_"): 10.0})
    found = of(used)
    assert "Amounts as really weighed: average of blocks 1, 3." in found and "Amounts as really weighed: block 2." in of(used_in(sheet, 2))
    # Recomputed here: each pour's share of all that was weighed into both; water and caustic go by the lye's own strength.
    whole = sum(row["g"] for row in used)
    share = 100.0 * sum(row["g"] for row in used if row["pour"] == least) / whole
    assert any(shown_share.replace("\xa0", " ").replace("&nbsp;", " ").startswith(f"{share:.2f}") for _, shown_share in listed(found)), (share, listed(found))
    assert [name for name, _ in listed(found)] != [name for name, _ in listed(planned)]
    # What a closed block never got is in no list, whatever the sheet has.
    without = [row for row in used_in(sheet, 1) if row["pour"] != least]
    assert len(listed(of(without))) == len(listed(planned)) - 1


def of_bar(sheet, lost):
    """The scent's share of what is left of all that the sheet puts together, worked here."""
    whole = sum(pour["exact_g"] for pour in sheet["pours"] if pour["kind"] != "lye made")
    (scent,) = [pour["exact_g"] for pour in sheet["pours"] if pour["key"] == "scent"]
    return scent / whole / (1.0 - lost)


def scented(sheet, share):
    return sheet | {"scent": {"allergens": {"Linalool": 0.3, "Geraniol": share}, "label": ["Linalool"], "label_incomplete": [], "load_fraction": 0.03}}


# Regulation (EC) 1223/2009, Annex III: named above 0.01 % of what is rinsed off.
LINE = 0.0001


def test_more_scent_than_planned_names_what_then_passes_the_line():
    sheet, state = sheet_for_label(), copy.deepcopy(demo_state())
    (shop,) = state["shop"]
    lost = float(shop["values"]["cure_loss_fraction"]) / 100.0
    share = 0.9 * LINE / of_bar(sheet, lost)
    for times, named in ((1.0, False), (1.5, True)):
        found = shown({"batch": sheet["code"]}, state | {"label_sheets": [scented(sheet, share) | {"used": used_in(sheet, 1, scent=times)}]})
        assert ("Geraniol" in found) == named and "Linalool" in found
    # Where nobody says what bars lose, the sheet's own load counts, and moves with what was weighed.
    del shop["values"]["cure_loss_fraction"]
    for times, named in ((1.0, False), (1.5, True)):
        found = shown({"batch": sheet["code"]}, state | {"label_sheets": [scented(sheet, 0.9 * LINE / 0.03) | {"used": used_in(sheet, 1, scent=times)}]})
        assert ("Geraniol" in found) == named


@pytest.mark.parametrize("lost", [0.05, 0.18])
def test_bars_that_lost_more_on_the_rack_name_what_then_passes_the_line(lost):
    sheet = sheet_for_label()
    subject, batch = f"cure:{sheet['code']}/1", f"{sheet['code']}:1"
    racked = [
        {"id": "c1", "kind": "cure_racked", "subject": subject, "person": "Q", "soap": "Reed Lavender", "local": "2026-10-01T10:00",
         "values": {"code": sheet["code"], "block": "1", "bars": "90", "stands": "yes", "cut_on": "2026-10-01", "sell_on": "2026-11-25"}},
        *({"id": f"c{day}", "kind": "cure_weighed", "subject": subject, "person": "Q", "local": f"2026-{day}T10:00",
           "values": {"batch": batch, "total_g": str(mass), "total_g.unit": "g", "bars": "10", "weighed_on": f"2026-{day}"}}
          for day, mass in (("10-01", 1000.0), ("11-20", 1000.0 * (1.0 - lost)))),
    ]  # fmt: skip
    for part, named in ((0.99, False), (1.01, True)):
        share = part * LINE / of_bar(sheet, lost)
        found = shown({"batch": sheet["code"], "way": "bar"}, copy.deepcopy(demo_state()) | {"label_sheets": [scented(sheet, share)], "cure": racked})
        assert re.search(rf"Counted with {lost * 100:.0f}(\.0)?\W*% lost", found)
        assert ("Geraniol" in found) == named


def test_records_without_lye_or_with_endless_amounts_are_told_and_are_no_fault():
    sheet = sheet_for_label()
    for used in ([{"n": 1, "pour": "oil:0", "g": 1.0}], [{"n": 1, "pour": pour["key"], "g": 1e400} for pour in sheet["pours"]], [{"n": "x", "pour": "oil:0", "g": None}]):
        state = copy.deepcopy(demo_state()) | {"label_sheets": [sheet | {"used": used}]}
        assert asked({"batch": sheet["code"]}, state)["problems"][0]["code"] == "sheet-too-old"


def made(where=None, country=None):
    state = confirmed()
    state["shop"][0]["values"] |= {key: value for key, value in (("made_where", where), ("made_in", country)) if value}
    return state


# Regulation (EC) 1223/2009, Article 19(1)(a): of imported cosmetics the country of origin; 19 CFR 134.11 (from memory) of all that is imported.
@pytest.mark.parametrize(
    ("market", "where", "country", "printed", "told"),
    [("us", None, None, None, None), ("us", "us", None, None, None), ("eu", "eu", "Spain", None, None), ("eu", "us", None, "Made in USA", None),
     ("both", "us", None, "Made in USA", None), ("us", "eu", "Spain", "Made in Spain", None), ("both", "else", "Brazil", "Made in Brazil", None),
     ("eu", None, None, None, "Nobody has said where it&#39;s made"), ("us", "else", None, None, "names the country it&#39;s made in")],
)  # fmt: skip
def test_the_country_of_origin_stands_on_what_is_imported_alone(market, where, country, printed, told):
    found = shown({"market": market}, made(where, country))
    label = found.partition('class="label-sheets"')[2]
    assert ("Made in" in label) == (printed is not None) and (printed or "") in label
    for words in ("Nobody has said where it&#39;s made", "names the country it&#39;s made in"):
        assert (words in found.partition("label-faces")[0]) == (words == told)


def test_precautions_are_printed_word_for_word():
    found = shown({"precautions": "Keep out of your eyes\nFor feet only!"})
    label = found.partition('class="label-sheets"')[2]
    assert "Keep out of your eyes. For feet only!" in " ".join(re.findall(r'data-role="small">([^<]*)<', label))
    assert "None stand on this label." in shown({"market": "eu"}) and "None stand on this label." not in shown({"market": "eu", "precautions": "Rinse well"})


def test_the_sign_of_the_average_system_is_never_there_by_itself():
    european = {"market": "eu", "keeps_months": "24", "responsible": "R, 1 Street, City"}
    asks = "The e-mark takes bars of this batch weighed one by one."
    for values in (european, {"e_mark": "yes"}, {"market": "both"}):
        assert "label-estimated" not in shown(values)
    found = shown(european | {"e_mark": "yes"})
    assert "label-estimated" in found and asks in found and "label-draft" in found
    # Directive 76/211/EEC: packs of 5 g to 10 kg. 113 g is, 4 g is not.
    less = shown(european | {"e_mark": "yes", "net_g": "4"})
    assert "The e-mark is for packs of 5 g to 10 kg." in less and "The e-mark is for packs" not in found
    sheet = sheet_for_label()
    racked = [
        {"id": "c1", "kind": "cure_racked", "subject": f"cure:{sheet['code']}/1", "person": "Q", "soap": "Reed Lavender", "local": "2026-10-01T10:00",
         "values": {"code": sheet["code"], "block": "1", "bars": "90", "stands": "yes", "cut_on": "2026-10-01", "sell_on": "2026-11-25"}},
        {"id": "c2", "kind": "cure_bars", "subject": f"cure:{sheet['code']}/1", "person": "Q", "local": "2026-11-25T10:00",
         "values": {"batch": f"{sheet['code']}:1", "weights": " ".join(["125"] * 12), "weighed_in": "g", "weighed_on": "2026-11-25"}},
    ]  # fmt: skip
    state = copy.deepcopy(demo_state()) | {"label_sheets": [sheet], "cure": racked}
    weighed = shown(european | {"e_mark": "yes", "batch": sheet["code"], "net_g": "120"}, state)
    assert "label-estimated" in weighed and asks not in weighed


# What the reference sheet has from memory alone, each with a label on which it is told; and two that were read.
RECALLED = [
    ({"market": "eu"}, "or less: any order"), ({}, "Ounces to two decimals"), ({}, "may carry it anywhere"), ({}, "Soap makers list in both ways"), ({}, "19 CFR 134.11"),
    ({}, "doesn&#39;t understand sentences"), ({"market": "eu"}, "European Union: a cosmetic."), ({"market": "eu"}, "a best-before date up to 30 months"),
    ({"claims": "Heals"}, "“Heals”: makes it a drug"), ({"claims": "Heals"}, "Words that make it a drug."),
    ({"market": "eu", "keeps_months": "36"}, "the months after opening are wanted"), ({"market": "both", "e_mark": "yes"}, "Its shape is drawn from memory"),
    ({"shape": "flat", "panel_height_mm": "300", "panel_width_mm": "300"}, "for a front of 139.5 in²"),
]  # fmt: skip
READ = [({}, "for a front of 9.8 in²"), ({"market": "eu"}, "European Union: figures at least"), ({"market": "eu"}, "The EU wants a batch code"), ({"claims": "Acne"}, "“Acne”: makes it a drug"), ({"claims": "Acne"}, "Words that make it a drug.")]


@pytest.mark.parametrize(("values", "words", "marked"), [*((*each, True) for each in RECALLED), *((*each, False) for each in READ)])
def test_a_rule_from_memory_bears_its_mark_where_it_is_told_and_one_that_was_read_does_not(values, words, marked):
    found = shown(values)
    assert words in found
    (told,) = [part for part in re.findall(r"<(?:p|li|th)\b[^>]*>.*?</(?:p|li|th)>", found, re.DOTALL) if words in part]
    assert ("source-mark" in told) == marked


def test_every_figure_of_a_label_that_is_from_memory_is_told_with_its_mark():
    recalled = {line.text["id"] for line in lines_of("constants") if line.text["id"].startswith("label_") and line.numbers["value"].how == "memory"}
    # "or less: any order", "may carry it anywhere", "a best-before date up to".
    assert recalled == {"label_list_one_percent", "label_small_panel_in2", "label_best_before_months"}


# A code as workshops make them, of two letters and of six; the label that prints eight on a sheet; a printer's usual dots.
@pytest.mark.parametrize("code", ["QM-261126-1", "QUILLM-261231-24"])
@pytest.mark.parametrize("size", [("76", "64"), ("90", "70")])
def test_the_code_on_a_printed_label_is_read_by_a_reader_from_outside(code, size):
    sheet = sheet_for_label() | {"code": code}
    state = copy.deepcopy(demo_state()) | {"label_sheets": [sheet]}
    found = shown({"batch": code, "width_mm": size[0], "height_mm": size[1]}, state)
    svg = found[found.index('<svg class="soap-label"') :].partition('class="label-sheets"')[0]
    pixels = of_label(svg, 300.0, width)
    assert pixels.shape == tuple(round(float(side) / 25.4 * 300) for side in reversed(size))
    assert read(pixels) == [code]
    # ISO/IEC 18004, 6.3.8: four squares of light on each side, whatever else is printed.
    left, top, side, across = (float(each) for each in re.findall(r'class="label-code" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="[\d.]+" viewBox="0 0 (\d+)', svg)[0])
    dot = side / across
    assert (across - 2 * QUIET) % 4 == 1 and QUIET == 4 and dot == pytest.approx(0.5)
    box = [round(end / 25.4 * 300) for end in (top + 1, top + 4 * dot - 0.1, left + 0.1, left + side - 0.1)]
    assert (pixels[box[0] : box[1], box[2] : box[3]] == 255).all()


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
    assert "125\N{NO-BREAK SPACE}g" in found and "The bars weighed allow less" not in found
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
