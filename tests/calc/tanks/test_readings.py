"""Which temperatures of a tank are of what is in it now: stories told by hand."""

from datetime import datetime

from calc.tanks.readings import readings


def event(id_: str, hour: int, kind: str = "tank_temperature", **fields: object) -> dict[str, object]:
    at = f"2026-11-25T{hour:02}:10:00"
    return {"id": id_, "kind": kind, "subject": "contents:t-oil", "at": f"{at}.000Z", "local": f"{at}+00:00", "person": "Q", **fields}


def degrees(*events: dict[str, object]) -> list[float]:
    return [each.temperature_c for each in readings(events, "t-oil")]


def test_readings_come_in_the_order_of_time_with_their_time():
    found = readings([event("b", 14, temperature_c=41.0), event("a", 6, temperature_c=45.5)], "t-oil")
    assert found == ((datetime(2026, 11, 25, 6, 10), 45.5), (datetime(2026, 11, 25, 14, 10), 41.0))


def test_what_was_put_in_or_taken_out_makes_another_fill():
    for kind in ("tank_loaded", "tank_drawn", "tank_emptied"):
        assert degrees(event("a", 6, temperature_c=45.0), event("b", 8, kind), event("c", 9, temperature_c=40.0)) == [40.0]


def test_putting_a_fill_right_makes_no_other_fill():
    fill = {"fill": "t-oil.20261125061000"}
    first, right = event("a", 6, "tank_loaded", **fill), event("d", 9, "tank_loaded", **fill)
    taken = event("c", 8, "tank_taken_back", takes="a")
    assert degrees(event("z", 5, temperature_c=50.0), first, event("b", 7, temperature_c=45.0), taken, right) == [45.0]
    # Two phones that close one fill have filled it once too.
    assert degrees(first, event("b", 7, temperature_c=45.0), right) == [45.0]
    assert degrees(first, event("b", 7, temperature_c=45.0), right | {"fill": "t-oil.20261125091000"}) == []


def test_what_was_taken_back_the_skin_another_tank_and_what_cannot_be_read_are_left_out():
    events = (
        event("a", 6, temperature_c=45.0),
        event("b", 7, temperature_c=30.0),
        event("c", 8, "tank_taken_back", takes="b"),
        event("d", 9, temperature_c=28.0, instrument="infrared"),
        event("e", 10, temperature_c=60.0) | {"subject": "contents:t-lye"},
        event("f", 11, temperature_c="warm"),
        event("g", 12) | {"local": "noon", "temperature_c": 40.0},
        event("h", 13),
    )
    assert degrees(*events) == [45.0]
