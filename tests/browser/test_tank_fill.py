"""A tank filled step by step on a phone that dies after each step: nothing is lost, and the tank has what was weighed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from conftest import AT_HOME, PHONE
from floor import STAGE, Floor
from killing import NO_PYTHON, Attack, kill, main_process
from playwright.sync_api import Page, Playwright, expect
from screens import Touch, answered, kept_offline, stored
from site_server import SiteServer
from test_accessibility import audit, axe

__all__ = ["axe"]

LONG = 40_000
# A reading a little beside its target, as a display shows it: within the band of 1 % and on the scale's step of 20 g.
BESIDE = 0.02


class FillFloor(Floor):
    """One fill on the page."""

    def open(self) -> None:
        self.page.goto(f"scale/#/fill/{self.code}")
        self.at()


def told(page: Page, *kinds: str) -> list[dict[str, Any]]:
    found = [event for event in stored(page, "events") if (event["kind"] in kinds if kinds else event["kind"].startswith("fill_"))]
    return sorted(found, key=lambda event: (event["at"], event["id"]))


def begin(page: Page) -> str:
    """From the lye tank's page to the first screen of its fill; gives the fill's id."""
    page.goto("tanks/tank/#t-lye")
    answered(page, "tank_standing").get_by_role("link", name="Load for blocks").tap()
    expect(answered(page, "tank_plan")).to_contain_text("Water first, always.", timeout=LONG)
    page.get_by_role("button", name="Fill it step by step").tap()
    page.wait_for_url("**/scale/#/fill/*", timeout=LONG)
    return page.url.partition("#/fill/")[2]


def one_deed(floor: FillFloor, steps: dict[str, dict[str, Any]]) -> None:
    """What the screen in hand asks for, once."""
    shown = floor.at()
    if shown == "person":
        floor.sign("Q")
    elif shown == "ready":
        floor.step()
    elif shown == "timer":
        if floor.button("start-timer").count():
            floor.do("start-timer")
        else:
            floor.end_time()
    elif shown in ("weigh", "keypad", "temperature"):
        title = floor.title()
        step = next(each for each in steps.values() if each["title"] == title)
        if step["kind"] == "temperature":
            floor.keypad()
            floor.type("30")
        else:
            floor.read(f"{float(step['target_text']) + BESIDE:.2f}", twice=step["twice"])
    else:
        floor.step()


def test_a_fill_killed_at_each_step_loses_nothing_and_the_tank_has_what_was_weighed(
    playwright: Playwright, chromium_options: dict[str, Any], server: SiteServer, tmp_path: Path
) -> None:
    attack = Attack(playwright, tmp_path / "profile", {**chromium_options, **AT_HOME, **PHONE, "base_url": server.url}, seed=1)
    with attack.life() as context:
        page = context.pages[0]
        page.goto("")
        kept_offline(page)
        fill = begin(page)
        (issued,) = told(page, "fill_issued")
        steps = {step["key"]: step for step in issued["steps"]}
    kills, before = 0, 1
    for _ in range(3 * len(steps)):
        with attack.life() as context:
            # No step needs Python; a browser is ready at once without it.
            context.add_init_script(NO_PYTHON)
            page = context.pages[0]
            floor = FillFloor(Touch(page), fill)
            floor.open()
            there = told(page)
            # All that the screen had moved on from is there, each once.
            assert len(there) >= before, (there, before)
            done = [event["step"] for event in there if "step" in event and event.get("action") != "started"]
            assert len(done) == len(set(done))
            if set(done) == set(steps):
                break
            one_deed(floor, steps)
            floor.at()
            before = len(told(page))
            kill(main_process(attack.profile))
            kills += 1
    assert kills >= len(steps) - 4
    with attack.life() as context:
        page = context.pages[0]
        floor = FillFloor(Touch(page), fill)
        floor.open()
        floor.comes("fill-closing")
        expect(page.locator(f'{STAGE} [data-region="scale_record"]')).to_contain_text("In the tank then", timeout=LONG)
        floor.do("fill-close")
        floor.comes("fill-closed")
        kill(main_process(attack.profile))
    with attack.life() as context:
        page = context.pages[0]
        floor = FillFloor(Touch(page), fill)
        floor.open()
        floor.comes("fill-closed")
        (loaded,) = told(page, "tank_loaded")
        (closed,) = told(page, "fill_closed")
        assert (loaded["fill"], closed["load"], loaded["subject"]) == (fill, loaded["id"], "contents:t-lye")
        # By hand: what the displays showed, kilograms as grams.
        shown = [round(1000 * float(event["reading"])) for event in told(page, "fill_weighed")]
        assert sorted(round(part["grams"]) for part in loaded["parts"]) == sorted([shown[0], sum(shown[1:])])
        assert [part.get("lot") for part in loaded["parts"]] == [None, "NAO-0287"]
        # Corrected after its end: the record is put right, and what was wrong stays readable.
        page.goto(f"scale/#/fill/{fill}/{next(key for key in steps if 'water' in key)}")
        floor.comes("done")
        floor.correct("15.90", "The display was misread")
        page.goto(f"scale/#/fill/{fill}")
        floor.comes("fill-closing")
        expect(page.locator(f'{STAGE} [data-region="scale_record"]')).to_contain_text("In the tank then", timeout=LONG)
        floor.do("fill-close")
        floor.comes("fill-closed")
        (taken,) = told(page, "tank_taken_back")
        assert taken["takes"] == loaded["id"]
        assert sorted(round(part["grams"]) for part in told(page, "tank_loaded")[-1]["parts"]) == sorted([15_900, sum(shown[1:])])
        (corrected,) = told(page, "fill_corrected")
        assert (corrected["reading"], corrected["person"], corrected["reason"]) == ("15.90", "Q", "The display was misread")


def test_a_fill_is_asked_for_readiness_before_its_first_pour_and_stopped_counts_what_is_in(page: Page, axe: str) -> None:
    fill = begin(page)
    (issued,) = told(page, "fill_issued")
    floor = FillFloor(Touch(page), fill)
    floor.sign("Q")
    floor.comes("ready")
    # The question stands before anything is poured, and nothing was asked for yet.
    assert not told(page, "fill_weighed")
    floor.step()
    floor.step()
    assert {event["step"] for event in told(page, "fill_checked")} >= {"check:protect", "check:eyewash", "check:tank"}
    page.goto("")
    expect(page.locator("[data-in-hand]")).to_contain_text("Lye tank filling")
    page.locator("[data-in-hand] a.in-hand").tap()
    step = next(each for each in issued["steps"] if each["kind"] == "weigh")
    floor.read(step["target_text"])
    floor.at()
    # No thermometer, and no portion: before this one nothing went in that a time could be counted from.
    floor.keypad()
    floor.do("no-reading")
    floor.comes("fill-unread")
    wrong = audit(page, axe, "lye that nobody read")
    read = next(each["key"] for each in issued["steps"] if each["kind"] == "temperature")
    assert read not in {event["step"] for event in told(page, "fill_checked")}
    floor.do("fill-read")
    floor.keypad()
    floor.type("60")
    floor.at()
    # Put right to too warm before its portion is weighed: the portion waits.
    page.goto(f"scale/#/fill/{fill}/{read}")
    floor.comes("done")
    floor.correct("199", "The display was misread")
    floor.comes("fill-too-warm")
    wrong += audit(page, axe, "lye that was too warm after all")
    floor.do("fill-wait")
    floor.comes("timer")
    (decided,) = told(page, "fill_decided")
    assert (decided["step"], decided["choice"]) == (read, "wait-again")
    assert [each["step"] for each in told(page, "fill_weighed")] == [step["key"]]
    page.locator(f"{STAGE} details.more > summary", has_text="Something is wrong").tap()
    floor.do("fill-stop")
    floor.comes("fill-stop")
    expect(page.locator(f'{STAGE} [data-region="scale_record"]')).to_contain_text("Water", timeout=LONG)
    wrong += audit(page, axe, "a fill that is stopped")
    floor.why("It got too hot")
    floor.do("fill-stopped")
    floor.comes("fill-closed")
    (loaded,) = told(page, "tank_loaded")
    assert [part["name"] for part in loaded["parts"]] == ["Water"]
    expect(page.locator(STAGE)).to_contain_text("It got too hot")
    assert wrong + audit(page, axe, "a fill that is closed") == []
    page.goto("")
    expect(page.locator("[data-in-hand]")).to_be_hidden()
