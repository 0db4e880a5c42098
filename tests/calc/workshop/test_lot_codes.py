"""One lot, whatever letters its code is typed in and whatever code its form bore before. By hand throughout."""

from calc.workshop.lot_codes import LotCodes, lot_key


def saved(id_, code, day):
    return {"kind": "saved", "subject": f"oil_lot:{id_}", "local": f"2026-11-{day:02}T08:00:00+01:00", "values": {"code": code}}


def test_blanks_and_the_case_of_letters_tell_no_lots_apart():
    assert lot_key(" Olv-0412 ") == lot_key("OLV -0412") == "olv-0412"
    assert lot_key("OLV-0412") != lot_key("OLV0412")


def test_a_known_lot_is_called_as_its_form_says_and_an_unknown_one_as_it_was_met_first():
    codes = LotCodes([], {"oil_lot": [("o", {"code": "OLV-1"})]})
    assert [codes.of("olv-1"), codes.of("ABC"), codes.of("abc"), codes.of("")] == ["OLV-1", "ABC", "ABC", ""]


def test_a_lot_whose_code_was_corrected_is_one_lot():
    saves = [saved("o", "OLV-0412", 1), saved("o", "OLV-412", 20)]
    codes = LotCodes(saves, {"oil_lot": [("o", {"code": "OLV-412"})]})
    assert codes.of("OLV-0412", "2026-11-05") == codes.of("OLV-0412", "2026-11-25") == codes.of("OLV-412", "2026-11-25") == "OLV-412"
    assert codes.once_called("OLV-412") == ("OLV-0412",) and codes.meant("olv-0412") == ("OLV-412",)


def test_of_two_lots_that_bore_one_code_the_one_is_meant_that_bore_it_by_then():
    saves = [saved("o", "A", 1), saved("o", "B", 10), saved("p", "A", 15)]
    codes = LotCodes(saves, {"oil_lot": [("o", {"code": "B"}), ("p", {"code": "A"})]})
    assert [codes.of("A", f"2026-11-{day:02}T12") for day in (5, 12, 20)] == ["B", "B", "A"]
    # Who asks for the code is told of both.
    assert codes.meant("A") == ("A", "B")


def test_lots_are_called_so_wherever_they_stand():
    codes = LotCodes([saved("o", "A", 1), saved("o", "B", 10)], {"oil_lot": [("o", {"code": "B"})]})
    loaded = codes.in_event({"kind": "tank_loaded", "local": "2026-11-20", "as_lot": "a", "parts": [{"lot": "A", "grams": 1}, {"name": "Water"}]})
    assert (loaded["as_lot"], loaded["parts"]) == ("B", [{"lot": "B", "grams": 1}, {"name": "Water"}])
    entry = {"code": "Q", "local": "2026-11-20", "lots": ["A", "b"], "drawn": [{"n": 1, "lot": "a", "at": "2026-11-20"}, {"n": 1, "lot": "", "at": "2026-11-20"}],
             "used": [{"n": 1, "lot": "A, C", "parts": [{"lot": "A", "share": 0.5}, {"lot": "C", "share": 0.5}]}]}  # fmt: skip
    told = codes.in_entry(entry)
    assert told["lots"] == ["B"] and [row["lot"] for row in told["drawn"]] == ["B", ""]
    assert [part["lot"] for part in told["used"][0]["parts"]] == ["B", "C"]
