"""The emergency card: in reach from everywhere, first move first, without network, scripts and Python; its numbers and times."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from conftest import NARROW, PHONE, LameSite, visitor
from playwright.sync_api import BrowserContext, Locator, Page, Route, expect
from screens import PAGES, Keys, Touch, kept_offline, own_workshop, until
from site_server import SiteServer
from test_accessibility import axe, settled, wide_parts
from walking import audit_part, set_place, walk_page

NewContext = Callable[..., BrowserContext]

__all__ = ["axe"]

BUTTON = ".masthead .emergency-button"
SIDEWAYS: dict[str, Any] = {"viewport": {"width": 844, "height": 390}, "has_touch": True, "is_mobile": True}
# What stands in front at the middle of an element: itself, unless something covers it.
IN_FRONT = """(element) => {
  const {x, y, width, height} = element.getBoundingClientRect();
  return element.contains(document.elementFromPoint(x + width / 2, y + height / 2));
}"""
TOP = "(element) => element.getBoundingClientRect().top"
PLACE = {"emergency_number": "0161 496 0000", "address": "Mill Lane 3, Reedham", "eyewash": "by the door", "training_months": "12"}


def card_of(page: Page) -> Locator:
    expect(page.locator(".first-move .en")).to_have_text("Lye on a person: water first, phone second.")
    return page.locator("#emergency")


def place_form(page: Page, **values: str) -> Locator:
    """The form of the workshop's place, filled in and its button pressed."""
    own_workshop(page)
    page.goto("workshop/edit/#safety/safety")
    form = page.locator('form[data-task="safety"]')
    settled(page)
    for name, text in (PLACE | values).items():
        form.locator(f'[name="{name}"]').fill(text)
    form.get_by_role("button", name="Save ").tap()
    return form


def saved_place(page: Page, **values: str) -> None:
    place_form(page, **values)
    expect(page).to_have_url(re.compile(r"/workshop/$"))


def stored_place(page: Page, **values: str) -> None:
    """The card with the workshop's place as its form stores it, without a tap."""
    own_workshop(page)
    walk_page(page)
    set_place(page, **PLACE | values)
    page.goto("emergency/")
    until(page, "localStorage.getItem('tarewell-safety')", "the card's copy of the place")


def left_seconds(page: Page, card: str = "eyes") -> int:
    minutes, seconds = page.locator(f"#{card} [data-flush-left]").inner_text().split(":")
    return 60 * int(minutes) + int(seconds)


def tap_tile(page: Page, card: str = "eyes") -> None:
    page.locator(f'.tile[href="#{card}"]').click()
    expect(page.locator(f"#{card} [data-flush-left]")).to_be_visible()


def test_the_card_is_one_tap_away_wherever_a_page_is_scrolled_to(bare_page: Page) -> None:
    page = bare_page
    looks = [look["viewport"] for look in (PHONE, NARROW, SIDEWAYS)]
    places: dict[tuple[int, str], set[tuple[int, ...]]] = {}
    for path in PAGES:
        page.goto(path)
        language = "es" if path.startswith("es/") else "en"
        button = page.locator(BUTTON)
        for look in looks:
            page.set_viewport_size(look)
            low = look["height"] < 432
            for bottom in (False, True):
                page.evaluate("(bottom) => scrollTo(0, bottom ? document.body.scrollHeight : 0)", bottom)
                box = button.bounding_box()
                # At least 72 px: by practice, no source; a phone on its side has no room for it.
                assert box and box["width"] >= 72 and box["height"] >= (44 if low else 72), (path, box)
                here = (round(box["x"]), round(box["y"]), round(box["width"]), round(box["height"]))
                places.setdefault((look["width"], language), set()).add(here)
                assert button.evaluate(IN_FRONT), f"covered on {path or 'home'}"
        assert ("Emergencia" if language == "es" else "Emergency") in button.inner_text()
        # That each page's button leads to the card is asked of the pages themselves.
        if path in ("", "es/scale/"):
            button.tap()
            card_of(page)
    # The word is a little wider in Spanish; the right edge and the height stay.
    assert all(len(found) == 1 for found in places.values()), places
    for look in looks:
        both = places[look["width"], "en"] | places[look["width"], "es"]
        assert len({(x + width, y, height) for x, y, width, height in both}) == 1, places


@pytest.mark.parametrize("path", ["batch/", "workshop/edit/", "safety/", "sources/", "emergency/"])
@pytest.mark.parametrize("key", ["Tab", "Shift+Tab"])
def test_the_bars_that_stay_cover_nothing_that_has_the_focus(page: Page, path: str, key: str) -> None:
    """WCAG 2.2 SC 2.4.11 and 2.4.12, on the way down to the places at the bottom edge, and back up to the bar at the top."""
    page.goto(path)
    settled(page)
    back = key == "Shift+Tab"
    page.evaluate("(back) => scrollTo(0, back ? document.body.scrollHeight : 0)", back)
    page.locator(".foot a" if back else "main :is(a, button, input, select, summary):visible").nth(-1 if back else 0).focus()
    seen = 0
    for _ in range(40):
        page.keyboard.press(key)
        found = page.evaluate(
            """() => {
              const focused = document.activeElement;
              if (focused === document.body || focused.closest(".masthead, .skip")) return null;
              const bar = document.querySelector(".masthead-bar").getBoundingClientRect().bottom;
              const places = document.querySelector(".places").getBoundingClientRect();
              const {top, bottom} = focused.getBoundingClientRect();
              return {what: focused.outerHTML.slice(0, 100), free: top >= bar - 1 && bottom <= (places.top || innerHeight) + 1};
            }"""
        )
        if found is None:
            break
        seen += 1
        assert found["free"], found["what"]
    assert seen > 2


def test_the_card_is_one_tap_away_in_the_middle_of_a_block(bare_page: Page, record: dict[str, Any]) -> None:
    page = bare_page
    from floor import begun

    floor = begun(Touch(page), record)
    floor.at()
    button = page.locator(".floor-head .emergency-button")
    box = button.bounding_box()
    assert box and box["width"] >= 44 and box["height"] >= 44
    button.tap()
    card_of(page)


@pytest.mark.parametrize("offline", [False, True], ids=["server", "stored"])
def test_an_address_deep_inside_that_is_no_page_still_leads_to_the_card(new_context: NewContext, offline: bool) -> None:
    context = new_context(**PHONE, service_workers="allow" if offline else "block")
    context.watch.allow("404", "Service Worker registration blocked")
    page = context.new_page()
    if offline:
        page.goto("")
        kept_offline(page)
    page.goto("no/such/page")
    expect(page.locator("h1")).to_have_text("There’s no page at this address")
    box = page.locator(f"{BUTTON} svg").bounding_box()
    assert box and box["height"] < 60, "styles are there"
    page.locator(BUTTON).tap()
    card_of(page)


def test_the_card_needs_no_network(mortal_server: Callable[..., SiteServer], new_context: NewContext) -> None:
    server = mortal_server()
    page = new_context(server, **PHONE).new_page()
    page.goto("")
    kept_offline(page)
    server.kill()
    page.locator(BUTTON).tap()
    card_of(page)
    page.locator('.tile[href="#skin"]').tap()
    expect(page.locator("#skin [data-flush-left]")).to_have_text("30:00")


def test_the_card_needs_no_script(new_context: NewContext) -> None:
    context = new_context(**PHONE, service_workers="block")
    context.watch.allow("ERR_FAILED", "Failed to load")
    context.route("**/*", lambda route: route.abort() if route.request.resource_type == "script" else route.continue_())
    page = context.new_page()
    page.goto("emergency/")
    for card in page.locator(".tile").all():
        target = page.locator(card.get_attribute("href") or "")
        card.tap()
        expect(target).to_be_in_viewport()
        page.go_back()
    expect(page.locator("#eyes [data-flush-still]")).to_be_visible()
    expect(page.get_by_role("button")).to_have_count(0)  # none that does nothing
    page.locator('label[for="show-es"]').tap()
    expect(page.locator(".first-move .es")).to_be_visible()
    expect(page.locator(".first-move .en")).to_be_hidden()


def test_no_script_that_hangs_holds_back_the_card_or_its_timer(new_context: NewContext) -> None:
    context = new_context(**PHONE, service_workers="block")
    hanging: list[Route] = []

    def hang(route: Route) -> None:
        if route.request.resource_type == "script" and not route.request.url.endswith("/emergency.js"):
            hanging.append(route)
        else:
            route.continue_()

    context.route("**/*", hang)
    page = context.new_page()
    page.goto("emergency/", wait_until="commit")
    expect(page.locator(".tile")).to_have_count(9, timeout=4_000)
    until(page, "performance.getEntriesByName('first-contentful-paint').length", "a first paint", 4)
    page.locator('.tile[href="#eyes"]').tap()
    expect(page.locator("#eyes [data-flush-left]")).to_be_visible(timeout=4_000)
    assert hanging, "nothing hung: this test has shown nothing"
    for route in hanging:
        route.abort()
    context.watch.allow("ERR_FAILED", "Failed to load")


def test_the_card_needs_no_python(new_context: NewContext, lame_site: LameSite) -> None:
    lame_site.take_python_away()
    page = visitor(new_context, lame_site)
    page.goto("safety/")
    page.locator(BUTTON).tap()
    page.locator('.tile[href="#eyes"]').tap()
    expect(page.locator("#eyes [data-flush-left]")).to_be_visible()


def test_the_rinsing_is_timed_by_the_clock_on_the_wall_through_sleep(bare_page: Page) -> None:
    page = bare_page
    page.clock.install()
    page.goto("emergency/")
    expect(page.locator("#eyes [data-flush-running]")).to_be_hidden()
    tap_tile(page)
    # New Jersey Department of Health, fact sheet on sodium hydroxide: at least 30 minutes.
    assert left_seconds(page) >= 1795
    # As a phone that sleeps: the clock goes on, timers don't.
    page.clock.fast_forward("20:00")
    page.clock.run_for(600)
    assert 585 <= left_seconds(page) <= 600
    page.clock.fast_forward("10:01")
    page.clock.run_for(600)
    assert left_seconds(page) == 0
    expect(page.locator("#eyes [data-flush-over]")).to_be_visible()


def test_a_reload_of_an_opened_card_keeps_the_time_that_runs(bare_page: Page) -> None:
    page = bare_page
    # By the real clock: a made one hides from the page that it was reloaded.
    page.goto("emergency/")
    tap_tile(page)
    begun = page.evaluate("localStorage.getItem('tarewell-flush')")
    assert "eyes" in begun
    page.reload()
    expect(page.locator("#eyes [data-flush-left]")).to_be_visible()
    assert page.evaluate("localStorage.getItem('tarewell-flush')") == begun


def test_the_time_of_a_card_that_stays_open_never_goes_away(bare_page: Page) -> None:
    page = bare_page
    page.clock.install()
    page.goto("emergency/")
    tap_tile(page)
    page.clock.fast_forward(75 * 60_000)
    page.clock.run_for(600)
    expect(page.locator("#eyes [data-flush-over]")).to_be_visible()
    expect(page.locator("#eyes [data-flush-still]")).to_be_hidden()


def test_a_tap_on_a_tile_is_a_new_accident_whenever_the_card_was_last_read(bare_page: Page) -> None:
    page = bare_page
    page.clock.install()
    page.goto("emergency/")
    tap_tile(page)
    for minutes in (20, 35):
        page.goto("safety/")
        page.clock.fast_forward(minutes * 60_000)
        page.locator(BUTTON).click()
        tap_tile(page)
        assert left_seconds(page) >= 1795
        page.clock.fast_forward("05:00")
        page.clock.run_for(600)
        page.locator('#eyes [href="#emergency"]').click()
        tap_tile(page)
        assert left_seconds(page) >= 1795
    page.goto("safety/")
    page.clock.fast_forward("20:00")
    page.go_back()
    expect(page.locator("#eyes [data-flush-left]")).to_be_visible()
    assert left_seconds(page) >= 1795


def test_the_first_time_of_rinsing_is_kept_beside_the_one_that_counts_down(bare_page: Page) -> None:
    """Rescuers ask since when: lye in the eyes and on the skin means going from card to card."""
    page = bare_page
    page.clock.install()
    page.goto("emergency/")
    tap_tile(page)
    earlier = page.locator("#eyes [data-flush-earlier]")
    expect(earlier).to_be_hidden()
    began = page.locator("#eyes [data-flush-since]").inner_text()
    for card in ("skin", "eyes"):
        page.clock.fast_forward("04:00")
        page.clock.run_for(600)
        page.locator(".card:target [href='#emergency']").click()
        tap_tile(page, card)
    assert left_seconds(page) >= 1795
    expect(earlier).to_be_visible()
    expect(page.locator("#eyes [data-flush-first]")).to_have_text(began)
    assert page.locator("#eyes [data-flush-since]").inner_text() != began
    # The least time and half an hour later it is another accident.
    page.clock.fast_forward("58:00")
    page.clock.run_for(600)
    page.locator('#eyes [href="#emergency"]').click()
    tap_tile(page)
    expect(earlier).to_be_hidden()


def test_a_time_that_is_long_over_is_not_shown_as_if_somebody_still_rinsed(bare_page: Page) -> None:
    page = bare_page
    page.goto("emergency/")
    old = "(hours) => localStorage.setItem('tarewell-flush', JSON.stringify({eyes: Date.now() - hours * 3600000, skin: 1}))"
    page.evaluate(old, 72)
    page.reload()
    page.locator("#eyes").scroll_into_view_if_needed()
    for card in ("eyes", "skin"):
        expect(page.locator(f"#{card} [data-flush-still]")).to_be_visible()
        expect(page.locator(f"#{card} [data-flush-running]")).to_be_hidden()
    # Another card is opened, the rinsing goes on.
    page.evaluate(old, 0.6)
    page.reload()
    expect(page.locator("#eyes [data-flush-over]")).to_be_visible()


def test_a_clock_set_back_begins_the_time_anew_and_says_so(bare_page: Page) -> None:
    page = bare_page
    page.clock.install()
    page.goto("emergency/")
    tap_tile(page)
    page.clock.run_for(600_000)
    now = page.evaluate("Date.now()")
    page.clock.set_system_time(now / 1000 - 3600)  # [s]
    page.clock.run_for(1200)
    assert left_seconds(page) >= 1790
    expect(page.locator("#eyes [data-flush-changed]")).to_be_visible()


def test_a_clock_set_forward_takes_nothing_off_the_rinsing(bare_page: Page) -> None:
    page = bare_page
    page.clock.install()
    page.goto("emergency/")
    tap_tile(page)
    page.clock.run_for(600_000)
    page.clock.set_system_time(page.evaluate("Date.now()") / 1000 + 3600)  # [s]
    page.clock.run_for(1200)
    assert 1180 <= left_seconds(page) <= 1205
    expect(page.locator("#eyes [data-flush-changed]")).to_be_visible()


def test_the_card_says_that_the_eyewash_was_never_checked_is_overdue_or_not_in_order(bare_page: Page) -> None:
    page = bare_page
    # By its copy alone: a module would renew it from the records.
    page.context.watch.allow("ERR_FAILED")  # type: ignore[attr-defined]
    page.route("**/*.mjs", lambda route: route.abort())
    page.goto("emergency/")
    loud = page.locator("[data-eyewash-loud]:visible")
    expect(loud).to_contain_text("No eyewash check is recorded")
    for held, words in (
        ({"state": "faulty", "overdue_from": "2999-01-01"}, "NOT pass"),
        ({"state": "held", "overdue_from": "2020-01-01"}, "overdue"),
    ):
        page.evaluate("(held) => localStorage.setItem('tarewell-eyewash', JSON.stringify(held))", held)
        page.reload()
        expect(loud).to_contain_text(words)
    page.evaluate("localStorage.setItem('tarewell-eyewash', JSON.stringify({state: 'held', overdue_from: '2999-01-01'}))")
    page.reload()
    expect(loud).to_have_count(0)


def test_the_form_of_the_place_starts_empty_and_nothing_invented_reaches_the_card(page: Page) -> None:
    page.goto("workshop/edit/#safety")
    settled(page)
    form = page.locator('form[data-task="safety"]')
    for name in ("emergency_number", "address", "poison_centre", "eyewash"):
        expect(form.locator(f'[name="{name}"]')).to_have_value("")
    form.locator('[name="emergency_number"]').fill("112")
    form.get_by_role("button", name="Save ").tap()
    expect(form.locator('[data-problem="address"]')).to_be_visible()
    page.goto("emergency/")
    for name in ("emergency_number", "address", "eyewash"):
        expect(page.locator(f'[data-filled="{name}"]').first).to_be_hidden()


def test_an_invented_address_is_refused_and_never_shown_even_where_it_was_saved_before(page: Page) -> None:
    form = place_form(page, address="Quillmarsh Soap House, 4 Sluice Lane, Quillmarsh.")
    expect(form.locator('[data-problem="address"]')).to_contain_text("invented")
    page.goto("")
    page.evaluate(
        """async () => {
          const opening = indexedDB.open("tarewell");
          const database = await new Promise((done) => { opening.onsuccess = () => done(opening.result); });
          const at = new Date().toISOString();
          const values = {emergency_number: "999", address: "Quillmarsh Soap House, 4 Sluice Lane", eyewash: "here"};
          const writing = database.transaction("events", "readwrite");
          writing.objectStore("events").add({id: crypto.randomUUID(), at, local: at, kind: "saved", subject: "safety:safety", values});
          await new Promise((done) => { writing.oncomplete = done; });
          database.close();
        }"""
    )
    page.goto("workshop/")
    settled(page)
    page.locator(BUTTON).tap()
    expect(page.locator('[data-filled="address"]')).to_be_hidden()


def test_the_workshop_s_own_number_and_place_stand_on_the_card_once_they_are_saved(page: Page) -> None:
    saved_place(page, poison_centre="1-800-222-1222")
    page.locator(BUTTON).tap()
    expect(page.locator('[data-fill="address"]')).to_have_text(PLACE["address"])
    expect(page.locator('.call > .call-line a[data-call="emergency_number"]')).to_have_attribute("href", "tel:01614960000")
    expect(page.locator('[data-unfilled="emergency_number"]').first).to_be_hidden()
    for card in page.locator("section.card").all():
        tile = card.get_attribute("id")
        page.locator(f'.tile[href="#{tile}"]').tap()
        call = card.locator('a[data-call="emergency_number"]')
        expect(call).to_be_in_viewport()
        box = call.bounding_box()
        assert box and box["height"] >= 72
        poison = card.locator('a[data-call="poison_centre"]')
        expect(poison).to_have_count(1 if tile == "swallowed" else 0)
        page.locator(f'#{tile} [href="#emergency"]').tap()
    # US Poison Help, in the New Jersey fact sheet.
    expect(page.locator("#swallowed [data-call=poison_centre]")).to_have_attribute("href", "tel:18002221222")


def test_a_field_that_holds_more_than_one_number_is_refused_and_never_dialled(page: Page, new_context: NewContext) -> None:
    form = place_form(page, emergency_number="911 or 112")
    expect(form.locator('[data-problem="emergency_number"]')).to_contain_text("one")
    # As an older build may have left it, before the app's own scripts have come.
    card = mirrored(new_context, emergency_number="0")
    for number in ("911 or 112", "9, then 911", "112 (gate 4)", "+44 (0)161 496 0000", "call Ann"):
        card.evaluate("(number) => localStorage.setItem('tarewell-safety', JSON.stringify({emergency_number: number}))", number)
        card.reload()
        call = card.locator('.call > .call-line a[data-call="emergency_number"]')
        expect(call).to_contain_text(number)
        assert call.get_attribute("href") is None


def back_to_the_tiles(page: Page) -> None:
    """Waits for the page, too: a context that is closed in the middle of a load may never close."""
    page.locator(BUTTON).tap()
    page.wait_for_url("**/emergency/")


def test_in_an_opened_card_the_first_move_and_the_time_are_in_view_and_so_are_the_languages(bare_page: Page) -> None:
    page = bare_page
    page.goto("emergency/")
    for look in (PHONE, NARROW, SIDEWAYS):
        page.set_viewport_size(look["viewport"])
        for card in ("eyes", "skin"):
            page.locator(f'.tile[href="#{card}"]').tap()
            first = page.locator(f"#{card} .first-lines li").first
            timer = page.locator(f"#{card} [data-flush-left]")
            expect(first).to_be_in_viewport(ratio=1)
            expect(timer).to_be_in_viewport(ratio=1)
            boxes = [each.bounding_box() for each in (first, timer)]
            assert boxes[0] and boxes[1] and boxes[0]["y"] < boxes[1]["y"], "the first move stands above the time"
            assert first.evaluate(IN_FRONT)
            for label in page.locator(".language label").all():
                expect(label).to_be_in_viewport()
            page.locator('label[for="show-es"]').tap()
            expect(page.locator(f"#{card} .first-lines .es").first).to_be_in_viewport()
            page.locator('label[for="show-en"]').tap()
            back_to_the_tiles(page)


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "none"])
def test_an_opened_card_stays_where_it_is_when_another_language_is_chosen(new_context: NewContext, scripts: bool) -> None:
    context = new_context(**PHONE, service_workers="block")
    context.watch.allow("Service Worker registration blocked", "ERR_FAILED", "Failed to load")
    if not scripts:
        context.route("**/*", lambda route: route.abort() if route.request.resource_type == "script" else route.continue_())
    page = context.new_page()
    page.goto("emergency/")
    for card in ("eyes", "trapped"):
        page.locator(f'.tile[href="#{card}"]').tap()
        heading = page.locator(f"#{card}-heading")
        expect(heading).to_be_in_viewport()
        tops = [heading.evaluate(TOP)]
        for language in ("es", "en", "both", "es", "en"):
            page.locator(f'label[for="show-{language}"]').tap()
            expect(page.locator(f"#show-{language}")).to_be_checked()
            page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
            tops.append(heading.evaluate(TOP))
        assert max(tops) - min(tops) < 3, tops
        page.locator(f'#{card} [href="#emergency"]').tap()


@pytest.mark.parametrize("language", ["en", "es"])
def test_at_twice_the_text_an_opened_card_s_heading_is_below_the_bar_and_its_time_in_the_first_view(
    bare_page: Page, language: str
) -> None:
    page = bare_page
    page.goto("emergency/")
    page.locator(f'label[for="show-{language}"]').tap()
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    for card in ("eyes", "skin", "spill"):
        page.locator(f'.tile[href="#{card}"]').tap()
        heading = page.locator(f"#{card}-heading .{language}")
        expect(heading).to_be_in_viewport(ratio=1)
        assert heading.evaluate(IN_FRONT), card
        expect(page.locator(f"#{card} .first-lines .{language}").first).to_be_in_viewport(ratio=1)
        if card == "eyes":
            expect(page.locator("#eyes [data-flush-left]")).to_be_in_viewport(ratio=1)
        page.locator(f'#{card} [href="#emergency"]').tap()


@pytest.mark.parametrize("kind", [Touch, Keys], ids=["touch", "keyboard"])
def test_an_opened_card_has_the_focus_at_its_heading(bare_page: Page, kind: type) -> None:
    page = bare_page
    page.goto("emergency/")
    kind(page).press(page.locator('.tile[href="#trapped"]'))
    expect(page.locator("#trapped-heading")).to_be_focused()
    tree = page.locator("#trapped").aria_snapshot()
    # Stop, call, then block: nothing is released (workshop practice, marked so).
    order = ["Stop the machine", "air valve shut. Do NOT bleed", "Call emergency", "Block whatever", "Bleeding lets the part"]
    places = [tree.find(each) for each in order]
    assert -1 not in places and places == sorted(places), tree


@pytest.mark.parametrize("path", ["emergency/", "safety/"])
def test_each_language_is_one_tap_away_and_both_stand_side_by_side_on_a_wide_screen(bare_page: Page, path: str) -> None:
    page = bare_page
    page.goto(path)
    until(page, "!document.querySelector('[data-safety]:not([data-ready])')", "the page to be ready")
    english, spanish = page.locator("#main .en:visible"), page.locator("#main .es:visible")
    expect(english).not_to_have_count(0)
    expect(page.locator(".two-languages > :not(fieldset) .es:visible")).to_have_count(0)
    page.locator('label[for="show-es"]').tap()
    expect(page.locator(".two-languages > :not(fieldset) .en:visible")).to_have_count(0)
    page.locator('label[for="show-both"]').tap()
    both = english.count()
    expect(spanish).to_have_count(both)
    page.set_viewport_size({"width": 1100, "height": 800})
    expect(spanish).to_have_count(english.count())


# What is seen and is not marked as Spanish; a container's label is as it prints, in both.
NOT_SPANISH = """() => {
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const found = [];
  while (walk.nextNode()) {
    const element = walk.currentNode.parentElement;
    if (!/[a-z]{2}/i.test(walk.currentNode.data) || !element.checkVisibility()) continue;
    if (element.closest("[lang]").lang !== "es" && !element.closest(".label, .language, .brand, datalist")) found.push(walk.currentNode.data);
  }
  return found;
}"""


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "none"])
def test_in_spanish_no_english_is_left_on_a_safety_page_and_the_way_home_is_spanish(
    new_context: NewContext, scripts: bool
) -> None:
    context = new_context(**PHONE, service_workers="block")
    context.watch.allow("Service Worker registration blocked", "ERR_FAILED", "Failed to load")
    if not scripts:
        context.route("**/*", lambda route: route.abort() if route.request.resource_type == "script" else route.continue_())
    page = context.new_page()
    for path in ("emergency/", "safety/", "safety/labels/"):
        page.goto(path)
        if scripts:
            settled(page)
            expect(page.locator("[data-python-state]")).to_have_text("Calculating on this device. No network needed.")
            page.locator('label[for="show-en"]').tap()
        page.locator('label[for="show-es"]').tap()
        expect(page.locator("html")).to_have_attribute("lang", "es" if scripts else "en")
        left = page.evaluate(NOT_SPANISH)
        assert left == [] or scripts and all("Calculando" in each for each in left), (path, left)
        expect(page.locator(BUTTON)).to_contain_text("Emergencia")
        expect(page.locator(f"{BUTTON} .unseen")).to_be_in_viewport()
        ink = "(element) => getComputedStyle(element).color"
        assert page.locator("h1 .es").evaluate(ink) == page.locator("body").evaluate(ink), "full ink where it stands alone"
        home = page.locator(".brand:visible")
        expect(home).to_have_count(1)
        home.tap()
        expect(page).to_have_url(re.compile(r"/es/$"))
        if scripts:
            page.goto(path)
            expect(page.locator("#show-es")).to_be_checked()
            settled(page)
            expect(page.locator("[data-python-state]")).to_contain_text("Calcula")
            page.locator('label[for="show-en"]').tap()
            expect(page.locator("[data-python-state]")).to_contain_text("Calculating")
            expect(page.locator("html")).to_have_attribute("lang", "en")


def test_the_order_for_a_screen_reader_is_first_move_accidents_call_cards(bare_page: Page) -> None:
    page = bare_page
    page.goto("emergency/")
    tree = page.locator("#main").aria_snapshot()
    order = ["Emergency card", "water first", 'link "In the eyes"', 'link "Spill"', 'heading "Call"',
             'heading "Call emergency services at once when"', 'heading "In the eyes"', 'heading "Spill"']  # fmt: skip
    places = [tree.find(each) for each in order]
    assert -1 not in places and places == sorted(places), list(zip(order, places, strict=True))


def test_opened_cards_are_accessible_and_fit_at_twice_the_text(bare_page: Page, axe: str) -> None:
    page = bare_page
    stored_place(page, poison_centre="1-800-222-1222")
    wrong = []
    for card in ("eyes", "swallowed"):
        page.locator(f'.tile[href="#{card}"]').tap()
        wrong += audit_part(page, axe, card, f"#{card}")
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        wrong += [f"{card} at 200 %: {each}" for each in wide_parts(page)]
        page.evaluate("document.documentElement.style.fontSize = ''")
        back_to_the_tiles(page)
    assert wrong == []


def mirrored(new_context: NewContext, **place: str) -> Page:
    """The card with the workshop's place as the form leaves it for the card, and none of the app's own scripts."""
    context = new_context(**PHONE, service_workers="block")
    context.watch.allow("Service Worker registration blocked")
    page = context.new_page()
    page.route("**/*.mjs", lambda route: route.fulfill(body="", content_type="text/javascript"))
    page.goto("emergency/")
    page.evaluate("(place) => localStorage.setItem('tarewell-safety', JSON.stringify(place))", place)
    page.reload()
    return page


def pages_of(page: Page, paper: str) -> int:
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", page.pdf(format=paper)))


# Boxes of words that lie on one another, and the sizes of letters [pt] in first moves, other lines and numbers.
ON_PAPER = """() => {
  const seen = (element) => element.checkVisibility() && element.textContent.trim();
  const parts = "h2 .en, h2 .es, .lines .en, .lines .es, [data-flush-still] > *, .call-button > *, .first-move > span, .number > span, dd";
  const boxes = [...document.querySelectorAll("#emergency :is(" + parts + ")")].filter(seen).flatMap((element) =>
    [...element.getClientRects()].filter(({width, height}) => width && height).map((box) => ({element, box})));
  const overlaps = [];
  for (const [index, {element, box}] of boxes.entries())
    for (const other of boxes.slice(index + 1))
      if (!element.contains(other.element) && !other.element.contains(element) &&
          Math.min(box.right, other.box.right) - Math.max(box.left, other.box.left) > 1 &&
          Math.min(box.bottom, other.box.bottom) - Math.max(box.top, other.box.top) > 3)
        overlaps.push(element.textContent + " / " + other.element.textContent);
  const points = (selector) => [...document.querySelectorAll(selector)].filter(seen)
    .map((element) => Math.round(parseFloat(getComputedStyle(element).fontSize) * 72 / 9.6) / 10);
  const sizes = {first: points(".first-lines li"), other: points(".card > .lines:not(.first-lines) li"),
    number: points(".card .call-button strong"), minutes: points("[data-flush-still] > strong")};
  const halves = [...document.querySelectorAll(".card .lines .es")].filter(seen).map((element) => element.offsetLeft);
  return {overlaps, sizes, apart: Math.max(...halves) - Math.min(...halves)};
}"""


@pytest.mark.parametrize("state", ["filled", "blank", "opened"])
def test_the_wall_card_prints_in_both_languages_with_its_number_on_two_pages(bare_page: Page, state: str) -> None:
    page = bare_page
    filled = state != "blank"
    if filled:
        stored_place(page, poison_centre="1-800-222-1222")
    else:
        page.goto("emergency/")
    if state == "opened":
        tap_tile(page)
    for paper in ("A4", "Letter"):
        assert pages_of(page, paper) <= 2, paper
    page.emulate_media(media="print")
    for card in page.locator("section.card").all():
        assert card.locator("li .en").first.is_visible() and card.locator("li .es").first.is_visible()
        expect(card.locator('[data-fill="emergency_number"]')).to_be_visible(visible=filled)
    expect(page.locator(".tiles")).to_be_hidden()
    for words in page.get_by_text("Not filled in yet").all():
        expect(words).to_be_hidden()
    expect(page.get_by_text("Look at a clock").first).to_be_hidden()


@pytest.mark.parametrize("width_mm", [192, 198], ids=["A4", "Letter"])
def test_on_the_wall_card_nothing_lies_on_anything_and_what_comes_first_is_largest(
    new_context: NewContext, width_mm: int
) -> None:
    page = mirrored(new_context, **PLACE | {"emergency_number": "+44 161 496 0000", "poison_centre": "1-800-222-1222"})
    expect(page.locator('#skin [data-fill="emergency_number"]')).to_have_text("+44 161 496 0000")
    # Paper less its margins, at 96 px to the inch.
    page.set_viewport_size({"width": round(width_mm / 25.4 * 96), "height": 1000})
    page.emulate_media(media="print")
    found = page.evaluate(ON_PAPER)
    assert found["overlaps"] == []
    assert found["apart"] < 8, "each language keeps its half"
    sizes = found["sizes"]
    assert len(sizes["number"]) == 10 and len(sizes["minutes"]) == 2
    assert min(sizes["first"]) >= 13 > max(sizes["other"])
    assert min(sizes["number"] + sizes["minutes"]) > max(sizes["first"])


def test_labels_for_jugs_print_side_by_side_and_leave_nothing_out(bare_page: Page) -> None:
    page = bare_page
    page.goto("safety/labels/")
    large = pages_of(page, "A4")
    page.get_by_label("Small:").check()
    assert pages_of(page, "A4") < large
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 718, "height": 1000})  # what A4 leaves between usual margins
    first, second = (label.bounding_box() for label in page.locator(".label").all()[:2])
    assert first and second and first["x"] + first["width"] <= second["x"]
    assert page.locator(".label").filter(has_text="at least 30 minutes").count() == 6
    assert wide_parts(page) == []


def test_the_labels_that_are_ticked_are_printed_and_no_others(bare_page: Page) -> None:
    page = bare_page
    page.goto("safety/labels/")
    boxes = page.locator(".label-choice > input")
    assert boxes.count() == 7
    for box in boxes.all()[1:]:
        box.uncheck()
    page.emulate_media(media="print")
    expect(page.locator(".label:visible")).to_have_count(1)
    page.emulate_media(media="screen")
    expect(page.locator(".label:visible")).to_have_count(7)
    # A strength is asked of lye, not of hot oil or batter.
    expect(page.locator(".label", has_text="Strength")).to_have_count(2)


def test_no_print_button_stands_there_dead_without_scripts(new_context: NewContext) -> None:
    context = new_context(**PHONE, java_script_enabled=False, service_workers="block")
    context.watch.allow(".mjs csp")  # how the browser says that it runs no scripts
    page = context.new_page()
    for path in ("safety/labels/", "emergency/"):
        page.goto(path)
        expect(page.locator("main button:visible")).to_have_count(0)
