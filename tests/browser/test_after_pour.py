"""From the mould to the rack on a phone: with the server dead, killed in each step, several blocks as one list, in Spanish."""

from __future__ import annotations

import random
import re
import threading
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from at_home import stamp
from conftest import AT_HOME, NARROW, PHONE
from cutter import Cutter, all_racked, all_steps, poured, told
from floor import PATIENCE, STAGE, Floor, block_events, issue, put, record_of
from killing import NO_PYTHON, Attack, kill, main_process
from playwright.sync_api import BrowserContext, Error, Page, Playwright, expect
from screens import Touch, kept_offline
from site_server import SiteServer
from test_accessibility import axe, violations, wide_parts
from test_spanish_scale import ENGLISH, typed_names

__all__ = ["axe"]

NewContext = Callable[..., BrowserContext]
MakeServer = Callable[..., SiteServer]
Record = dict[str, Any]
SERVER_GONE = "ERR_CONNECTION_REFUSED"
KINDS = {"cover": "covered", "gel": "gelled", "lift": "lifted", "confirm": "checked", "measure": "measured", "rack": "racked"}


# From a tap that stores until well after its transaction, on a busy machine.
LATE_S = 0.5
STORING = {"covered", "gel", "lifted", "after-done", "shown", "reading", "racked"}


class Mortal(Cutter):
    """Whose browser dies a moment after the next tap that stores."""

    def dies(self, process: int, late_s: float) -> None:
        self.process, self.late_s = process, late_s

    def do(self, action: str) -> None:
        if action not in STORING:
            return super().do(action)
        self.here()
        self.at()
        self.hands.press(self.button(action))
        threading.Timer(self.late_s, kill, [self.process]).start()
        self.page.wait_for_timeout(4000 * LATE_S)


def at_the_cutter(page: Page, record: Record, blocks: int = 1, hours: float = 30.0) -> Cutter:
    """The first of some blocks that were poured, one an hour."""
    page.goto("scale/")
    Floor(Touch(page), "").comes("lists")
    events = [event for block in range(1, blocks + 1) for event in poured(record, block, hours - block)]
    put(page, [record, *events])
    cutter = Cutter(Touch(page), record["code"])
    cutter.open()
    return cutter


def test_from_the_pour_to_the_rack_with_the_server_dead(new_context: NewContext, mortal_server: MakeServer) -> None:
    server = mortal_server("/")
    context = new_context(server, **PHONE)
    context.watch.allow(SERVER_GONE)  # type: ignore[attr-defined]
    page = context.new_page()
    page.goto("")
    kept_offline(page)
    code = issue(page)
    record = record_of(page, code)
    server.kill()
    cutter = at_the_cutter(page, record)
    cutter.comes("after-cover")
    cutter.cover("lid", "North room")
    cutter.comes("after-gel")
    cutter.do("gel")
    cutter.comes("after-lift")
    # The batter as it was weighed by plan; the demo states neither its mould's weight nor a hoist.
    load = page.locator(f"{STAGE} .load")
    expect(load).to_contain_text("without the mold", timeout=2 * PATIENCE)
    assert f"{record['batter_g'] / 1000:.1f}" in load.inner_text().replace("\u00a0", " ")
    cutter.to("after-rack")
    # No key lies under the button.
    keys, button = page.locator(f"{STAGE} .keypad").bounding_box(), page.locator(f'{STAGE} [data-do="racked"]').bounding_box()
    assert keys["y"] + keys["height"] <= button["y"] + 1.0
    cutter.to("after-over")
    assert told(page, record) == [(KINDS[step["kind"]], step["key"]) for step in record["after"]]
    events = block_events(page, code)
    assert all(event["person"] == "Q" for event in events)
    covered, lifted, racked = (next(e for e in events if e["kind"] == kind) for kind in ("covered", "lifted", "racked"))
    assert (covered["cover"], covered["room"]) == ("lid", "North room")
    assert (lifted["of_formula"], lifted["in_mould"], lifted["cover"]) == (record["formula"]["name"], record["mould"]["name"], "lid")
    # Poured 29 h and the seeds' 50 minutes ago, less the minutes of the weighing.
    assert 29 * 3600 < lifted["seconds"] < 31 * 3600
    planned = record["planned"]["total"]
    assert (racked["trays"], racked["bars"]) == (4, planned)
    # 140 g over a bar from wire to wire.
    length, width, height = record["planned"]["bar_mm"]
    assert racked["density_g_per_ml"] == pytest.approx(140 / (length * width * height / 1000), rel=1e-6)
    gave = page.locator(".scale-yield")
    expect(gave).to_contain_text(f"{planned} good bars of {planned} planned: 100", timeout=2 * PATIENCE)
    page.goto(f"scale/#{code}/1")
    page.reload()
    Floor(Touch(page), code).comes("closed")
    expect(page.locator(".scale-yield")).to_contain_text("100", timeout=2 * PATIENCE)
    its_trim_goes_into_the_next_batch(page, code)


def its_trim_goes_into_the_next_batch(page: Page, code: str) -> None:
    """From the cure rack's list of what lies set aside to a sheet that takes all of it; then all of it is planned."""
    page.goto("cure/")
    page.get_by_role("link", name="Soap set aside").tap()
    expect(page.locator(".aside-lot")).to_contain_text(f"{code}/1", timeout=2 * PATIENCE)
    # What was read at the cutter: 5 kg of trim.
    assert "5 kg left" in page.locator(".aside-lot").inner_text().replace("\u00a0", " ")
    page.get_by_role("link", name="Use it in a batch").tap()
    expect(page.locator('[data-answer="batch_sheet"] .pour-lines')).to_contain_text(f"Set-aside soap {code}/1", timeout=2 * PATIENCE)
    assert page.locator('[name="soaps.0.lot"]').input_value() == f"{code}:1"
    page.get_by_role("button", name="Issue and weigh").tap()
    expect(page).to_have_url(re.compile(r"/scale/#."), timeout=2 * PATIENCE)
    second = page.url.rpartition("#")[2].partition("/")[0]
    (lot,) = record_of(page, second)["set_aside"]["lots"]
    assert (lot["id"], lot["taken_g"]) == (f"{code}:1", 5000.0)
    page.goto("cure/aside/")
    expect(page.locator(".aside-lot")).to_contain_text(f"is planned for {second}", timeout=2 * PATIENCE)


def test_three_blocks_are_one_list_all_loaves_before_all_bars_and_the_frame_is_changed_once(bare_page: Page, record: Record) -> None:
    page = bare_page
    record = {**record, "blocks": 3}
    cutter = at_the_cutter(page, record, blocks=3)
    page.goto("scale/#")
    cutter.comes("lists")
    assert page.locator('[data-list="after"] li').count() == 3
    cutter.open()
    all_racked(cutter)
    code = record["code"]
    every = [event for block in (1, 2, 3) for event in block_events(page, code, block) if event.get("step", "").startswith("after:")]
    order = sorted(every, key=lambda event: event["at"])
    place = {(event["subject"][-1], event["step"]): n for n, event in enumerate(order)}
    assert len(place) == len(order) == 3 * len(record["after"])
    assert max(place[block, "after:loaves"] for block in "123") < min(place[block, "after:bars"] for block in "123")
    frames = [event for event in order if event["step"] == "after:frame"]
    assert [event.get("accepts") for event in frames] == [None, frames[0]["id"], frames[0]["id"]]


def test_whatever_is_killed_in_each_step_is_stored_once_or_asked_again(
    playwright: Playwright, chromium_options: dict[str, Any], server: SiteServer, tmp_path: Path, record: Record
) -> None:
    attack = Attack(playwright, tmp_path / "profile", {**chromium_options, **AT_HOME, **PHONE, "base_url": server.url}, seed=13)
    chance = random.Random(13)
    steps = all_steps(record)
    with attack.life() as context:
        context.add_init_script(NO_PYTHON)
        at_the_cutter(context.pages[0], record)
    before: list[str] = []
    for _ in range(3 * len(steps)):
        with attack.life() as context:
            context.add_init_script(NO_PYTHON)
            page = context.pages[0]
            page.goto("scale/")
            found = told(page, record)
            keys = [step for _, step in found]
            assert len(set(keys)) == len(keys), "stored twice"
            assert keys[: len(before)] == before, "lost"
            before = keys
            cutter = Mortal(Touch(page), record["code"])
            cutter.open()
            if cutter.at() == "after-over":
                break
            if cutter.at() == "person":
                cutter.do("person")
            cutter.dies(main_process(attack.profile), chance.uniform(0.0, LATE_S))
            with suppress(Error, AssertionError):
                cutter.step()
    assert keys == steps


def test_a_workshop_that_leaves_it_untouched_is_told_the_mould_alone_and_one_may_end_it(bare_page: Page, record: Record) -> None:
    page = bare_page
    cutter = at_the_cutter(page, record)
    page.goto("")
    expect(page.locator("[data-due] li", has_text="Cover the mold")).to_have_count(0)
    cutter.open()
    cutter.cover()
    cutter.comes("after-gel")
    page.goto("")
    row = page.locator("[data-due] li", has_text="Check for gel")
    expect(row).to_have_count(1)
    row.locator("a").tap()
    cutter.comes("after-gel")
    page.locator(f"{STAGE} details.more summary").tap()
    cutter.do("end-here")
    cutter.comes("after-end-here")
    cutter.do("leave")
    page.locator(f"{STAGE} details.more summary").tap()
    cutter.do("end-here")
    cutter.why("We don't note this part")
    cutter.do("ended-here")
    cutter.comes("after-over")
    (ended,) = [event for event in block_events(page, record["code"]) if event["kind"] == "ended"]
    assert ended["reason"] == "We don't note this part"
    page.goto("")
    expect(page.locator("[data-due] li", has_text=record["formula"]["name"])).to_have_count(0)


def test_bars_that_are_set_aside_are_told_with_a_reason_and_a_count_can_be_put_right(bare_page: Page, record: Record) -> None:
    page = bare_page
    cutter = at_the_cutter(page, record)
    cutter.to("after-count")
    cutter.do("read")
    cutter.digits("249", "reading")
    cutter.comes("after-count")
    cutter.do("read")
    cutter.digits("3", "reading")
    cutter.comes("after-set-aside")
    cutter.why("Chipped or broken at the wires")
    cutter.do("set-aside")
    cutter.comes("after-rack")
    (aside,) = [event for event in block_events(page, record["code"]) if event.get("step") == "after:set-aside"]
    assert (aside["reading"], aside["reason"]) == ("3", "Chipped or broken at the wires")
    page.goto(f"scale/#{record['code']}/1/after%3Agood")
    cutter.comes("done")
    cutter.do("correct")
    cutter.digits("250", "reading")
    cutter.comes("why-corrected")
    cutter.why("It was mistyped")
    cutter.do("corrected-because")
    cutter.comes("after-rack")
    expect(page.locator(STAGE)).to_contain_text("Good bars: 250")


def test_the_time_in_the_mould_is_the_workshops_own_from_three_blocks_on(bare_page: Page, record: Record) -> None:
    page = bare_page
    cutter = at_the_cutter(page, record, hours=5)
    cutter.to("after-gel")
    cutter.do("gel")
    cutter.comes("after-waits")
    expect(page.locator(STAGE)).to_contain_text("until 3 blocks")
    then = datetime.now(UTC) - timedelta(days=20)
    lifted = [
        {"id": f"seed-lifted-{n}", **stamp(then), "kind": "lifted",
         "subject": f"block:OLD-{n}/1", "person": "Q", "step": "after:lift", "seconds": hours * 3600, "cover": "lid",
         "of_formula": record["formula"]["name"], "in_mould": record["mould"]["name"]}
        for n, hours in enumerate((18, 20, 31))
    ]  # fmt: skip
    put(page, lifted)
    page.reload()
    cutter.comes("after-waits")
    expect(page.locator(STAGE)).to_contain_text("Your last 3 blocks")
    expect(page.locator(STAGE)).to_contain_text("18 to 31 hours")


@pytest.mark.parametrize("screen", [PHONE, NARROW], ids=["390", "320"])
def test_every_screen_of_it_keeps_the_rules_of_accessibility_and_fits(new_context: NewContext, record: Record, axe: str, screen: dict[str, Any]) -> None:
    context = new_context(**screen, service_workers="block")
    context.watch.allow("Service Worker registration blocked")  # type: ignore[attr-defined]
    context.add_init_script("if (location.origin !== 'null') sessionStorage.setItem('tarewell-runtime', 'none')")
    page = context.new_page()
    cutter = at_the_cutter(page, record)
    page.evaluate(axe)
    seen = set()
    while (shown := cutter.at()) != "after-over":
        if shown not in seen:
            seen.add(shown)
            assert violations(page, axe) == [], shown
            assert wide_parts(page) == [], shown
        cutter.step()
    assert seen >= {"after-cover", "after-gel", "after-lift", "after-confirm", "after-count", "keypad", "after-rack"}


def test_it_stands_in_spanish(bare_page: Page, record: Record) -> None:
    page = bare_page
    at_the_cutter(page, record)
    page.goto(f"es/scale/#{record['code']}/1/after")
    cutter = Cutter(Touch(page), record["code"])
    names = typed_names(record)
    while (shown := cutter.at()) != "after-over":
        for text in page.locator(STAGE).inner_text().splitlines():
            for name in names:
                text = text.replace(name, "")
            assert not ENGLISH.search(text), (shown, text)
        cutter.step()
