"""The forms about lye: how strong it is, and making it; what each page shows, filled for the demo workshop."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from answers.demo import LYE_VALUES, STRENGTH_VALUES
from calc.cure.declared import By
from calc.entry.declare import FieldInfo, describe
from calc.entry.language import later
from calc.tanks.lye_question import LyeToMake
from calc.tanks.strength_question import StrengthQuestion


@dataclass(frozen=True)
class LyeForm:
    """One page with a form: its task, what is declared, its words; what of it folds, and what stays in it once it is kept."""

    task: str
    declared: type[Any]
    title: str
    values: Mapping[str, str]
    more: str
    folded: tuple[str, ...]
    deed: str = ""
    by: type[Any] | None = None
    keeps: tuple[str, ...] = ()
    beside: tuple[tuple[str, str], ...] = ()

    @property
    def start(self) -> dict[str, str]:
        """What a blank form begins with: the first of each choice that has to be made."""
        return {info.name: next(iter(info.options)) for info in describe(self.declared) if info.type == "choice" and not info.optional}

    @property
    def at_hand(self) -> set[str]:
        """What the page is for: nobody has to be told that it may stay empty."""
        return {info.name for info in self.fields} - {"scale", "acid_all_ml"}

    @property
    def fields(self) -> tuple[FieldInfo, ...]:
        """What is asked in sight."""
        return tuple(info for info in describe(self.declared) if info.name not in self.folded)

    @property
    def fields_folded(self) -> tuple[FieldInfo, ...]:
        """What is seldom changed."""
        return tuple(info for info in describe(self.declared) if info.name in self.folded)


# By the last part of the address.
LYE_FORMS = {
    "strength": LyeForm(
        "lye_strength", StrengthQuestion, later("Lye strength"), STRENGTH_VALUES,
        later("Tank, lot, night"), ("reads_to", "tank", "lot", "alkali", "coldest_c"),
        later("Keep this strength"), By, ("method", "modulus", "made_for", "scale", "tank", "lot", "alkali", "coldest_c", "person"),
        (("/tanks/dissolving/", later("Make lye: how hot it gets, what order, how long to wait")),),
    ),
    "dissolving": LyeForm(
        "make_lye", LyeToMake, later("Make lye"), LYE_VALUES, later("Lot, tank, what is in it, temperatures"),
        ("source_fraction", "lot", "alkali", "have_g", "have_fraction", "have_c", "room_c", "wanted_c", "tank", "material"),
        beside=(("/tanks/strength/", later("How strong is it? Measure it")),),
    ),
}  # fmt: skip
