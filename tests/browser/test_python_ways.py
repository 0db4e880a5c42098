"""The ways Python starts, what happens when one fails, who shares a worker, and the policy under which all this runs."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.request import urlopen

import keeping
import pytest
from conftest import CHROMIUM_ARGUMENTS, Watch
from keeping import MakeSite, NewContext
from native import TODAY, evened, sheet_words
from other_build import build_name, listed
from playwright.sync_api import BrowserContext, Page, Playwright, expect
from screens import answered, control, form_of, kept_offline, until
from site_server import SiteServer

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state

faulty = keeping.faulty

# Playwright's word for a service worker that a test leaves out, so that the server's faults reach the page.
NO_COPY: dict[str, Any] = {"service_workers": "block"}
NO_COPY_SAID = "Service Worker registration blocked by Playwright"

WAY = "performance.getEntriesByName('tarewell-python-ready').map((mark) => mark.detail)"
# What a page that asks nothing by itself hands out.
DOOR = "async () => (await import(document.querySelector('script[type=module]').src)).ask"


def force(context: BrowserContext, way: str) -> None:
    context.add_init_script(f"if (location.origin !== 'null') sessionStorage.setItem('tarewell-runtime', {way!r})")


def without_copy(new_context: NewContext, site: object, *allowed: str) -> BrowserContext:
    context = new_context(site, **NO_COPY)
    context.watch.allow(NO_COPY_SAID, *allowed)
    return context


def change_blocks(page: Page, blocks: str) -> None:
    control(form_of(page, "batch_sheet"), "blocks").fill(blocks)


def shows_sheet(page: Page, blocks: str) -> None:
    """The page shows just what Python outside the browser answers for this number of blocks."""
    place = answered(page, "batch_sheet")
    expect(place).to_contain_text(f"All {blocks} blocks")
    assert evened(place.text_content() or "") == sheet_words(page.evaluate(TODAY), blocks=blocks)


def runtime(folder: Path, start: str) -> str:
    (found,) = [path for path in listed(folder) if path.startswith(f"runtime/{start}") or path.endswith(f"/{start}")]
    return found


def request(task: str, **changes: str) -> dict[str, Any]:
    return {"task": task, "values": BATCH_VALUES | changes, "state": demo_state(), "now": DEMO_NOW}


@pytest.mark.parametrize("way", ["snapshot", "fallback"])
def test_each_way_answers_as_python_outside_the_browser(new_context: NewContext, way: str) -> None:
    context = new_context()
    force(context, way)
    page = context.new_page()
    page.goto("batch/")
    answered(page, "batch_sheet")
    change_blocks(page, "7")
    shows_sheet(page, "7")
    assert page.evaluate(WAY) == [way]
    expect(page.locator("[data-python-state]")).to_have_text("Calculating on this device. No network needed.")


def test_a_way_that_fails_for_good_is_calculation_off_with_the_reason(new_context: NewContext) -> None:
    context = new_context()
    force(context, "broken")
    page = context.new_page()
    page.goto("batch/")
    expect(page.locator("[data-python-state]")).to_contain_text("Calculation is off (there is no way of starting called")
    change_blocks(page, "7")
    expect(page.locator(".stale-note:visible")).to_contain_text("Calculation is off")
    # The app is stored all the same, and its pages open.
    kept_offline(page)


@pytest.mark.parametrize("fault", ["500", "html", "truncated"])
def test_a_snapshot_that_does_not_arrive_whole_gives_way_to_the_fallback(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, fault: str
) -> None:
    site = faulty()
    site.tell({runtime(site_folder, "snapshot"): fault})
    page = without_copy(new_context, site, "snapshot", "Failed to load resource").new_page()
    page.goto("batch/")
    answered(page, "batch_sheet")
    change_blocks(page, "7")
    shows_sheet(page, "7")
    assert page.evaluate(WAY) == ["fallback"]
    # The next page of this tab doesn't try it again.
    page.goto("formula/edit/")
    answered(page, "formula")
    assert page.evaluate(WAY) == ["fallback"]


def test_a_snapshot_that_never_answers_gives_way_to_the_fallback(
    faulty: MakeSite, new_context: NewContext, site_folder: Path
) -> None:
    site = faulty()
    site.tell({runtime(site_folder, "snapshot"): "hang"})
    page = without_copy(new_context, site).new_page()
    page.clock.install()
    page.goto("batch/")
    expect(page.locator("[data-python-state]")).to_contain_text("Calculation is starting")
    change_blocks(page, "7")
    # Over the watchdog's patience, without waiting for it; each sign of life sets it back.
    for _ in range(20):
        page.clock.fast_forward(61_000)
        if page.evaluate("sessionStorage.getItem('tarewell-runtime')"):
            break
    assert page.evaluate("sessionStorage.getItem('tarewell-runtime')") == "fallback"
    shows_sheet(page, "7")


def test_when_neither_way_arrives_calculation_is_off_and_opening_the_page_again_mends_it(
    faulty: MakeSite, new_context: NewContext, site_folder: Path
) -> None:
    site = faulty()
    site.tell({runtime(site_folder, "pyodide.asm.wasm"): "500"})
    page = without_copy(new_context, site, "Failed to load resource", "wasm").new_page()
    page.goto("batch/")
    state = page.locator("[data-python-state]")
    expect(state).to_contain_text("Calculation is off (", timeout=20_000)
    assert re.search(r"off \([^)]{6,}", state.inner_text())
    site.tell()
    page.reload()
    answered(page, "batch_sheet")
    change_blocks(page, "7")
    shows_sheet(page, "7")


def test_a_host_that_gives_the_runtime_a_wrong_type_does_no_lasting_harm(
    faulty: MakeSite, new_context: NewContext, site_folder: Path
) -> None:
    """Once stored, the app calculates, whatever type the host gave: many an old host knows no WebAssembly."""
    site = faulty()
    site.tell({runtime(site_folder, "pyodide.asm.wasm"): "type:application/octet-stream"})
    context = new_context(site)
    context.watch.allow("wasm", "ERR_CONNECTION")
    first = context.new_page()
    first.goto("batch/")
    kept_offline(first)
    first.close()
    site.kill()
    page = context.new_page()
    page.goto("batch/")
    answered(page, "batch_sheet")
    change_blocks(page, "7")
    shows_sheet(page, "7")


def test_a_browser_without_webassembly_is_told_so(
    playwright: Playwright, chromium_options: dict[str, Any], server: SiteServer
) -> None:
    options = {**chromium_options, "args": [*CHROMIUM_ARGUMENTS, "--js-flags=--jitless"]}
    browser = playwright.chromium.launch(**options)
    try:
        page = browser.new_page(base_url=server.url)
        page.goto("batch/")
        assert page.evaluate("typeof WebAssembly") == "undefined"
        expect(page.locator("[data-python-state]")).to_contain_text("Calculation is off (", timeout=20_000)
        expect(page.locator("[data-python-state]")).to_contain_text("WebAssembly")
        expect(page.locator('[data-answer="batch_sheet"]')).to_contain_text("Before the lye")
        page.goto("es/scale/")
        expect(page.locator("[data-python-state]")).to_contain_text("este navegador no tiene WebAssembly", timeout=20_000)
    finally:
        browser.close()


def test_a_fault_inside_python_comes_back_as_one_and_the_next_question_is_answered(new_context: NewContext) -> None:
    page = new_context().new_page()
    page.goto("sources/")
    ask = f"async (request) => (await ({DOOR})())(request)"
    for wrong in (request("no_such_task"), {"task": "batch_sheet"}):
        reply = page.evaluate(ask, wrong)
        assert reply["fault"] and "\n" not in reply["fault"]
        assert "Traceback" in reply["report"]
        assert "ok" not in reply
    reply = page.evaluate(ask, request("batch_sheet", blocks="3"))
    assert reply["ok"] and "All 3 blocks" in evened(reply["html"]["batch_sheet"])


def test_an_overtaken_question_is_dropped_and_another_tasks_is_not(new_context: NewContext) -> None:
    page = new_context().new_page()
    page.goto("sources/")
    replies = page.evaluate(
        f"async (requests) => {{ const ask = await ({DOOR})(); return Promise.all(requests.map(ask)); }}",
        [request("batch_sheet", blocks="2"), request("workshop"), request("batch_sheet", blocks="3"),
         request("batch_sheet", blocks="4")],
    )  # fmt: skip
    assert replies[0] is None and replies[2] is None
    assert "workshop" in replies[1]["html"]
    assert "All 4 blocks" in evened(replies[3]["html"]["batch_sheet"])


def test_fast_typing_ends_with_the_answer_to_the_last_key(new_context: NewContext) -> None:
    page = new_context().new_page()
    page.goto("batch/")
    answered(page, "batch_sheet")
    control(form_of(page, "batch_sheet"), "blocks").press("End")
    for blocks in ("3", "4", "5", "6", "7"):
        page.keyboard.press("Backspace")
        page.keyboard.type(blocks)
    expect(page.locator('[data-answer="batch_sheet"]')).to_contain_text("All 7 blocks")
    shows_sheet(page, "7")


def workers(page: Page, kind: str) -> list[str]:
    """The ids of the browser's workers of one kind that run scripts of this page's origin."""
    devtools = page.context.browser.new_browser_cdp_session()  # type: ignore[union-attr]
    found = devtools.send("Target.getTargets", {"filter": [{"type": kind}]})["targetInfos"]
    devtools.detach()
    origin = re.match(r"https?://[^/]+/", page.url)
    assert origin
    return [each["targetId"] for each in found if each["url"].startswith(origin[0])]


def test_all_pages_share_one_python(faulty: MakeSite, new_context: NewContext) -> None:
    """The very worker of the first page answers a second tab, and the next page of the same tab."""
    context = new_context(faulty())
    first = context.new_page()
    first.goto("batch/")
    kept_offline(first)
    (worker,) = workers(first, "shared_worker")
    second = context.new_page()
    second.goto("batch/")
    answered(second, "batch_sheet")
    assert workers(second, "shared_worker") == [worker]
    second.close()
    first.goto("formula/edit/")
    answered(first, "formula")
    assert workers(first, "shared_worker") == [worker]
    assert workers(first, "worker") == []


def test_without_shared_workers_each_page_has_its_own(faulty: MakeSite, new_context: NewContext) -> None:
    site = faulty()
    context = new_context(site)
    context.watch.allow("ERR_CONNECTION")
    context.add_init_script("delete globalThis.SharedWorker")
    page = context.new_page()
    page.goto("batch/")
    kept_offline(page)
    assert workers(page, "shared_worker") == []
    assert len(page.workers) == 1
    site.kill()
    page.reload()
    answered(page, "batch_sheet")
    change_blocks(page, "7")
    shows_sheet(page, "7")
    assert page.evaluate(WAY) == ["snapshot"]


def test_without_shared_workers_the_fallback_works_too(new_context: NewContext) -> None:
    context = new_context()
    context.add_init_script("delete globalThis.SharedWorker")
    force(context, "fallback")
    page = context.new_page()
    page.goto("batch/")
    answered(page, "batch_sheet")
    change_blocks(page, "7")
    shows_sheet(page, "7")
    assert page.evaluate(WAY) == ["fallback"]


def test_compiled_code_is_exercised_once_a_build_and_lets_questions_through(
    faulty: MakeSite, new_context: NewContext, site_folder: Path
) -> None:
    page = new_context(faulty()).new_page()
    page.goto("batch/")
    kept_offline(page)
    assert page.evaluate("localStorage.getItem('tarewell-exercised')") is None
    page.reload()
    answered(page, "batch_sheet")
    until(page, "localStorage.getItem('tarewell-exercised')", "the exercise")
    assert build_name(site_folder) in page.evaluate("localStorage.getItem('tarewell-exercised')")
    page.wait_for_timeout(2_500)  # into the exercise, which begins 2 s later and lasts 3 s
    change_blocks(page, "7")
    shows_sheet(page, "7")


VIOLATIONS = """
globalThis.violations = [];
document.addEventListener("securitypolicyviolation", (event) =>
  violations.push(`${event.violatedDirective} ${event.blockedURI}`));
"""


@pytest.mark.parametrize("plain", [False, True])
def test_no_page_breaks_its_own_policy_with_the_hosts_headers_or_without(
    mortal_server: Callable[..., SiteServer], new_context: NewContext, plain: bool
) -> None:
    context = new_context(mortal_server("/shop/", plain=plain))
    context.add_init_script(VIOLATIONS)
    page = context.new_page()
    for path, region in (("batch/", "batch_sheet"), ("formula/edit/", "formula"), ("workshop/edit/", "shop"),
                         ("workshop/", "workshop"), ("formula/", "formula_list"), ("sources/", ""), ("", ""),
                         ("batch/sheet/", "")):  # fmt: skip
        page.goto(path)
        if region:
            answered(page, region)
        assert page.evaluate("violations") == [], path
    kept_offline(page)


def test_the_policy_stops_what_it_should(new_context: NewContext, watches: list[Watch]) -> None:
    """Else the test before this one would prove nothing. CSP Level 3, sections 6.1 and 6.8; Trusted Types, section 3."""
    context = new_context()
    context.watch.allow("Content Security", "TrustedHTML", "TrustedScript", "another origin", "request failed")
    context.add_init_script(VIOLATIONS)
    page = context.new_page()
    page.goto("sources/")
    tries = {
        "markup": "() => { document.body.innerHTML = '<b>x</b>'; }",
        "script from text": "() => { document.createElement('script').text = 'globalThis.bad = 1'; }",
        "other origin": "() => fetch('http://127.0.0.1:1/')",
        "second policy": "() => trustedTypes.createPolicy('other', {})",
        "worker elsewhere": "() => new Worker('data:text/javascript,1')",
    }
    for name, attempt in tries.items():
        stopped = page.evaluate(f"async () => {{ try {{ await ({attempt})(); return ''; }} catch (e) {{ return String(e); }} }}")
        assert stopped, name
    page.evaluate("() => { document.body.append(Object.assign(document.createElement('p'), {style: 'color: red'})); }")
    until(page, "violations.some((each) => each.startsWith('connect-src http://127.0.0.1:1'))", "the report of it")


def test_the_hosts_headers_say_what_the_pages_say(site_folder: Path, server: SiteServer) -> None:
    """A page's policy is the same as a header and in its meta element, but for what a meta element can't carry."""
    for path in ("", "batch/", "workshop/edit/", "404.html"):
        with urlopen(server.url + path) as response:
            text = response.read().decode()
            sent = response.headers
        meta = re.search(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)"', text)
        assert meta
        # HTML standard, "pragma directives": frame-ancestors is ignored in a meta element.
        assert sent["Content-Security-Policy"] == meta[1].replace("&#39;", "'") + "; frame-ancestors 'none'"
        assert sent["X-Content-Type-Options"] == "nosniff"
        assert sent["Referrer-Policy"] == "no-referrer"
    # What several static hosts read says the same to them.
    listed_headers = dict(
        line.strip().split(": ", 1) for line in (site_folder / "_headers").read_text().splitlines()[1:]
    )
    with urlopen(server.url) as response:
        assert {name: response.headers[name] for name in listed_headers} == listed_headers
