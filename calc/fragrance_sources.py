"""Where another source finds more in an oil than the one that is counted.

The tables count one source for each substance of an oil. What another finds above that is not counted, but told, with
how much scent it would let in.
"""

import math
from dataclasses import dataclass, replace

from calc.fragrance_material import Material
from calc.language import tr
from calc.reference_fragrance import Content


@dataclass(frozen=True)
class Higher:
    """What another source finds of one substance or family in a material, above what is counted (fractions 0..1)."""

    material: str
    names: tuple[str, ...]
    high_fraction: float
    counted_fraction: float
    source: str
    note: str
    from_memory: bool
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
            notes = dict.fromkeys(tr(each.note) for each in told if each.note)
            memory = any(each.how == "memory" for each in told)
            names = tuple(tr(each.name) for each in told)
            found.append(Higher(material.name, names, by_it, by_ours, tr(source), "; ".join(notes), memory, rows))
    return tuple(found)


def at_highest(material: Material) -> Material:
    """The material as the highest source of each substance has it."""
    contents = list(material.counted)
    for each in sorted(higher(material), key=lambda each: each.high_fraction):  # of two, the higher has the last word
        contents = [content for content in contents if not any(content.is_of(row) for row in each.rows)]
        contents += each.rows
    return replace(material, contents=tuple(contents))


def _family(content: Content) -> str:
    return content.limit_key or min(content.cas, default=content.name.lower())
