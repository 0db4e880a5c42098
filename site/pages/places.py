"""The five places of the app, and which page stands in which: read by the bar at the edge of every page."""

from dataclasses import dataclass

from calc.entry.language import later


@dataclass(frozen=True)
class Entry:
    """A page that a place names, and the addresses that count as part of it beside what lies below its own."""

    path: str
    words: str
    with_it: tuple[str, ...] = ()

    def reach(self, path: str) -> int:
        """How long the part of an address is that lies in this page; 0 where it lies elsewhere."""
        # Today is above every address, and holds none but its own.
        holds = [own for own in (self.path, *self.with_it) if path == own or (own != "/" and path.startswith(own))]
        return max(map(len, holds), default=0)


@dataclass(frozen=True)
class Place:
    """A place: its name, its sign (an SVG path, 24 by 24), and its pages, of which the first is where its name leads."""

    words: str
    sign: str
    pages: tuple[Entry, ...]


PLACES = (
    Place(
        later("Today"),
        "M12 8a4 4 0 1 0 0 8 4 4 0 0 0 0-8zM12 2v2M12 20v2M2 12h2M20 12h2M5 5l1.4 1.4M17.6 17.6L19 19M19 5l-1.4 1.4M6.4 17.6L5 19",
        (Entry("/", later("Today")),),
    ),
    Place(
        later("Plan"),
        "M6 3h9l4 4v14H6zM15 3v4h4M9.5 12h6M9.5 16h6",
        (
            Entry("/formula/", later("Formula"), with_it=("/hand/",)),
            Entry("/batch/", later("Batch sheet")),
            Entry("/cut/", later("Cut plan")),
            Entry("/day/", later("Day")),
            Entry("/fragrance/", later("Fragrance")),
        ),
    ),
    Place(
        later("Make"),
        "M3 5h18M12 5v5M5.5 10h13L21 20H3zM9 15.5a3.2 3.2 0 0 1 6 0",
        (Entry("/scale/", later("At the scale")), Entry("/tanks/", later("Tanks")), Entry("/cure/", later("Cure rack"))),
    ),
    Place(
        later("Records"),
        "M7 3h12v18H7a2 2 0 0 1-2-2V5a2 2 0 0 1 2-2zM5 19a2 2 0 0 1 2-2h12M9.5 7.5h5.5M9.5 11.5h5.5",
        (
            Entry("/records/", later("Batch log"), with_it=("/batch/sheet/",)),
            Entry("/records/label/", later("Label")),
            Entry("/records/release/", later("Release"), with_it=("/records/pack/", "/records/send/")),
            Entry("/records/trace/", later("Trace"), with_it=("/records/after/",)),
            Entry("/records/stock/", later("Stock and cost")),
            Entry("/records/copies/", later("Copies"), with_it=("/take/",)),
        ),
    ),
    Place(
        later("Workshop"),
        "M3 21V10l6 4v-4l6 4V4h6v17zM8 21v-3.5h4V21",
        (
            Entry("/workshop/", later("Set-up")),
            Entry("/workshop/upkeep/", later("Upkeep")),
            Entry("/workshop/phones/", later("Phones")),
            Entry("/safety/", later("Safety walk")),
            Entry("/sources/", later("Sources")),
        ),
    ),
)  # fmt: skip


def entry_of(path: str) -> Entry | None:
    """The page that an address belongs to; None for what stands in no place: the emergency card, a wrong address."""
    found = max((entry for place in PLACES for entry in place.pages), key=lambda entry: entry.reach(path))
    return found if found.reach(path) else None


def place_of(path: str) -> Place | None:
    """The place that an address belongs to."""
    entry = entry_of(path)
    return next((place for place in PLACES if entry in place.pages), None)
