"""What every page must carry: language, title, policy, one heading, words; and no link that leads nowhere."""

import base64
import hashlib
import json
import re
from pathlib import Path
from urllib.parse import parse_qs, unquote, urldefrag, urljoin

from html_reader import Page

from answers.demo import demo_state
from calc.workshop.kinds import KINDS, ONE_OF_A_KIND

# From the project's own plan for offline pages: the strictest policy that Python in a module worker runs under.
POLICY = {
    "default-src": "'none'",
    "script-src": "'self' 'wasm-unsafe-eval'",
    "worker-src": "'self'",
    "connect-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data:",
    "font-src": "'self'",
    "manifest-src": "'self'",
    "base-uri": "'none'",
    "form-action": "'none'",
    "require-trusted-types-for": "'script'",
    "trusted-types": "tarewell tarewell-early",
}

EXPECTED = {
    "index.html", "404.html", "formula/index.html", "formula/edit/index.html", "batch/index.html",
    "batch/sheet/index.html", "records/index.html", "records/copies/index.html", "scale/index.html", "fragrance/index.html", "records/batch/index.html", "es/records/batch/index.html",
    "workshop/index.html", "workshop/setup/index.html", "workshop/edit/index.html", "sources/index.html",
    "emergency/index.html", "safety/index.html", "safety/labels/index.html", "es/index.html", "es/records/index.html",
    "es/records/copies/index.html", "es/workshop/setup/index.html", "es/scale/index.html", "es/fragrance/index.html",
    "cut/index.html", "es/cut/index.html", "day/index.html", "es/day/index.html", "formula/stand-in/index.html", "es/formula/stand-in/index.html",
    "records/label/index.html", "es/records/label/index.html",
    "workshop/upkeep/index.html", "es/workshop/upkeep/index.html", "workshop/phones/index.html", "es/workshop/phones/index.html",
    "hand/index.html", "es/hand/index.html", "take/index.html", "es/take/index.html",
    *(f"{where}cure/{page}index.html" for where in ("", "es/") for page in ("", "drying/", "new/", "test/", "move/", "label/", "aside/")),
    *(f"{where}tanks/{page}index.html" for where in ("", "es/") for page in ("", "tank/", "plan/", "load/", "draw/", "strength/", "dissolving/")),
    *(f"{where}records/{page}/index.html" for where in ("", "es/") for page in ("trace", "release", "pack", "send", "after")),
    *(f"{where}records/stock/{page}index.html" for where in ("", "es/") for page in ("", "count/")),
    *(f"{where}tanks/{page}/index.html" for where in ("", "es/") for page in ("temperature", "heat", "mix")),
}  # fmt: skip


def rules_ahead(page):
    """What is no script, though it stands in the element of that name: it says what the browser may make ready."""
    return page.all("script", type="speculationrules")


def digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def test_every_task_has_its_page(pages):
    assert set(pages) == EXPECTED


def test_frame_of_each_page(pages):
    for name, page in pages.items():
        assert not page.unclosed, f"{name}: tags closed out of order {page.unclosed[:3]}"
        assert page.all("html")[0].get("lang") == ("es" if name.startswith("es/") else "en"), name
        assert len(page.all("h1")) == 1 and page.all("h1")[0].text.strip(), name
        assert page.all("title")[0].text.endswith("Tarewell"), name
        assert "width=device-width" in page.all("meta", name="viewport")[0].get("content"), name
        # WCAG 2.2 SC 1.4.4: pinching must stay possible
        assert "user-scalable" not in page.all("meta", name="viewport")[0].get("content"), name
        assert page.all("link", rel="manifest"), name
        assert page.all("a", **{"class": "skip"})[0].get("href") == "#main", name
        assert page.all("main", id="main"), name


def test_titles_differ(pages):
    titles = [page.all("title")[0].text for page in pages.values()]
    assert len(set(titles)) == len(titles)


def test_policy_of_each_page(pages):
    for name, page in pages.items():
        content = page.all("meta", http_equiv="Content-Security-Policy")[0].get("content")
        found = dict(part.strip().split(" ", 1) for part in content.split(";"))
        # CSP level 3, "hash-source": beside that, the one text that each page carries to say what is made ready ahead.
        scripts, _, ahead = found["script-src"].rpartition(" ")
        assert found | {"script-src": scripts} == POLICY, name
        assert {digest(element.text) for element in rules_ahead(page)} <= {ahead}, name
        assert bool(rules_ahead(page)) == (name != "emergency/index.html"), name


def test_nothing_the_policy_forbids(pages):
    for name, page in pages.items():
        for element in page.elements:
            assert "style" not in element.attributes and element.tag != "style", f"{name}: inline style"
            assert not any(key.startswith("on") for key in element.attributes), f"{name}: inline handler"
            if element.tag == "script" and element not in rules_ahead(page):
                assert element.get("src") and not element.text.strip(), f"{name}: inline script"


def test_a_page_is_made_ready_at_a_press_alone_and_never_the_emergency_card(pages):
    for name, page in pages.items():
        for element in rules_ahead(page):
            (kind, (rule,)), = json.loads(element.text).items()
            assert (kind, rule["eagerness"]) == ("prerender", "conservative"), name
            assert ":not([data-enter-own], " in rule["where"]["selector_matches"], name
            assert "[href*='emergency/']" in rule["where"]["selector_matches"], name


def test_ids_are_unique_and_references_meet_one(pages):
    for name, page in pages.items():
        ids = [element.get("id") for element in page.elements if element.get("id")]
        assert len(ids) == len(set(ids)), f"{name}: {sorted(i for i in set(ids) if ids.count(i) > 1)[:3]}"
        for element in page.elements:
            for key in ("for", "aria-describedby", "aria-labelledby"):
                for wanted in element.get(key).split():
                    assert wanted in ids, f"{name}: {key}={wanted}"


def test_no_dead_link(site: Path, pages):
    known_ids = {kind: {entry["id"] for entry in demo_state().get(kind, [])} for kind in [*KINDS, "formula"]}
    for name, page in pages.items():
        for element in page.elements:
            for key in ("href", "src"):
                link = element.get(key)
                if not link:
                    continue
                assert not re.match(r"[a-z]+:|//", link), f"{name}: {link} leaves the site"
                path, part = urldefrag(urljoin(f"http://site/{name}", link))
                local = path.removeprefix("http://site/")
                target = site / local / "index.html" if local.endswith("/") or not local else site / local
                # Modules are written and checked elsewhere; here it matters that pages, styles and icons are there.
                assert target.is_file() or local.endswith(".mjs"), f"{name}: {link}"
                if part and part != "main":
                    _check_part(local, part, known_ids, pages[target.relative_to(site).as_posix()])


def _traced() -> set[str]:
    """Every code of the demo workshop that can be traced: lots, batches, packed lots and outlets, the last two by their ids too."""
    demo = demo_state()
    lots = {entry["values"]["code"] for kind in ("oil_lot", "alkali_lot", "scent_lot", "additive_lot") for entry in demo[kind]}
    told = {text for event in (*demo["log_entries"], *demo["packed_events"]) for text in (event.get("code"), event.get("subject", "").removeprefix("packed:"))}
    racked = {each["subject"].removeprefix("cure:").rpartition("/")[0] for each in demo["cure"]}
    return lots | told | racked | {entry["id"] for entry in demo["outlet"]}


def _check_part(local: str, part: str, known_ids: dict[str, set[str]], page: Page) -> None:
    if local.startswith(("emergency/", "safety/", "sources/")) or "records/label/" in local:
        assert any(element.get("id") == part for element in page.elements), part
        return
    steps = part.split("/")
    if "workshop/setup/" in local:
        assert any(element.get("data-question") == part for element in page.elements), part
        return
    if local == "workshop/edit/":
        single = len(steps) == 1 and part in ONE_OF_A_KIND
        assert single or (steps[0] in KINDS and (steps[1] == "new" or steps[1] in known_ids[steps[0]])), part
    elif local.startswith(("cure/", "es/cure/")):
        assert any(part == each['subject'].removeprefix('cure:').replace("/", ":") for each in demo_state()["cure"]), part
    elif "tanks/mix/" in local:
        assert part in known_ids["formula"], part
    elif local.startswith(("tanks/", "es/tanks/")):
        assert part.partition("?")[0] in known_ids["tank"], part
    elif local.removeprefix("es/").startswith(("records/trace/", "records/release/", "records/pack/", "records/send/", "records/after/")):
        named, _, put = part.partition("?")
        assert unquote(named).rpartition(":")[0] in _traced() or unquote(named) in _traced() | {"new"}, part
        controls = {element.get("name") for element in page.elements} | {"kind"}
        assert set(parse_qs(put, keep_blank_values=True)) <= controls, part
    elif part == "/practice":
        assert local.removesuffix("index.html").endswith("scale/"), local
    elif "records/stock/" in local:
        known = {id_ for kind in ("oil_lot", "alkali_lot", "scent_lot", "additive_lot", "packaging_lot") for id_ in known_ids[kind]}
        # Bars are counted by block, whichever way the batch is known.
        assert part in known or part.rpartition(":")[0] in _traced(), part
    else:
        assert local in ("formula/edit/", "formula/stand-in/", "batch/"), local
        named, _, put = part.partition("?")
        # Behind the formula that is copied stands what sets the copy apart.
        of = named.split("/")[1] if named.startswith("copy/") else named
        assert named == "new" or of in known_ids["formula"], part
        # What is handed over has its control there.
        controls = {element.get("name") for element in page.elements}
        assert set(parse_qs(put, keep_blank_values=True)) <= controls, part


def test_words_that_scripts_show_stand_in_the_page(site: Path, pages):
    scripts = "\n".join(path.read_text(encoding="utf-8") for path in (site / "static" / "js").rglob("*.mjs"))
    asked = set(re.findall(r"\bword\(\s*\"([a-z0-9_-]+)\"", scripts))
    # Reasons travel as codes and are put into words at the end.
    asked |= set(re.findall(r"\"((?:store|no-store|import|export|demo|item|code|off)-[a-z-]+)\"", scripts))
    for name, page in pages.items():
        template = page.all("template", id="words")[0]
        there = [element.get("data-word") for element in template.inside if element.get("data-word")]
        assert len(there) == len(set(there)), name
        assert asked <= set(there), f"{name}: {sorted(asked - set(there))}"


def test_a_new_page_speaks_and_tells_its_state(pages):
    for name, page in pages.items():
        assert page.all("div", id="not-saved", role="alert"), name
        assert any("data-status" in element.attributes for element in page.all("p", role="status")), name
        assert any("data-python-state" in element.attributes for element in page.all("p")), name


def test_wrong_address_gets_a_page():
    from pages.app import create_app

    reply = create_app().test_client().get("/nowhere/")
    assert reply.status_code == 404 and "Nothing is lost" in reply.text
    assert "frame-ancestors 'none'" in reply.headers["Content-Security-Policy"]
