"""The forms of the cure rack: what each is about, as its page shows it, filled for a batch of the demo workshop."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from calc.cure.declared import LabelQuestion, Move, Racked, SoapTest, Weighing
from calc.entry.declare import describe
from calc.entry.language import later


@dataclass(frozen=True)
class CureForm:
    """One page with a form: its task, what is declared, its words; what of it stands by the button, and what folds."""

    task: str
    declared: type[Any]
    title: str
    deed: str
    values: Mapping[str, str]
    more: str
    folded: tuple[str, ...]
    at_hand: tuple[str, ...] = ()
    remembers: str = ""
    next: str = ""  # where its button leads, relative to its page; "" where one stays
    by_address: bool = True

    @property
    def start(self) -> dict[str, str]:
        """What a blank form begins with: the first of each choice that has to be made."""
        return {info.name: next(iter(info.options)) for info in describe(self.declared) if info.type == "choice" and not info.optional}


    @property
    def start_us(self) -> dict[str, str]:
        """What differs of that where US units are chosen."""
        return {"weighed_in": "oz"} if "weighed_in" in self.start else {}


_SHOWN = {"batch": "QM-114:1"}
# By the last part of the address.
CURE_FORMS = {
    "drying": CureForm("cure_batch", Weighing, later("On the rack"), later("Keep this weighing"), _SHOWN,
                      later("Batch, day, who"), ("batch", "bars", "scale", "weighed_on"), ("total_g",), "total_g.unit scale"),
    "new": CureForm(
        "cure_racked", Racked, later("Put on a rack"), later("Put it on the rack"),
        {"code": "QM-121", "block": "1", "bars": "252", "rack": "r-first", "cutter": "c-frames", "stands": "yes", "formula": "f-marsh-plain"},
        later("Size, water, label, who"), ("cutter", "stands", "cut_on", "formula", "water_fraction", "label_g", "sell_on"),
        remembers="rack cutter stands", next="../drying/#{id}", by_address=False,
    ),
    "test": CureForm(
        "cure_test", SoapTest, later("Test of the soap"), later("Keep this test"),
        _SHOWN | {"method": "free_caustic", "alkali": "naoh", "sample_g": "5.02", "acid_ml": "1.25", "acid_mol_per_l": "0.1"},
        later("Day, who"), ("tested_on",),
    ),
    "move": CureForm("cure_move", Move, later("Move a batch"), later("Do it"), _SHOWN | {"to": "ready"}, later("Who"), (), next="../"),
    "label": CureForm(
        "net_quantity", LabelQuestion, later("Weight on the label"), later("Keep these weights"),
        _SHOWN | {"weights": "127.1 128.0 126.5 127.9 128.3 127.2 126.9 127.7", "weighed_in": "g"},
        later("Label, batch, market, days, who"), ("label_g", "batch", "market", "weighed_on", "sell_on"), remembers="weighed_in market",
    ),
}  # fmt: skip
