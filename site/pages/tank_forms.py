"""The forms about tanks: what each is about, as its page shows it, filled for a tank of the demo workshop."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from answers.demo import LOAD_VALUES, PLAN_VALUES, TEMPERATURE_VALUES
from calc.cure.declared import By
from calc.entry.declare import describe
from calc.entry.language import later
from calc.tanks.declared import LoadPlan, TankChosen, TankDraw, TankLoad
from calc.tanks.questions import TankTemperature


@dataclass(frozen=True)
class TankForm:
    """One page with a form: its task, what is declared, its words; what of it folds. Without a deed it only shows."""

    task: str
    declared: type[Any]
    title: str
    values: Mapping[str, str]
    deed: str = ""
    folded: tuple[str, ...] = ()
    by: type[Any] | None = By
    next: str = ""  # where its deed leads

    @property
    def start(self) -> dict[str, str]:
        """What a blank form begins with: the first of each choice that has to be made."""
        return {info.name: next(iter(info.options)) for info in describe(self.declared) if info.type == "choice" and not info.optional}


# By the last part of the address.
TANK_FORMS = {
    "tank": TankForm("tank_standing", TankChosen, later("Tank"), {"tank": "t-lye"}),
    "plan": TankForm("tank_plan", LoadPlan, later("Load for blocks"), PLAN_VALUES, later("Fill it step by step"), ("mould", "source", "lye_fraction", "as_lot"),
                     by=None, next="../../scale/#/fill/{id}"),
    "load": TankForm("tank_load", TankLoad, later("Log what went in"), LOAD_VALUES, later("It’s in"), ("as_lot", "formula")),
    "draw": TankForm(
        "tank_draw", TankDraw, later("Log what came out"), {"tank": "t-lye", "what": "some", "mass_g": "2", "mass_g.unit": "kg"},
        later("It’s out"), ("reason",),
    ),
    "temperature": TankForm(
        "tank_temperature", TankTemperature, later("Tank temperature"), TEMPERATURE_VALUES, later("Keep it"), ("instrument",),
    ),
}  # fmt: skip
