"""A pour out of two lots: each weighing's own lot counts, in the closing record and in what is printed of it. By hand throughout."""

import pytest
from block_records import record

from calc.block.chemistry import Block
from calc.block.closing import closing
from calc.block.log import line_of, totals
from calc.block.lots import weighed_by_lot


def weighed(n, key, reading, unit="kg", **more):
    at = f"2026-11-25T08:{n:02}:00.000Z"
    return {"id": f"e{n:02}", "at": at, "local": at, "kind": "weighed", "person": "Q", "step": key, "reading": reading, "unit": unit, "mode": "net", **more}


def chosen(n, **lots):
    at = f"2026-11-25T08:{n:02}:00.000Z"
    return {"id": f"e{n:02}", "at": at, "local": at, "kind": "lots", "person": "Q", "lots": {key.replace("_", ":"): lot for key, lot in lots.items()}}


def held_back():
    """13.02 kg out of a tank's lye, then the rest of it out of a pail."""
    events = [
        weighed(1, "oil:0", "15.74", lot="OLV-1"), weighed(2, "oil:1", "10.50"), weighed(3, "oil:2", "8.74"),
        chosen(4, lye_naoh="LYE-1121"), weighed(5, "lye:naoh:short", "13.02", lot="LYE-1121"),
        chosen(6, lye_naoh="NAO-L2"), weighed(7, "lye:naoh:top-up", "692", "g", lot="NAO-L2"),
    ]  # fmt: skip
    return Block(record(hold_back=0.05), events)


def test_what_was_weighed_of_each_lot_is_told_apart():
    block = held_back()
    assert weighed_by_lot(block)["lye:naoh"] == {"LYE-1121": pytest.approx(13_020.0), "NAO-L2": pytest.approx(692.0)}
    rows = {row["pour"]: row for row in closing(block)["amounts"]}
    lye = rows["lye:naoh"]
    assert lye["actual_g"] == pytest.approx(13_712.0)
    assert [(each["lot"], each["actual_g"]) for each in lye["lots"]] == [("LYE-1121", pytest.approx(13_020.0)), ("NAO-L2", pytest.approx(692.0))]
    # A pour out of one lot is told as ever.
    assert rows["oil:0"]["lot"] == "OLV-1" and "lots" not in rows["oil:0"]


def test_each_line_of_the_printed_record_names_its_own_lot_and_the_total_names_both():
    block = held_back()
    lines = {done.step["key"]: line_of(block, done) for done in block.events.weighings()}
    assert (lines["lye:naoh:short"]["lot"], lines["lye:naoh:top-up"]["lot"]) == ("LYE-1121", "NAO-L2")
    told = [(line["lot"], line["read"]) for line in totals(block)]
    assert ("LYE-1121, NAO-L2", "13.72 kg") in told and ("LYE-1121", "13.02 kg") in told and ("NAO-L2", "0.70 kg") in told
    assert sum("LYE-1121" in line or "NAO-L2" in line for line in closing(block)["deviations"]) == 2


def test_a_weighing_from_before_each_kept_its_lot_goes_by_what_was_chosen():
    block = Block(record(), [chosen(1, oil_0="OLV-9"), weighed(2, "oil:0", "15.74")])
    assert weighed_by_lot(block)["oil:0"] == {"OLV-9": pytest.approx(15_740.0)}
