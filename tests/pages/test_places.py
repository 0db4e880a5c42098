"""Five places, the same on every page; every page stands in one of them, and says which."""

from pages.app import PAGES
from pages.places import PLACES, entry_of, place_of

# The plan of the house, section 6: the five, in the order of the work.
NAMES = ["Today", "Plan", "Make", "Records", "Workshop"]
# One tap from everywhere, and nowhere.
IN_NO_PLACE = {"/emergency/", "/404.html"}
HOLDS = {
    "/": "Today", "/formula/": "Plan", "/formula/edit/": "Plan", "/formula/stand-in/": "Plan", "/batch/": "Plan", "/fragrance/": "Plan", "/cut/": "Plan", "/day/": "Plan", "/scale/": "Make",
    "/records/": "Records", "/records/copies/": "Records", "/records/trace/": "Records", "/records/release/": "Records", "/records/pack/": "Records", "/records/send/": "Records", "/records/after/": "Records", "/records/batch/": "Records", "/records/label/": "Records", "/batch/sheet/": "Records", "/workshop/": "Workshop", "/workshop/edit/": "Workshop",
    "/workshop/setup/": "Workshop",
    "/cure/": "Make", "/cure/drying/": "Make", "/cure/new/": "Make", "/cure/test/": "Make", "/cure/move/": "Make", "/cure/label/": "Make", "/cure/aside/": "Make",
    "/tanks/temperature/": "Make", "/tanks/heat/": "Make", "/tanks/mix/": "Make",
    "/tanks/": "Make", "/tanks/tank/": "Make", "/tanks/plan/": "Make", "/tanks/load/": "Make", "/tanks/draw/": "Make",
    "/tanks/strength/": "Make", "/tanks/dissolving/": "Make",
    "/records/stock/": "Records", "/records/stock/count/": "Records",
    "/workshop/upkeep/": "Workshop", "/workshop/phones/": "Workshop", "/hand/": "Plan", "/take/": "Records", "/safety/": "Workshop", "/safety/labels/": "Workshop", "/sources/": "Workshop",
}  # fmt: skip


def test_every_page_stands_in_the_place_that_the_plan_gives_it():
    assert [place.words for place in PLACES] == NAMES
    found = {page.path: place.words for page in PAGES if (place := place_of(page.path))}
    assert found == HOLDS
    assert {page.path for page in PAGES} - set(found) == IN_NO_PLACE


def test_each_page_that_a_place_names_is_its_own_entry():
    for place in PLACES:
        for entry in place.pages:
            assert entry_of(entry.path) == entry


def test_the_bar_stands_on_every_page_with_five_ways_and_one_mark(pages):
    for name, page in pages.items():
        (bar,) = page.all("nav", **{"class": "places"})
        links = [each for each in bar.inside if each.tag == "a" and each.get("lang") != "es"]
        english = [each for each in links if "es/" not in each.get("href") or name.startswith("es/")]
        assert len(english) == 5, name
        marked = [english.index(each) for each in english if each.get("aria-current")]
        path = "/" + name.removeprefix("es/").removesuffix("index.html")
        assert marked == ([] if path in IN_NO_PLACE else [NAMES.index(HOLDS[path])]), name
