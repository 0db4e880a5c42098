"""A small reader of HTML for the tests of the pages."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "link", "input", "br", "hr", "img"}


@dataclass
class Element:
    """One element with its attributes, its text and the elements around it."""

    tag: str
    attributes: dict[str, str]
    # Shown in no failure: a page inside itself at every depth.
    around: tuple["Element", ...] = field(repr=False)
    text: str = field(default="", repr=False)
    inside: list["Element"] = field(default_factory=list, repr=False)

    def get(self, name: str) -> str:
        return self.attributes.get(name, "")


class Page(HTMLParser):
    """Every element and every text of a page in order; templates are read like everything else."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self.open: list[Element] = []
        self.texts: list[tuple[tuple[Element, ...], str]] = []
        self.unclosed: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs}, tuple(self.open))
        self.elements.append(element)
        for outer in self.open:
            outer.inside.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1].tag != tag:
            self.unclosed.append(tag)
            return
        self.open.pop()

    def handle_data(self, data: str) -> None:
        # What stands in a script element is read by browsers, and by nobody else.
        if data.strip() and not (self.open and self.open[-1].tag == "script"):
            self.texts.append((tuple(self.open), " ".join(data.split())))
        for element in self.open:
            element.text += data

    def all(self, tag: str = "", **attributes: str) -> list[Element]:
        wanted = {name.replace("_", "-"): value for name, value in attributes.items()}
        return [
            element
            for element in self.elements
            if (not tag or element.tag == tag)
            and all(element.attributes.get(name) == value for name, value in wanted.items())
        ]
