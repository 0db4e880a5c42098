"""The page at the scale: every screen's button is acted on, every slot filled, every wording stands in the page."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

SCRIPTS = Path(__file__).resolve().parents[2] / "site" / "static" / "js"
STYLE = Path(__file__).resolve().parents[2] / "site" / "static" / "css" / "scale.css"
PAGE = "scale/index.html"
PAGES = (PAGE, f"es/{PAGE}")

# W3C, WCAG 2.2, definition of relative luminance and contrast ratio.
LINEAR_BELOW, STEP, OFFSET, POWER = 0.04045, 12.92, 0.055, 2.4
WEIGHTS = (0.2126, 0.7152, 0.0722)


class Screens(HTMLParser):
    """The attributes that stand in each screen's template, by the template's name."""

    def __init__(self) -> None:
        super().__init__()
        self.screens: dict[str, list[tuple[str, dict[str, str]]]] = {}
        self.inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        if "data-screen" in given:
            self.inside = given["data-screen"]
            self.screens[self.inside] = []
        elif self.inside:
            self.screens[self.inside].append((tag, given))

    def handle_endtag(self, tag: str) -> None:
        if tag == "template":
            self.inside = ""


@pytest.fixture(scope="module", params=PAGES)
def text(site: Path, request: pytest.FixtureRequest) -> str:
    return (site / request.param).read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def screens(text: str) -> dict[str, list[tuple[str, dict[str, str]]]]:
    parser = Screens()
    parser.feed(text)
    return parser.screens


def scripts() -> str:
    return "\n".join(path.read_text(encoding="utf-8") for path in [*(SCRIPTS / "scale").glob("*.mjs"), SCRIPTS / "pages" / "scale.mjs"])


def test_only_this_page_starts_its_script_and_takes_its_style(site: Path):
    for path in site.rglob("*.html"):
        found = path.read_text(encoding="utf-8")
        here = path.relative_to(site).as_posix() in PAGES
        assert ("js/pages/scale.mjs" in found) is here, path.name
        assert ("css/scale.css" in found) is here, path.name


def test_every_button_of_a_screen_is_acted_on(text: str):
    deeds = "".join((SCRIPTS / "scale" / name).read_text(encoding="utf-8") for name in ("deeds.mjs", "ready.mjs", "checks.mjs", "after.mjs", "fill_screens.mjs"))
    known = set(re.findall(r'^  "?([a-z-]+)"?(?::|,$)', deeds, re.MULTILINE)) | {"more"}
    asked = set(re.findall(r'data-do="([a-z-]+)"', text))
    assert asked and asked <= known, sorted(asked - known)


def test_every_screen_that_is_shown_stands_in_the_page(screens):
    shown = set(re.findall(r'(?:\.show|\bscreen)\("([a-z-]+)"', scripts()))
    assert shown and shown <= set(screens)
    # A step without a target is shown by its kind.
    assert {"checks", "confirm", "temperature", "timer", "weigh"} <= set(screens)


def test_every_screen_that_writes_says_so(screens):
    """In a tab that only looks, all that stores is switched off by this attribute."""
    looking = {"leave", "leave-keypad", "more", "calendar", "copy", "take-over"}
    for name, elements in screens.items():
        for tag, given in elements:
            if tag == "button" and given.get("data-do") not in looking and "data-print" not in given:
                assert "data-writes" in given, f"{name}: {given}"


def test_every_wording_asked_for_is_there(text: str):
    asked = set(re.findall(r'\bword\(\s*"([a-z-]+)"', scripts()))
    there = set(re.findall(r'data-word="([A-Za-z_-]+)"', text))
    assert asked <= there, sorted(asked - there)
    for unit in ("kg", "g", "lb", "oz", "degC", "degF"):
        assert {f"unit-{unit}", f"unit-spoken-{unit}"} <= there


def test_no_sentence_stands_in_a_script():
    """Wordings are kept in the page: a text of several words in quotes would be one."""
    code = re.sub(r"/\*.*?\*/|//[^\n]*", "", scripts(), flags=re.DOTALL)
    for found in re.findall(r'"([^"\n]*)"', code):
        assert not re.search(r"[A-Z][a-z]+ [a-z]+ [a-z]+", found), found


def test_safety_and_state_are_told_in_words_not_by_colour(screens):
    for name in ("confirm", "recovery", "done", "closed", "question"):
        kinds = [given for _, given in screens[name] if "kind" in given.get("class", "").split()]
        assert kinds, name


def contrast(one: str, other: str) -> float:
    def luminance(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [p / STEP if p <= LINEAR_BELOW else ((p + OFFSET) / (1 + OFFSET)) ** POWER for p in parts]
        return sum(w * p for w, p in zip(WEIGHTS, linear, strict=True))

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


# NUREG-0700 rev 3, display text: 10:1 preferred where there is glare.
@pytest.mark.parametrize(
    ("ink", "ground"),
    [("ink", "ground"), ("ink", "sheet"), ("ink-soft", "ground"), ("ink-soft", "sheet"), ("ink-soft", "marsh-soft"),
     ("marsh", "sheet"), ("marsh", "ground"), ("marsh", "marsh-soft"), ("on-marsh", "marsh"), ("copper", "copper-soft"),
     ("rust", "rust-soft"), ("rust", "sheet"), ("rust", "ground"), ("sheet", "rust"), ("ground", "ink")],
)  # fmt: skip
def test_contrast_on_this_page(ink: str, ground: str):
    light, dark = STYLE.read_text(encoding="utf-8").split("@media (prefers-color-scheme: dark)")
    for theme in (light, dark):
        colours = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", theme))
        assert contrast(colours[ink], colours[ground]) >= 10.0
        if ink == "ink":  # digits
            assert contrast(colours[ink], colours[ground]) >= 11.0


def test_measures_of_the_floor():
    """Main buttons 126 px (20 mm at 160 px to the inch) and target digits at least 64 px."""
    style = STYLE.read_text(encoding="utf-8")
    assert re.search(r"\.wide \{\n  min-height: 126px;", style)  # the keys are measured in the browser
    assert re.search(r"\.typed-digits \{\n  font-size: max\(64px", style)
