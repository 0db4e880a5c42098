"""Who works in the shop."""

from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, text
from calc.entry.language import later


@dataclass(frozen=True, kw_only=True)
class Person:
    """Somebody who works in the shop; an initial or first name is enough."""

    name: str = text(later("Name or initial"), max_length=NAME_LENGTH)
