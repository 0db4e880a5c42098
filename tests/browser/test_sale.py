"""From the rack to the customer on a phone with no network: a block released against an open check, packed, sent, and traced to where it went."""

from __future__ import annotations

from collections.abc import Callable

from floor import put
from playwright.sync_api import Page, expect
from screens import answered, control, form_of, stored


def events(page: Page, kind: str) -> list[dict]:
    return [event for event in stored(page, "events") if event["kind"] == kind]


def test_a_block_is_released_packed_sent_and_its_bars_are_found_again(offline_phone: Callable[[str], Page]) -> None:
    page = offline_phone("records/release/")
    # One tap from the list to the block.
    answered(page, "release").get_by_role("link", name="Reed Lavender").tap()
    expect(answered(page, "release")).to_contain_text("t done yet", timeout=40_000)
    form = form_of(page, "release")
    control(form, "person").fill("J")
    form.get_by_role("button", name="Keep this decision").tap()
    # An open check bars the release.
    expect(form.locator(".deed-bar [data-problems]")).to_contain_text("have not passed", timeout=40_000)
    assert events(page, "released") == []
    control(form, "what").select_option("decide")
    control(form, "reason").fill("Tested at the other bench")
    form.get_by_role("button", name="Keep this decision").tap()
    expect(answered(page, "release")).to_contain_text("Released", timeout=40_000)
    (kept,) = events(page, "released")
    assert (kept["subject"], kept["person"], kept["bars"], kept["reason"]) == ("release:QM-114/1", "J", 264, "Tested at the other bench")
    assert {each["key"]: each["state"] for each in kept["checks"]}["free_caustic"] == "unknown"

    answered(page, "release").get_by_role("link", name="Pack 264 bars").tap()
    expect(answered(page, "pack")).to_contain_text("QM-114-P1", timeout=40_000)
    pack = form_of(page, "pack")
    expect(control(pack, "parts.0.block")).to_have_value("QM-114:1")
    pack.get_by_role("button", name="They’re packed").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    # Said where it is seen; and the answer with the code for the box stands until something is typed.
    expect(page.locator("[data-notice]")).to_be_in_viewport()
    expect(answered(page, "pack")).to_contain_text("QM-114-P1")
    expect(page.locator(".stale-note")).to_have_count(0)
    (packed,) = events(page, "packed")
    assert packed["parts"] == [{"code": "QM-114", "block": 1, "bars": 264}] and packed["code"] == "QM-114-P1"
    assert packed["packaging"] == [{"lot": "BND-0004", "n": 264}]
    assert packed["subject"].startswith("packed:") and "{" not in packed["subject"]

    page.goto("records/send/")
    send = form_of(page, "send")
    control(send, "packed").select_option(label="QM-114-P1")
    control(send, "outlet").select_option(label="Corner shop")
    control(send, "bars").fill("30")
    expect(answered(page, "send")).to_contain_text("234", timeout=40_000)
    send.get_by_role("button", name="Keep it").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")

    page.goto("records/trace/")
    page.get_by_label("Lot, batch, packed lot or outlet").fill("qm-114-p1")
    page.get_by_role("button", name="Trace it").tap()
    told = answered(page, "trace")
    expect(told).to_contain_text("Corner shop", timeout=40_000)
    expect(told.locator(".sale-figures dd")).to_have_text(["30", "234", "1", "1"])

    # A batch made on paper: only a rack knows of it, and it is said so, with each lot and under its own code.
    put(page, [{"id": "rack-pp", "at": "2026-11-02T08:00:00.000Z", "local": "2026-11-02T08:00:00+00:00", "kind": "cure_racked", "subject": "cure:PP-1/1", "person": "J", "soap": "Goat Milk", "water": 0.2,
                "values": {"code": "PP-1", "block": "1", "bars": "96", "stands": "yes", "cut_on": "2026-11-02"}}], None)  # fmt: skip
    page.reload()
    field = page.get_by_label("Lot, batch, packed lot or outlet")
    for typed, said in (("olv0412", "before you call this list whole"), ("pp 1", "What went into PP-1 isn’t recorded here. Look at its paper sheet.")):
        field.fill(typed)
        page.get_by_role("button", name="Trace it").tap()
        expect(told).to_contain_text(said, timeout=40_000)
    expect(told).to_contain_text("96 bars, not packed")
