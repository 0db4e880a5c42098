"""The main job, from the first start to the printed sheet, with the server dead after the first visit."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from conftest import NARROW, PHONE
from playwright.sync_api import BrowserContext, Locator, Page, expect
from screens import (
    PAGES,
    Hands,
    Keys,
    Touch,
    answered,
    control,
    fill,
    form_of,
    issued_code,
    kept_offline,
    problem,
    stored,
    until,
)
from site_server import SiteServer

NewContext = Callable[..., BrowserContext]
MakeServer = Callable[..., SiteServer]

# Chromium says so when it looks for a new build and nobody answers.
SERVER_GONE = "ERR_CONNECTION_REFUSED"

WORKSHOP: list[tuple[str, dict[str, str]]] = [
    ("shop", {"name": "Sedge Lane Soap", "code_prefix": "SL", "set_density_g_per_ml": "1.03"}),
    ("mould", {"name": "Tray", "length_mm": "300", "width_mm": "200", "height_mm": "120", "fill_height_mm": "100"}),
    ("vessel", {"name": "Steel pot", "capacity_ml": "12", "tare_g": "1.5"}),
    ("scale", {"name": "Table scale", "capacity_g": "15", "division_g": "1", "reads_in": "g", "accuracy_class": "III"}),
    ("scale", {"name": "Letter scale", "capacity_g": "0.5", "division_g": "0.1", "reads_in": "g",
               "accuracy_class": "II"}),
    ("alkali_lot", {"code": "CS-7", "assay_fraction": "99", "plus_minus_fraction": "0.5"}),
    ("oil_lot", {"code": "OL-3", "oil": "olive", "saponification_value": "190", "saponification_plus_minus_value": "1"}),
]  # fmt: skip

FORMULA = {
    "name": "Plain Olive",
    "oils_text": "olive 100",
    "superfat_fraction": "0.5",
    "lye_strength_fraction": "30",
    "scent_fraction": "0",
}

# By hand, with M(NaOH) = 39.997 and M(KOH) = 56.106 g/mol (IUPAC 2021 standard atomic weights): per gram of olive oil
# 0.190 g KOH is 0.190 * 39.997 / 56.106 = 0.135447 g NaOH; less 0.5 % superfat 0.134770 g; in lye of 30 % that is
# 0.449233 g of lye. So 5 kg of batter hold 5000 / 1.449233 = 3450.1 g of oil, 464.97 g of pure NaOH: 469.7 g of a
# 99 % assay; the lye is 1549.9 g, so 1080.2 g of water; the lye then goes into the oil as one pour. The caustic and its
# jug are too much for the scale of 500 g, half of it is not: 3450 g of oil take 469.65 g of it, two times 234.8 g there.
AMOUNTS = ("1080 g", "234.8 g", "3450 g", "1550 g")
NO_BREAK = "\u00a0"


def go(hands: Hands, place: str, heading: str) -> None:
    hands.press(hands.page.get_by_role("navigation", name="Places").get_by_role("link", name=place))
    expect(hands.page.locator("h1")).to_have_text(heading)


def save(hands: Hands, task: str) -> None:
    hands.press(form_of(hands.page, task).get_by_role("button", name=re.compile("^Save")))
    expect(hands.page.locator("[data-notice]")).to_have_text("Saved.")


def affirm_plate(hands: Hands, form: Locator) -> None:
    """15 kg in steps of 1 g are 15 000 steps, more than class III allows (OIML R 76-1 Table 3, from memory): asked back."""
    hands.press(form.get_by_role("button", name=re.compile("^Save")))
    expect(problem(form, "plate_says")).to_contain_text("15000 steps")
    box = control(form, "plate_says")
    if isinstance(hands, Keys):
        hands.reach(box)
        hands.page.keyboard.press("Space")
    else:
        hands.press(box)
    expect(box).to_be_checked()


def set_up_workshop(hands: Hands) -> None:
    page = hands.page
    go(hands, "Workshop", "Workshop")
    expect(answered(page, "workshop")).to_contain_text("Quillmarsh")
    hands.press(page.get_by_role("complementary").get_by_role("link", name="My workshop"))
    go(hands, "Workshop", "Workshop")
    expect(answered(page, "workshop")).not_to_contain_text("Quillmarsh")
    expect(page.locator(".practice-bar")).to_be_hidden()
    for kind, values in WORKSHOP:
        hands.press(answered(page, "workshop").locator(f'a[href="edit/#{kind}/new"]'))
        form = form_of(page, kind)
        expect(control(form, next(iter(values)))).to_have_value("")
        fill(hands, form, values)
        answered(page, kind)
        if values.get("name") == "Table scale":
            affirm_plate(hands, form)
        save(hands, kind)
        expect(answered(page, "workshop")).to_contain_text(next(iter(values.values())))


def write_formula(hands: Hands) -> None:
    page = hands.page
    go(hands, "Plan", "Formula")
    hands.press(page.get_by_role("link", name="New formula"))
    form = form_of(page, "formula")
    expect(control(form, "name")).to_have_value("")
    # The maker's own decisions have no preset.
    for name in ("superfat_fraction", "lye_strength_fraction", "scent_fraction"):
        expect(control(form, name)).to_have_value("")
    fill(hands, form, FORMULA)
    answered(page, "formula")
    save(hands, "formula")
    expect(answered(page, "formula_list")).to_contain_text("Plain Olive")


def order_batch(hands: Hands) -> None:
    page = hands.page
    hands.press(answered(page, "formula_list").get_by_role("link", name="Batch sheet of Plain Olive"))
    form = form_of(page, "batch_sheet")
    expect(control(form, "formula").locator("option:checked")).to_have_text("Plain Olive")
    for name, words in {"mould": "Tray", "vessel": "Steel pot", "naoh_lot": "CS-7"}.items():
        hands.choose(control(form, name), option_value(page, name, words))
        if name == "mould":
            hands.choose(control(form, "scale_to"), "batch_mass")
            for field, text in {"blocks": "1", "batch_mass_g": "5"}.items():
                clear_and_enter(hands, field, text)
    sheet = answered(page, "batch_sheet")
    hands.press(sheet.locator('[data-fold="pours"] > summary'))
    expect(sheet.locator(".target")).to_have_count(len(AMOUNTS))
    shown = " ".join(sheet.locator(".target").all_inner_texts()).replace(NO_BREAK, " ")
    assert all(amount in shown for amount in AMOUNTS), shown


def option_value(page: Page, name: str, words: str) -> str:
    option = page.locator(f'[name="{name}"] option').filter(has_text=words)
    return option.get_attribute("value") or ""


def clear_and_enter(hands: Hands, name: str, text: str) -> None:
    target = control(form_of(hands.page, "batch_sheet"), name)
    hands.enter(target, "")
    hands.page.keyboard.press("Control+A")
    hands.page.keyboard.press("Delete")
    hands.enter(target, text)


def issue_with_reason(hands: Hands) -> str:
    page = hands.page
    form = form_of(page, "batch_sheet")
    expect(page.locator("[data-free-lye]")).to_contain_text("Free lye is possible")
    hands.enter(control(form, "issued_by"), "M")
    hands.press(form.locator('[data-issue="weigh"]'))
    # Refused without a reason: nothing is stored, and the person is taken to what is missing.
    expect(problem(form, "reason")).to_contain_text("write down why you're going ahead")
    expect(form.locator("[data-problems]")).to_be_focused()
    assert not [each for each in stored(page, "events") if each["kind"] == "issued"]
    hands.enter(control(form, "reason"), "Trial for laundry soap.")
    hands.press(form.locator('[data-issue="print"]'))
    code = issued_code(page)
    assert re.fullmatch(r"SL-\d{6}-1", code)
    return code


def check_sheet(hands: Hands, code: str) -> None:
    page = hands.page
    sheet = page.locator("[data-sheet]")
    assert issued_code(page) == code
    # The running weights lie in the fold with every step, as the page opens.
    whole = page.locator("main details[data-whole]")
    expect(whole).to_have_js_property("open", False)
    hands.press(whole.locator("summary"))
    expect(whole).to_have_js_property("open", True)
    text = sheet.inner_text().replace(NO_BREAK, " ")
    for wanted in (*AMOUNTS, "Plain Olive", "revision 1", "OL-3", "CS-7", "Issued by M", "Trial for laundry soap."):
        assert wanted in text, f"{wanted} is not on the sheet: {text}"


def walk(page: Page, hands: Hands, server: SiteServer) -> None:
    page.goto("")
    kept_offline(page)
    server.kill()
    set_up_workshop(hands)
    write_formula(hands)
    order_batch(hands)
    code = issue_with_reason(hands)
    check_sheet(hands, code)
    page.reload()
    check_sheet(hands, code)
    expect(page.get_by_role("button", name="Print")).to_be_visible()
    for paper in ("A4", "Letter"):
        document = page.pdf(format=paper)
        # One for the pot, one for the work after the pour: tests/browser/test_print.py tells them apart.
        assert len(re.findall(rb"/Type\s*/Page\b", document)) == 2, f"not two pages of {paper}"
    find_again(page, code, hands)


def find_again(page: Page, code: str, hands: Hands) -> None:
    go(hands, "Records", "Batch log")
    hands.press(page.locator("[data-log-list]").get_by_role("link", name=code))
    hands.press(page.locator("[data-batch-sheet]"))
    check_sheet(hands, code)


def start(new_context: NewContext, mortal_server: MakeServer, prefix: str, **options: Any) -> tuple[Page, SiteServer]:
    server = mortal_server(prefix)
    return new_context(server, **options).new_page(), server


def test_the_whole_job_goes_by_touch_on_the_smallest_phone_with_the_server_dead(
    new_context: NewContext, mortal_server: MakeServer, watches: list[Any]
) -> None:
    page, server = start(new_context, mortal_server, "/", **NARROW)
    watches[-1].allow(SERVER_GONE)
    walk(page, Touch(page), server)


def test_the_whole_job_goes_by_keyboard_alone_under_a_sub_path_with_the_server_dead(
    new_context: NewContext, mortal_server: MakeServer, watches: list[Any]
) -> None:
    page, server = start(new_context, mortal_server, "/tools/soap/", viewport=PHONE["viewport"])
    watches[-1].allow(SERVER_GONE)
    walk(page, Keys(page), server)


CURRENT = """[...document.querySelectorAll("[data-answer]")].filter((each) => each.checkVisibility())
  .every((each) => each.matches("[data-live]:not([aria-busy]):not([data-stale])"))"""


def test_after_one_visit_every_page_opens_and_calculates_without_a_server(
    new_context: NewContext, mortal_server: MakeServer, watches: list[Any]
) -> None:
    page, server = start(new_context, mortal_server, "/", **PHONE)
    watches[-1].allow(SERVER_GONE)
    page.goto("sources/")
    kept_offline(page)
    server.kill()
    page.reload()
    expect(page.locator("h1")).to_have_text("Sources")
    other = page.context.new_page()
    for path in PAGES:
        other.goto(path)
        expect(other.locator("[data-python-state]")).to_have_text(re.compile(r"^(Calculating on this device|Calcula en este dispositivo)\."))
        until(other, CURRENT, f"every answer shown on {path or 'the first page'}")
    # Without the closing slash, and with the file's own name, as people type and hosts link.
    for path in ("batch", "batch/index.html"):
        other.goto(path)
        expect(other.locator("h1")).to_have_text("Batch sheet")
    other.goto("no-such-page/")
    expect(other.locator("h1")).to_have_text("There’s no page at this address")
