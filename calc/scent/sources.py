"""Where sources differ about an oil: what is counted is the most that any source that was read finds.

The tables count one source for each substance of an oil. Another that was read and finds more takes its place: that is
the cautious figure. What is only recalled is never counted; it says what to ask the supplier.
"""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from calc.entry.language import tr
from calc.scent.material import Material
from calc.tables.fragrance import Content


@dataclass(frozen=True)
class Higher:
    """What another source finds of one substance or family in a material, above what is counted (fractions 0..1)."""

    material: str
    names: tuple[str, ...]
    high_fraction: float
    counted_fraction: float
    source: str  # as the table has it: a citation is the same in every language
    note: str
    from_memory: bool
    against_annex: bool  # the IFRA annex has a figure for it, which governs over what is recalled
    rows: tuple[Content, ...]  # what would be counted by it


def higher(material: Material) -> tuple[Higher, ...]:
    """Each source of each substance that gives more than is counted, in the order of the table."""
    seconds = [content for content in material.contents if not content.counts]
    found = []
    for key, source in dict.fromkeys((_family(content), content.source) for content in seconds):
        told = [content for content in seconds if (_family(content), content.source) == (key, source)]
        counted = [content for content in material.counted if any(content.is_of(each) for each in told)]
        # A source that names some isomers says nothing of the others; one that names none of them tells the total.
        cas = frozenset().union(*(each.cas for each in told))
        others = [content for content in counted if not content.cas & cas]
        kept = others if len(others) < len(counted) else []
        rows = (*(replace(each, high_fraction=each.stated_fraction, counts=True) for each in told), *kept)
        by_it, by_ours = (math.fsum(content.high_fraction for content in each) for each in (rows, counted))
        if by_it > by_ours * (1.0 + 1e-9):
            memory = any(each.recalled for each in told)
            notes = dict.fromkeys(tr(each.note) for each in told if each.note and not memory)
            annex = any(each.of_annex for each in counted)
            names = tuple(dict.fromkeys(tr(each.name) for each in told))
            found.append(Higher(material.name, names, by_it, by_ours, source, "; ".join(notes), memory, annex, rows))
    return tuple(found)


@lru_cache(maxsize=64)
def cautious(material: Material) -> Material:
    """The material as the highest of the sources that were read has it, substance by substance."""
    while read := [each for each in higher(material) if not each.from_memory]:
        material = _by(material, max(read, key=lambda each: each.high_fraction))
    return material


@lru_cache(maxsize=64)
def as_recalled(material: Material) -> Material:
    """The material with all that is recalled of it counted too, save where the IFRA annex has a figure."""
    recalled = [each for each in higher(material) if each.from_memory and not each.against_annex]
    for each in sorted(recalled, key=lambda each: each.high_fraction):  # of two, the higher has the last word
        material = _by(material, each)
    return material


def _by(material: Material, source: Higher) -> Material:
    """The material with one source's figures in the place of those counted for the same substances."""
    contents = [each for each in material.contents if not (each.counts and any(each.is_of(row) for row in source.rows))]
    return replace(material, contents=(*contents, *source.rows))


def _family(content: Content) -> str:
    return content.limit_key or min(content.cas, default=content.name.lower())
