"""What forms, records and tanks tell of a lot, and that nothing of it is counted twice."""

from datetime import date
from decimal import Decimal

import pytest

from calc.stock.ledger import ledger
from calc.stock.told import load_moves, lots_told, stock_moves, used
from calc.tables.reference import oils
from calc.tanks.fold import tanks

TODAY = date(2026, 11, 25)
OLIVE = {"code": "OLV-1", "oil": "olive", "in_use": "yes", "received_on": "2026-11-01", "received_g": "100", "received_g.unit": "kg", "price": "650.00"}


def saved(day, values, id_="o", kind="oil_lot"):
    return {"id": f"s{day}", "kind": "saved", "subject": f"{kind}:{id_}", "local": f"2026-11-{day:02}T12:00:00+01:00", "values": values}


def told(saves, now, kind="oil_lot"):
    return lots_told(saves, {kind: [("o", now)]} if now else {}, oils(), TODAY)


def kg(left):
    return {"left_g": left, "left_g.unit": "kg"}


def loaded(day, grams, lot="OLV-1", id_="l1", **more):
    at = f"2026-11-{day:02}T07:00:00.000Z"
    part = {"name": "Olive oil", "lot": lot, "oil": "olive", "grams": grams}
    return {"id": id_, "kind": "tank_loaded", "subject": "contents:t-oil", "at": at, "local": at, "person": "Q", "parts": [part]} | more


def weighed(day, grams, step="oil:blend", lot=None, block=1):
    at = f"2026-11-{day:02}T09:00:00.000Z"
    return {"id": f"w{day}{step}", "kind": "weighed", "subject": f"block:QM-1/{block}", "at": at, "local": at, "step": step, "reading": str(grams), "unit": "g", "mode": "net", "lot": lot}


def entry(*rows, closed="2026-11-10T10:00:00", drawn=()):
    return {"code": "QM-1", "local": "2026-11-09T08:00:00", "parts": [{"n": 1, "closed_at": closed}],
            "drawn": [{"n": n, "lot": lot, "at": "", "local": local} for n, lot, local in drawn],
            "used": [{"n": 1, "pour": pour, "kind": kind, "lot": lot, "g": grams} for pour, kind, lot, grams in rows]}  # fmt: skip


def accounts(saves, now, events=(), entries=(), sheets=(), stock=()):
    found = told(saves, now)
    held = tanks(events, TODAY)
    uses = list(used(entries, held, sheets, TODAY))
    codes = {(lot.kind, lot.id): lot.code for lot in found.lots}
    moves = [*found.counts, *load_moves(events, TODAY), *stock_moves(stock, codes, TODAY), *(move for each in uses for move in each.moves)]
    return ledger(found.lots, moves), uses


def test_a_lot_as_its_form_says_it():
    (lot,) = told([saved(2, OLIVE)], OLIVE).lots
    assert (lot.code, lot.material, lot.amount, lot.price, lot.since, lot.status) == ("OLV-1", "oil:olive", 100_000, Decimal("650.0"), "2026-11-01T", "accepted")
    assert lot.each == Decimal("0.0065") and not lot.gone


def test_what_a_form_said_was_left_is_a_count_of_the_day_it_was_saved():
    # Older forms know no more of a delivery than that.
    old = {"code": "OLV-1", "oil": "olive", "in_use": "yes", **kg("40")}
    found, _ = accounts([saved(3, old)], old, entries=[entry(("oil:0", "oil", "OLV-1", 15_000))])
    # By hand: 40 kg on the third, 15 kg into the block of the tenth.
    assert (found["OLV-1"].counted, found["OLV-1"].left) == ("2026-11-03", 25_000)


def test_saving_a_form_for_anything_else_counts_nothing_anew():
    old = {"code": "OLV-1", "oil": "olive", "in_use": "yes", **kg("40")}
    saves = [saved(3, old), saved(12, old | {"in_use": "no"})]
    found, _ = accounts(saves, saves[-1]["values"], entries=[entry(("oil:0", "oil", "OLV-1", 15_000))])
    assert (found["OLV-1"].counted, found["OLV-1"].left) == ("2026-11-03", 25_000)
    again, _ = accounts([*saves, saved(13, old | kg("24"))], old | kg("24"), entries=[entry(("oil:0", "oil", "OLV-1", 15_000))])
    assert (again["OLV-1"].left, again["OLV-1"].off) == (24_000, 1_000)


def test_a_load_that_cannot_be_read_keeps_no_other_from_counting():
    bad = [
        loaded(11, 0, id_="none"), loaded(11, 5_000, id_="half") | {"parts": [{"name": "Olive oil", "lot": "OLV-1", "grams": 5_000}, {"lot": "OLV-1"}]},
        loaded(11, 5_000, id_="text") | {"parts": ["oil"]},
    ]  # fmt: skip
    events = [*bad, loaded(12, 30_000, id_="l2")]
    found, _ = accounts([saved(2, OLIVE)], OLIVE, events)
    # By hand: of 100 kg, 30 kg went into the tank by the one load that can be read.
    assert (found["OLV-1"].loaded, found["OLV-1"].left) == (30_000, 70_000)
    assert tanks(events, TODAY).unread == 3


def test_a_lot_that_left_the_workshop_keeps_its_price_and_is_gone():
    (lot,) = told([saved(2, OLIVE), {"id": "r", "kind": "removed", "subject": "oil_lot:o", "local": "2026-11-20"}], None).lots
    assert lot.gone and not lot.usable and lot.each == Decimal("0.0065")


def test_a_form_that_cant_be_read_is_told():
    assert told([], OLIVE | {"received_g": "much"}).unread == 1


def test_what_came_out_of_a_tank_came_off_its_lot_when_it_went_in():
    # By hand: 100 kg, of which 54 go into the tank and 16 of them into the block: 46 are left, whatever the block weighed.
    row = ("oil:0", "oil", "OLV-1", 16_000)
    found, (use,) = accounts([saved(2, OLIVE)], OLIVE, [loaded(8, 54_000), weighed(10, 16_000)], [entry(row)])
    assert (found["OLV-1"].loaded, found["OLV-1"].used, found["OLV-1"].left) == (54_000, 0, 46_000)
    assert use.moves == () and [(part.lot, part.grams) for part in use.parts] == [("OLV-1", pytest.approx(16_000.0))]


def test_oil_at_the_pot_comes_off_its_lot_though_the_rest_was_blended():
    rows = (("oil:0", "oil", "OLV-1", 16_000), ("oil:1", "oil", "OLV-1", 1_000))
    sheet = {"code": "QM-1", "pours": [{"key": "oil:0", "phase": "vessel"}, {"key": "oil:1", "phase": "trace"}]}
    found, _ = accounts([saved(2, OLIVE)], OLIVE, [loaded(8, 54_000), weighed(10, 16_000)], [entry(*rows)], sheets=[sheet])
    assert (found["OLV-1"].used, found["OLV-1"].left) == (1_000, 45_000)


def test_a_block_weighed_before_the_tank_was_loaded_took_from_the_lot_itself():
    row = ("oil:0", "oil", "OLV-1", 16_000)
    found, _ = accounts([saved(2, OLIVE)], OLIVE, [loaded(12, 54_000), weighed(10, 16_000)], [entry(row)])
    assert (found["OLV-1"].loaded, found["OLV-1"].used, found["OLV-1"].left) == (54_000, 16_000, 30_000)


def test_lye_out_of_a_tank_comes_off_the_caustic_it_was_made_of():
    caustic = {"code": "NAO-1", "alkali": "naoh", "form": "solid", "received_g": "50", "received_g.unit": "kg"}
    lye = [{"name": "Caustic soda (NaOH)", "lot": "NAO-1", "grams": 20_000, "alkali": "naoh", "hydroxide_fraction": 1.0}, {"name": "Water", "grams": 40_000}]
    events = [loaded(8, 0, parts=lye, as_lot="LYE-1", subject="contents:t-lye"), weighed(10, 15_000, "lye:naoh", "LYE-1")]
    found = lots_told([], {"alkali_lot": [("a", caustic)]}, oils(), TODAY)
    (use,) = used([entry(("lye:naoh", "alkali", "LYE-1", 15_000))], tanks(events, TODAY), [], TODAY)
    account = ledger(found.lots, load_moves(events, TODAY))["NAO-1"]
    assert (account.loaded, account.left, use.moves) == (20_000, 30_000, ())
    # By hand: a third of the tank is caustic, and so is a third of 15 kg.
    assert [(part.name, part.grams) for part in use.parts] == [("Caustic soda (NaOH)", pytest.approx(5_000.0)), ("Water", pytest.approx(10_000.0))]


def moves_of(*rows):
    return [[(move.lot, move.amount) for move in use.moves] for use in used([entry(*rows)], tanks([], TODAY), [], TODAY)]


def of_mix(*parts):
    log = entry(("scent", "scent", "A, B", 1_000))
    log["used"][0]["parts"] = [{"lot": lot, "share": share} for lot, share in parts]
    return [(move.lot, move.amount) for use in used([log], tanks([], TODAY), [], TODAY) for move in use.moves]


def test_water_and_set_aside_soap_come_off_no_lot_and_a_mix_off_each_of_its_own():
    assert moves_of(("water", "water", "", 9_000), ("soap:0", "soap", "QM-0/1", 500)) == [[], []]
    assert of_mix(("A", 0.75), ("B", 0.25)) == [("A", 750), ("B", 250)]
    # What nobody named the lot of comes off none, and where nobody knows the shares nothing is guessed.
    assert of_mix(("A", 0.75), ("", 0.25)) == [("A", 750)]
    assert of_mix(("A", 0), ("C", 0), ("B", 0)) == []


def test_a_pour_out_of_two_lots_comes_off_each_by_what_was_weighed_of_it():
    caustic = {"code": "NAO-2", "alkali": "naoh", "form": "solid", "received_g": "30", "received_g.unit": "kg"}
    lye = [{"name": "Caustic soda (NaOH)", "lot": "NAO-1", "grams": 20_000, "alkali": "naoh", "hydroxide_fraction": 1.0}, {"name": "Water", "grams": 48_000}]
    events = [loaded(8, 0, parts=lye, as_lot="LYE-1", subject="contents:t-lye"), weighed(10, 13_020, "lye:naoh:short", "LYE-1"), weighed(10, 692, "lye:naoh:top-up", "NAO-2")]
    held = tanks(events, TODAY)
    rows = (("lye:naoh", "alkali", "LYE-1", 13_020), ("lye:naoh", "alkali", "NAO-2", 692))
    uses = list(used([entry(*rows)], held, [], TODAY))
    account = ledger(lots_told([], {"alkali_lot": [("a", caustic)]}, oils(), TODAY).lots, [move for use in uses for move in use.moves])["NAO-2"]
    # By hand: what was weighed of each. 13 020 g came out of the tank and off nothing else, so 68 000 - 13 020 are left in it.
    assert (account.used, account.left, held.of("t-lye").left_g) == (692, 30_000 - 692, pytest.approx(68_000 - 13_020))
    assert [(len(use.moves), len(use.parts)) for use in uses] == [(0, 2), (1, 0)]


def test_of_an_older_record_a_pour_is_split_by_what_the_display_showed_of_each_lot():
    log = entry(("oil:0", "oil", "B", 1_200))
    log["used"][0]["readings"] = [{"lot": "A", "reading": "0.75"}, {"lot": "B", "reading": "0.40"}, {"lot": "A", "reading": "0.05"}]
    # By hand: 0.80 of 1.20 kg are two thirds.
    assert [[(move.lot, move.amount) for move in use.moves] for use in used([log], tanks([], TODAY), [], TODAY)] == [[("A", 800)], [("B", 400)]]


def test_a_pour_out_of_one_lot_in_two_rows_comes_off_it_twice():
    # Two spellings of one lot are one by the time they come here.
    (account,) = accounts([saved(2, OLIVE)], OLIVE, entries=[entry(("oil:0", "oil", "OLV-1", 700), ("oil:0", "oil", "OLV-1", 300))])[0].values()
    assert account.used == 1_000


def test_counts_and_what_was_thrown_stand_until_they_are_taken_back():
    count = {"id": "c", "kind": "stock_counted", "subject": "stock:oil_lot/o", "local": "2026-11-12T09:00:00", "grams": 90_000, "person": "J", "reason": "Spilled"}
    thrown = count | {"id": "t", "kind": "stock_thrown", "local": "2026-11-13T09:00:00", "grams": 2_500}
    found, _ = accounts([saved(2, OLIVE)], OLIVE, stock=[count, thrown])
    assert (found["OLV-1"].off, found["OLV-1"].thrown, found["OLV-1"].left) == (10_000, 2_500, 87_500)
    assert (found["OLV-1"].entries[1].move.person, found["OLV-1"].entries[1].move.reason) == ("J", "Spilled")
    back = {"id": "b", "kind": "stock_taken_back", "subject": "stock:oil_lot/o", "takes": "c", "person": "J"}
    found, _ = accounts([saved(2, OLIVE)], OLIVE, stock=[count, thrown, back])
    assert (found["OLV-1"].off, found["OLV-1"].left) == (0, 97_500)


def test_a_load_taken_back_never_came_off():
    back = {"id": "b", "kind": "tank_taken_back", "subject": "contents:t-oil", "takes": "l1", "at": "2026-11-09", "local": "2026-11-09", "person": "Q"}
    found, _ = accounts([saved(2, OLIVE)], OLIVE, [loaded(8, 54_000), back])
    assert found["OLV-1"].left == 100_000


def test_two_phones_that_close_one_fill_take_it_off_its_lots_once():
    fill = {"fill": "t-oil.20261109080000"}
    one, other = loaded(8, 54_000) | fill, loaded(9, 54_000) | fill | {"id": "l2"}
    found, _ = accounts([saved(2, OLIVE)], OLIVE, [one, other])
    assert (found["OLV-1"].loaded, found["OLV-1"].left) == (54_000, 46_000)
    # Two fills are two.
    found, _ = accounts([saved(2, OLIVE)], OLIVE, [one, other | {"fill": "t-oil.20261109090000"}])
    assert found["OLV-1"].loaded == 108_000


def test_a_block_that_drew_before_a_fill_was_put_right_took_from_the_tank():
    fill = {"fill": "t-oil.20261109080000"}
    back = {"id": "b", "kind": "tank_taken_back", "subject": "contents:t-oil", "takes": "l1", "at": "2026-11-10T12", "local": "2026-11-10T12", "person": "Q"}
    right = loaded(12, 53_900) | fill | {"id": "l2"}
    found, _ = accounts([saved(2, OLIVE)], OLIVE, [loaded(8, 54_000) | fill, weighed(10, 16_000), back, right], [entry(("oil:0", "oil", "OLV-1", 16_000))])
    assert (found["OLV-1"].loaded, found["OLV-1"].used, found["OLV-1"].left) == (53_900, 0, 46_100)


def test_the_invented_workshops_lots_are_counted_after_its_own_past_and_before_all_that_is_recorded():
    demo = OLIVE | kg("40")
    past = loaded(1, 50_000) | {"days_ago": 1}
    found, _ = accounts([], demo, [past], [entry(("oil:0", "oil", "OLV-1", 15_000))])
    # By hand: 100 - 50 = 50, of which 40 were found; 15 went since.
    assert (found["OLV-1"].off, found["OLV-1"].left) == (10_000, 25_000)


def test_a_count_made_while_a_block_is_in_hand_finds_gone_what_was_weighed_before_it():
    # By hand: 100 kg came, 8 kg weighed at 10:00, 92 kg counted at 10:30, the block's record closed at noon: 92 kg are left.
    drawn = [(1, "OLV-1", "2026-11-10T10:00:00+01:00"), (2, "OLV-1", "2026-11-10T11:00:00+01:00")]
    count = {"id": "c", "kind": "stock_counted", "subject": "stock:oil_lot/o", "local": "2026-11-10T10:30:00+01:00", "grams": 92_000, "person": "Q"}
    by_weighing = entry(("oil:0", "oil", "OLV-1", 8_000), closed="2026-11-10T12:00:00", drawn=drawn)
    found, _ = accounts([saved(2, OLIVE)], OLIVE, entries=[by_weighing], stock=[count])
    assert (found["OLV-1"].left, found["OLV-1"].off) == (92_000, 0)
    # What was weighed after the count comes off it.
    later = {**count, "local": "2026-11-10T09:30:00+01:00", "grams": 100_000}
    found, _ = accounts([saved(2, OLIVE)], OLIVE, entries=[by_weighing], stock=[later])
    assert (found["OLV-1"].left, found["OLV-1"].off) == (92_000, 0)
    # Of a record that tells no weighing the time of its closing stands.
    found, _ = accounts([saved(2, OLIVE)], OLIVE, entries=[entry(("oil:0", "oil", "OLV-1", 8_000), closed="2026-11-10T12:00:00")], stock=[count])
    assert found["OLV-1"].left == 84_000
