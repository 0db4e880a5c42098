"""Stock through the door, of events as they are stored: bars in store, counts, and that each planned block is ordered for once."""

import copy
import json
import re
from decimal import Decimal
from functools import cache

import pytest

from answers.demo import BATCH_VALUES, DEMO_NOW, PACK_VALUES, STOCK_VALUES, demo_state, practice_batch
from answers.door import answer
from answers.request import Request
from answers.state import State
from answers.stock_read import Stock, read_stock

TODAY, YESTERDAY = "2026-11-25", "2026-11-24"
BY = {"person": "Q"}


def shop(**lists):
    state = copy.deepcopy(demo_state())
    return state | {key: [*state.get(key, []), *more] for key, more in lists.items()}


def door(task, values, state, check=False):
    reply = json.loads(answer(json.dumps({"task": task, "values": values, "state": state, "now": DEMO_NOW, "check": check})))
    assert "fault" not in reply, reply.get("report")
    assert reply["ok"], reply
    return reply


def text_of(reply, task):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", reply["html"][task])).replace("\N{NO-BREAK SPACE}", " ")


def stored(record, id_, at=f"{TODAY}T07:00:00"):
    """As site/static/js/store/events.mjs puts it away."""
    return {"id": id_, "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": record["kind"], "subject": record["subject"], **record["fields"]}


def logged(code, *bars):
    parts = [{"n": n, "state": "released", "bars": each} for n, each in enumerate(bars, start=1)]
    return {"code": code, "local": "2026-10-01T08:00:00", "formulaName": "Marsh Plain", "used": [], "parts": parts}


def test_what_the_form_packs_is_no_longer_in_store():
    state = shop(stock_log=[logged("QM-109", 400, 249)])
    record = door("pack", PACK_VALUES | BY, state, check=True)["record"]
    after = shop(stock_log=[logged("QM-109", 400, 249)], packed_events=[stored(record, "p-new")])
    # By hand, of the invented workshop: 252 of block 1 released, 150 and 60 packed and 2 kept; 100 packed of block 2, and now 60 more.
    for shown, left in ((state, {1: 40, 2: 149}), (after, {1: 40, 2: 89})):
        assert {store.block: store.left for store in read(shown).stores if store.code == "QM-109"} == left


def test_the_page_tells_bars_packed_and_counted_off_and_its_form_what_is_left_then():
    pack = {"id": "p", "at": f"{YESTERDAY}T08:00:00.000Z", "local": f"{YESTERDAY}T08:00:00+00:00", "kind": "packed", "subject": "packed:p", "person": "Q",
            "code": "QM-114-P1", "parts": [{"code": "QM-114", "block": 1, "bars": 100}]}  # fmt: skip
    # By hand: of 264 bars 100 are packed, 164 left; 160 are counted: 4 off. With the other batches' 252, 40, 149 and 250 that makes 851.
    state = shop(packed_events=[pack])
    reply = door("stock_entry", {"lot": "QM-114:1", "what": "counted", "bars": "160"} | BY, state, check=True)
    assert "Then 160 bars left" in text_of(reply, "stock_entry") and "4 fewer than reckoned" in text_of(reply, "stock_entry")
    count = stored(reply["record"], "c")
    assert (count["kind"], count["subject"], count["bars"]) == ("stock_counted", "stock:bars/QM-114/1", 160)
    page = text_of(door("stock", {}, shop(packed_events=[pack], stock=[count])), "stock")
    assert "264 good at the cutter, 100 packed, 4 counted off" in page and "Good bars in store, not packed: 851" in page


def test_a_lot_that_was_counted_has_so_much_left_and_a_count_taken_back_never_was():
    record = door("stock_entry", STOCK_VALUES | BY, shop(), check=True)["record"]
    count = stored(record, "c")
    assert (count["subject"], count["grams"]) == ("stock:oil_lot/o-coc", 18_000)
    reckoned = read(shop()).accounts["COC-0233"].left
    assert read(shop(stock=[count])).accounts["COC-0233"].left == 18_000
    back = {"id": "b", "kind": "stock_taken_back", "subject": count["subject"], "person": "Q", "takes": "c"}
    assert read(shop(stock=[count, back])).accounts["COC-0233"].left == reckoned


# To order: a plan of two blocks of today, and the sheet that the invented workshop issues for two.


@cache
def sheet_record():
    return practice_batch()["record"]


def sheet(issued_on=YESTERDAY, begun=None, closed=()):
    """As site/static/js/rules/stock.mjs hands one over."""
    record = sheet_record()
    return {
        "code": record["code"], "blocks": 2, "issued_on": issued_on, "formula": "f-marsh-plain", "closed": list(closed), "begun": begun or {},
        "pours": [{name: pour[name] for name in ("key", "kind", "target_g")} for pour in record["pours"]],
        "oils": [oil["key"] for oil in record["oils"]],
        "alkalis": [{name: each[name] for name in ("pour", "alkali", "hydroxide_fraction")} for each in record["chemistry"]["alkalis"]],
    }  # fmt: skip


def plan(on=TODAY, **more):
    values = {"on": on, "starts_at": "07:00", "earlier": "yes", "blocks.0.what": "formula:f-marsh-plain", "blocks.0.blocks": "2", "blocks.0.mould": "m-block"}
    return {"id": on, "values": values | more}


def read(state) -> Stock:
    return read_stock(Request({}, State(state), DEMO_NOW))


BOTH_TODAY = {"1": TODAY, "2": TODAY}


@pytest.mark.parametrize(
    ("sheets", "blocks"),
    [
        ([], 2),
        ([sheet(TODAY)], 2),
        ([sheet(YESTERDAY)], 2),
        # Both are made: nothing of that plan is left to do.
        ([sheet(TODAY, BOTH_TODAY, [1, 2])], 0),
        ([sheet(YESTERDAY, BOTH_TODAY, [1, 2])], 0),
        ([sheet("2026-11-22", BOTH_TODAY, [1, 2])], 0),
        ([sheet(TODAY, {"1": TODAY}, [1])], 1),
        # Made yesterday for yesterday: today's two are still to be made.
        ([sheet(YESTERDAY, {"1": YESTERDAY, "2": YESTERDAY}, [1, 2])], 2),
        # One made yesterday, the other waits: it is one of today's two.
        ([sheet(YESTERDAY, {"1": YESTERDAY}, [1])], 2),
    ],
)  # fmt: skip
def test_each_planned_block_is_counted_once(sheets, blocks):
    found = read(shop(stock_sheets=sheets, day_plan=[plan()]))
    assert found.blocks == blocks
    olive = [order.need for order in found.orders if order.material == "oil:olive"]
    # 15.06 kg of olive oil a block, by its sheet's display of 20 g; a plan's is the same to that division.
    assert len(olive) == (blocks > 0) and all(abs(need - 15_060 * blocks) <= 20 * blocks for need in olive)


def test_a_sheet_stands_for_the_blocks_of_one_plan_only_and_one_that_is_planned_itself_for_no_others():
    tomorrow = plan("2026-11-26")
    assert read(shop(stock_sheets=[sheet(TODAY)], day_plan=[tomorrow, plan()])).blocks == 4
    # Issued this evening for tomorrow alone.
    assert read(shop(stock_sheets=[sheet(TODAY)], day_plan=[tomorrow])).blocks == 2
    itself = plan(**{"blocks.1.what": f"sheet:{sheet_record()['code']}", "blocks.1.blocks": "2", "blocks.1.mould": "m-block"})
    assert read(shop(stock_sheets=[sheet(TODAY)], day_plan=[itself])).blocks == 4
    assert "for 4 planned blocks" in text_of(door("stock", {}, shop(stock_sheets=[sheet(TODAY)], day_plan=[itself])), "stock")


def weighed(step, grams, lot=None, block=1):
    at = f"{TODAY}T07:30:00"
    return {"id": f"w{step}{block}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "weighed", "subject": f"block:{sheet_record()['code']}/{block}",
            "person": "Q", "step": step, "reading": str(grams), "unit": "g", "mode": "net", "lot": lot}  # fmt: skip


def test_a_begun_block_asks_no_more_for_what_it_drew_from_a_tank():
    begun = [sheet(YESTERDAY, {"1": TODAY})]
    before, after = (
        {order.material: order for order in read(shop(stock_sheets=begun, day_plan=[plan()], contents=drawn)).orders}
        for drawn in ([], [weighed("oil:blend", 33_000), weighed("lye:naoh", 10_000, "LYE-1121")])
    )
    # By hand: the tank holds 54, 36 and 30 kg; of 33 kg 45 % are olive, 30 % palm and 25 % coconut oil.
    for oil, each, drawn in (("olive", 15_060, 14_850), ("palm", 10_040, 9_900), ("coconut", 8_360, 8_250)):
        was, now = before[f"oil:{oil}"], after[f"oil:{oil}"]
        assert was.need == 2 * each and abs(now.need - (2 * each - drawn)) < Decimal("0.01")
        # What is needed and what is in the tank fall together, so that no more and no less is missing.
        assert abs((was.need - was.in_tanks) - (now.need - now.in_tanks)) < Decimal("0.01")
    # 26.9 kg of caustic of 98.1 % in 80 kg: 10 kg of it hold 3298.6 g pure, bought as flakes of 98.1 % 3362.5 g.
    assert abs((before["hydroxide:naoh"].need - after["hydroxide:naoh"].need) - Decimal("3362.5")) < 1


def test_no_block_gives_back_more_than_it_needs_and_a_closed_one_nothing():
    much = [weighed("oil:blend", 60_000)]
    open_ = {order.material: order.need for order in read(shop(stock_sheets=[sheet(YESTERDAY, {"1": TODAY})], contents=much)).orders}
    # The second block needs all of its own.
    assert open_["oil:olive"] == 15_060
    closed = {order.material: order.need for order in read(shop(stock_sheets=[sheet(YESTERDAY, {"1": TODAY}, [1])], contents=much)).orders}
    assert closed["oil:olive"] == 15_060


def weighed_off(lot, grams, code="QM-200"):
    return {"code": code, "local": f"{TODAY}T09:00:00", "formulaName": "Plain", "parts": [{"n": 1, "state": "poured", "bars": None, "closed_at": f"{TODAY}T10:00:00"}],
            "used": [{"n": 1, "pour": "oil:0", "kind": "oil", "lot": lot, "g": grams}]}  # fmt: skip


def left_of(**lists):
    return door("lots_left", {}, shop(**lists))["record"]["lots_left"]


def test_what_is_left_of_a_lot_is_what_was_counted_less_what_was_weighed_and_thrown_since():
    thrown = {"id": "s", "at": f"{TODAY}T11:00:00.000Z", "local": f"{TODAY}T11:00:00+00:00", "kind": "stock_thrown", "subject": "stock:oil_lot/o-olv", "person": "Q", "grams": 500}
    # By hand, of the invented workshop's 160 kg of olive and 9.5 kg of castor: 5 kg weighed and 0.5 kg spilled; 12 kg weighed is more than there was.
    found = left_of(stock_log=[weighed_off("OLV-0412", 5000), weighed_off("CAS-0019", 12000, "QM-201")], stock=[thrown])
    assert (found["oil_lot/o-olv"], found["oil_lot/o-cas"], found["oil_lot/o-coc"]) == (154_500.0, 0.0, 18_400.0)
    # It is what the page about stock shows; of lye in a tank the tank tells.
    read = read_stock(Request({}, State(shop(stock_log=[weighed_off("OLV-0412", 5000)], stock=[thrown])), DEMO_NOW))
    assert float(read.accounts["OLV-0412"].left) == found["oil_lot/o-olv"] and found["alkali_lot/a-tank"] is None


def test_pages_are_told_whether_what_is_left_differs_from_what_was_typed():
    def differs(**lists):
        return door("lots_left", {}, shop(**lists))["record"]["differs"]

    assert differs() is False and differs(stock_log=[weighed_off("OLV-0412", 10)]) is True
    assert differs(stock_log=[weighed_off("OF-NO-LOT", 10)]) is False


def test_a_batch_sheet_and_a_stand_in_go_by_what_is_left_and_not_by_what_was_once_typed():
    def cautions(left):
        reply = door("batch_sheet", BATCH_VALUES, demo_state() | ({} if left is None else {"lots_left": left}))
        return {lot for lot in ("OLV-0412", "PLM-0107", "COC-0233") if f"Lot {lot} has" in text_of(reply, "batch_sheet")}

    whole = {f"oil_lot/{id_}": 1e6 for id_ in ("o-olv", "o-plm", "o-coc")}
    assert cautions(whole) == set()
    assert cautions(whole | {"oil_lot/o-plm": 1000.0}) == {"PLM-0107"}
    # What nobody can tell is no lack.
    assert cautions(whole | {"oil_lot/o-plm": None}) == set()
    gone = demo_state() | {"lots_left": whole | {"oil_lot/o-plm": 0.0}}
    assert "Palm is out" in text_of(door("stand_in", {"formula": "f-marsh-plain"}, gone), "stand_in")
    assert "which oil is out?" in text_of(door("stand_in", {"formula": "f-marsh-plain"}, demo_state() | {"lots_left": whole}), "stand_in")


HONEY = BATCH_VALUES | {"formula": "f-saltgrass", "issued_by": "Q", "reason": "Asked for", "blocks": "1"}


def honey_pour(state):
    reply = door("issue_batch", HONEY, state)
    return next(pour for pour in reply["record"]["pours"] if pour["key"] == "additive:0")


def with_lots(*lots):
    state = copy.deepcopy(demo_state())
    state["additive_lot"] = [{"id": f"d{n}", "values": {"code": code, "additive": additive, "in_use": in_use}} for n, (code, additive, in_use) in enumerate(lots)]
    return state


def test_a_sheet_names_the_lot_of_an_additive_where_one_is_in_use_and_never_guesses_between_two():
    assert honey_pour(demo_state())["lot"] == "HNY-0012" and honey_pour(demo_state())["additive"] == "honey"
    assert honey_pour(with_lots(("H-1", "honey", "no"), ("H-2", "honey", "yes"), ("C-1", "clay", "yes")))["lot"] == "H-2"
    assert honey_pour(with_lots(("H-1", "honey", "yes"), ("H-2", "honey", "yes")))["lot"] is None
    assert honey_pour(with_lots(("C-1", "clay", "yes")))["lot"] is None


def test_an_additives_lot_has_an_account_and_is_traced_like_an_oils():
    row = {"n": 1, "pour": "additive:0", "kind": "additive", "lot": "HNY-0012", "g": 370}
    logged_ = {**weighed_off("OLV-0412", 1000), "used": [row], "lots": ["HNY-0012"], "drawn": [{"n": 1, "lot": "HNY-0012", "at": f"{TODAY}T09:30:00.000Z"}]}
    read = read_stock(Request({}, State(shop(stock_log=[logged_])), DEMO_NOW))
    account = read.accounts["HNY-0012"]
    # By hand, of the invented workshop: 3 kg came, 2.4 kg were counted: 600 g off; 370 g were weighed since.
    assert (account.received, account.off, account.used, account.left) == (3000, 600, 370, 2030)
    assert account.received == account.used + account.off + account.left
    # 36.00 for 3000 g: 0.012 a gram.
    assert read.values.taken["HNY-0012", "QM-200/1/additive:0"].money == Decimal("4.44")
    text = text_of(door("trace", {"code": "HNY-0012"}, shop(log_entries=[logged_])), "trace")
    assert "QM-200/1" in text and "Honey, supplier 4, B-77" in text


def test_an_additive_is_ordered_for_planned_blocks_by_whoever_keeps_lots_of_it_and_by_nobody_else():
    planned = plan(**{"blocks.0.what": "formula:f-saltgrass"})
    needed = {order.material: order for order in read(shop(day_plan=[planned])).orders}
    grams = sum(float(pour["target_g"]) for pour in door("issue_batch", HONEY, demo_state())["record"]["pours"] if pour["key"] == "additive:0")
    assert float(needed["additive:honey"].need) == pytest.approx(2 * grams) and float(needed["additive:honey"].have) == 2400.0
    none = shop(day_plan=[planned]) | {"additive_lot": []}
    assert not [order for order in read(none).orders if order.material.startswith("additive:")]
    # By an issued sheet as by a plan; one from before additives had lots tells none of which, and so is not counted.
    pours = [{"key": "additive:0", "kind": "additive", "target_g": 100.0, "additive": "honey"}]
    for pour, grams in ((pours, 100), ([{key: part for key, part in pours[0].items() if key != "additive"}], 0)):
        sheet_ = {"code": "QM-9", "blocks": 1, "issued_on": TODAY, "formula": "f-saltgrass", "closed": [], "begun": {}, "pours": pour, "oils": [], "alkalis": []}
        found = {order.material: order.need for order in read(shop(stock_sheets=[sheet_])).orders}
        assert found.get("additive:honey", 0) == grams


def test_a_lot_taken_out_of_the_workshop_takes_its_rest_with_it_and_is_worth_nothing_any_more():
    saved = {"id": "v", "kind": "saved", "subject": "oil_lot:o-old", "local": f"{YESTERDAY}T08:00:00",
             "values": {"code": "OLD-1", "oil": "avocado", "in_use": "yes", "received_on": YESTERDAY, "received_g": "25", "received_g.unit": "kg", "price": "100"}}  # fmt: skip
    used_ = weighed_off("OLD-1", 20_000)
    item = {"id": "o-old", "values": saved["values"]}
    here = read(shop(lot_saves=[saved], stock_log=[used_], oil_lot=[item]))
    gone = read(shop(lot_saves=[saved], stock_log=[used_]))
    # By hand: 5 of 25 kg are left, at 4.00 a kilogram.
    assert (here.accounts["OLD-1"].left, here.values.left["oil:avocado"].money) == (5000, 20)
    account = gone.accounts["OLD-1"]
    assert (account.left, account.off, gone.values.left["oil:avocado"].money) == (0, 5000, 0)
    assert account.received == account.used + account.off + account.left
    # What was used of it cost what it did.
    assert gone.values.taken["OLD-1", "QM-200/1/oil:0"] == here.values.taken["OLD-1", "QM-200/1/oil:0"]


def lasting(came, uses, now=("OLV-N", "20"), **more):
    """For how long the newest lot lasts; `uses`: day and kilograms of the batches that took from the older one or from it."""
    state = copy.deepcopy(demo_state())
    lot = {"oil": "olive", "in_use": "yes", "received_on": came, "received_g.unit": "kg", **more}
    state["oil_lot"] = [{"id": "n", "values": {**lot, "code": now[0], "received_g": now[1]}}, {"id": "o", "values": {**lot, "code": "OLV-O", "received_g": "500"}}]
    log = []
    for n, (day, lot_code, kg) in enumerate(uses):
        entry = weighed_off(lot_code, kg * 1000, f"QM-3{n:02}")
        entry["parts"][0]["closed_at"] = f"{day}T10:00:00"
        log.append(entry)
    read = read_stock(Request({}, State(state | {"stock_log": log}), DEMO_NOW))
    return read.lasts_days(read.accounts["OLV-N"])


def test_how_long_a_lot_lasts_goes_by_all_use_of_its_material_since_it_began():
    # By hand, on November 25: 18 of 20 kg within three days; a week at the least is reckoned with: 2 kg at 18 kg a week.
    assert lasting("2026-11-22", [("2026-11-23", "OLV-N", 18)]) == 0
    # 10 of 20 kg in the first ten days: 10 kg more last ten.
    assert lasting("2026-11-10", [("2026-11-15", "OLV-N", 4), ("2026-11-20", "OLV-N", 6)]) == 10
    # Another lot of the same oil gave 30 kg in those 60 days, which this one must give from now on: 20 kg at half a kilogram a day.
    assert lasting("2026-09-01", [("2026-09-20", "OLV-O", 3), ("2026-09-27", "OLV-O", 15), ("2026-11-20", "OLV-O", 15)]) == 40
    assert lasting("2026-11-10", []) is None


@pytest.mark.parametrize(("task", "field"), [("upkeep", "counts_from"), ("oil_lot", "received_on"), ("alkali_lot", "opened_on"), ("packaging_lot", "received_on")])
def test_what_was_done_was_done_on_no_day_to_come(task, field):
    values = dict(demo_state()[task][0]["values"]) if demo_state().get(task) else {"name": "Wash the floor", "every_days": "7"}
    for day, told in (("2026-11-26", ["day-to-come"]), (TODAY, [])):
        reply = json.loads(answer(json.dumps({"task": task, "values": values | {field: day}, "state": demo_state(), "now": DEMO_NOW, "check": True})))
        assert [each["code"] for each in reply.get("problems", ()) if each["field"] == field] == told, reply


def counted_olive(grams, **more):
    return {"id": "cnt", "at": f"{YESTERDAY}T10:00:00.000Z", "local": f"{YESTERDAY}T10:00:00+00:00", "kind": "stock_counted", "subject": "stock:oil_lot/o-olive", "person": "Q", "grams": grams, **more}


def olive_id():
    return next(entry["id"] for entry in shop()["oil_lot"] if entry["values"]["code"] == "OLV-0412")


def test_after_a_count_the_lots_own_page_says_that_it_was_counted_and_when():
    count = counted_olive(150_000.0, subject=f"stock:oil_lot/{olive_id()}")
    text = text_of(door("stock_entry", {"lot": olive_id(), "what": "counted"}, shop(stock=[count])), "stock_entry")
    assert f"left, counted {YESTERDAY}" in text and "as reckoned" not in text


def needed(state, name):
    """The line of the material, of those that the planned blocks take."""
    html = door("stock", {}, state)["html"]["stock"]
    return next(text for line in re.findall(r"<li>.*?</li>", html, re.DOTALL) if (text := re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", line)).replace("\N{NO-BREAK SPACE}", " ").strip()).startswith(name) and "needed" in text)


def test_an_order_goes_by_the_count_that_the_lots_form_holds_though_it_has_no_day():
    # The invented workshop's coconut oil was counted in its form: the lot's own page says so, and so does the order.
    line = needed(shop(day_plan=[plan()]), "Coconut oil")
    assert "Reckoned from a count." in line and "never counted since" not in line


def test_what_of_a_material_is_in_a_tank_is_said_with_the_order():
    # Of the invented workshop's full oil tank a quarter is coconut oil: 30 kg of 120 kg.
    assert "30 kg of it in tanks" in needed(shop(day_plan=[plan()]), "Coconut oil")
    assert "of it in tanks" not in needed(shop(day_plan=[plan()]) | {"contents": []}, "Coconut oil")


def test_where_no_block_is_planned_the_way_to_plan_one_is_there():
    html = door("stock", {}, shop(stock_sheets=[], day_plan=[]))["html"]["stock"]
    assert "no block is planned" in html and 'href="../../day/"' in html


def test_a_lot_under_recall_is_marked_until_the_recall_has_ended():
    begun = {"id": "b", "at": f"{YESTERDAY}T08:00:00.000Z", "local": f"{YESTERDAY}T08:00:00+00:00", "kind": "recall_begun", "subject": "after_sale:b", "person": "Q", "about": "olv-0412", "reason": "Rancid"}
    done = begun | {"id": "d", "local": f"{TODAY}T08:00:00+00:00", "kind": "recall_done"}
    for told, marked in (([], False), ([begun], True), ([done, begun], False), ([begun | {"about": "QM-109"}], False)):
        page = text_of(door("stock", {}, shop(after_sale=told)), "stock")
        own = text_of(door("stock_entry", {"lot": olive_id(), "what": "counted"}, shop(after_sale=told)), "stock_entry")
        assert ("OLV-0412 a recall was begun: weigh none of it" in page, "A recall of it was begun" in own) == (marked, marked), told


def test_a_sheet_that_names_a_lot_under_recall_says_so_before_anybody_weighs_it():
    begun = {"id": "b", "at": f"{YESTERDAY}T08:00:00.000Z", "local": f"{YESTERDAY}T08:00:00+00:00", "kind": "recall_begun", "subject": "after_sale:b", "person": "Q", "about": "OLV-0412", "reason": "Rancid"}
    for told, said in (([], False), ([begun], True)):
        text = text_of(door("batch_sheet", BATCH_VALUES, shop(after_sale=told)), "batch_sheet")
        assert ("A recall of lot OLV-0412 was begun. Weigh none of it: put another lot in use." in text) == said, text[:400]
