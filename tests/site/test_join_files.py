"""One style sheet a page: joined in the order in which the page named its parts, and named so that two never share one."""

from pathlib import Path

import pytest

from offline.join_files import sheets_of
from pages.app import PAGES, create_app

MEDIUM = ' media="print"'
EVERY = (("base", ""), ("print", "print"))


def page(*styles: tuple[str, str]) -> str:
    links = (f'<link rel="stylesheet" href="../static/css/{style}.css"{medium and MEDIUM}>' for style, medium in styles)
    return "<head>\n" + "\n".join(links) + "</head>"


def test_each_page_gets_its_parts_in_order_under_the_name_of_its_own():
    pages = {Path("a"): page(*EVERY), Path("b"): page(*EVERY, ("scale", "")), Path("c"): page(*EVERY, ("scale", ""))}
    assert sheets_of(pages) == {"every": EVERY, "scale": (*EVERY, ("scale", ""))}


def test_two_kinds_of_pages_never_share_a_style_sheets_name():
    two = {Path("a"): page(*EVERY, ("scale", "")), Path("b"): page(*EVERY, ("walk", ""), ("scale", ""))}
    with pytest.raises(RuntimeError, match="two kinds of pages have scale.css"):
        sheets_of({**two, Path("c"): page(*EVERY)})


def test_every_style_sheet_of_the_pages_goes_into_a_joined_one():
    client = create_app().test_client()
    pages = {Path(each.path): client.get(each.path).get_data(as_text=True) for each in PAGES}
    named = {style for text in pages.values() for style in text.split("css/")[1:]}
    joined = {style for styles in sheets_of(pages).values() for style, _ in styles}
    assert joined == {each.split(".css")[0] for each in named if ".css" in each}
    assert joined == {path.stem for path in (Path(__file__).parents[2] / "site/static/css").glob("*.css")}
