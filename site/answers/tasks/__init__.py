"""Every task the pages may ask for, by name."""

from collections.abc import Callable
from typing import Any

from answers.request import Answer, Request
from answers.tasks import (
    aside,
    at_the_scale,
    batch,
    batch_record,
    cure,
    cut,
    day,
    formula,
    fragrance,
    hand,
    label,
    lye,
    sale,
    setup,
    soap_label,
    stand_in,
    stock,
    tank_fill,
    tank_heat,
    tank_plan,
    tanks,
    trace,
    workshop,
)
from calc.batch.order import BatchOrder, Issue
from calc.cure.declared import By, LabelQuestion, Move, Racked, SoapTest, Weighing
from calc.cut.question import CutQuestion
from calc.day.declared import DayQuestion, Planner
from calc.formula.declaration import Formula
from calc.formula.stand_in_question import StandInQuestion
from calc.label.declared import Label, Printing
from calc.record.sale_forms import AfterSale, PackQuestion, ReleaseQuestion, SendQuestion, TraceQuestion
from calc.scent.quick_check import ScentQuestion
from calc.stock.declared import StockEntry
from calc.tanks.declared import LoadPlan, TankChosen, TankDraw, TankLoad
from calc.tanks.lye_question import LyeToMake
from calc.tanks.questions import HeatQuestion, MixQuestion, TankTemperature
from calc.tanks.strength_question import StrengthQuestion
from calc.workshop.kinds import KINDS
from calc.workshop.setup import Crew

TASKS: dict[str, Callable[[Request], Answer]] = {
    "formula_list": formula.formula_list,
    "formula": formula.formula,
    "stand_in": stand_in.stand_in,
    "batch_sheet": batch.batch_sheet,
    "issue_batch": batch.issue_batch,
    "cut_plan": cut.cut_plan,
    "at_the_scale": at_the_scale.at_the_scale,
    "fragrance": fragrance.fragrance,
    "set_aside_list": aside.set_aside_list,
    "tank_heat": tank_heat.tank_heat,
    "tank_temperature": tanks.tank_temperature,
    "mix_temperature": tank_heat.mix_temperature,
    "cure_rack": cure.cure_rack,
    "cure_batch": cure.cure_batch,
    "cure_racked": cure.cure_racked,
    "cure_test": cure.cure_test,
    "cure_move": cure.cure_move,
    "net_quantity": label.net_quantity,
    "batch_record": batch_record.batch_record,
    "soap_label": soap_label.soap_label,
    "lye_strength": lye.lye_strength,
    "make_lye": lye.make_lye,
    "tanks": tanks.tanks_listed,
    "tanks_today": tanks.tanks_today,
    "tank_standing": tanks.tank_standing,
    "tank_load": tanks.tank_load,
    "tank_draw": tanks.tank_draw,
    "tank_plan": tank_plan.tank_plan,
    "tank_fill": tank_fill.tank_fill,
    "day": day.day,
    "hand_code": hand.hand_code,
    "release": sale.release,
    "pack": sale.pack,
    "send": sale.send,
    "after_sale": sale.after_sale,
    "trace": trace.traced,
    "stock": stock.stock,
    "stock_entry": stock.stock_entry,
    "lots_left": stock.lots_left,
    "workshop": workshop.workshop,
    "setup_crew": setup.crew,
    **{kind: workshop.item_task(kind) for kind in KINDS},
}

# What stands in the form that a task is asked with.
FORMS: dict[str, tuple[type[Any], ...]] = {
    "formula_list": (),
    "formula": (Formula,),
    "stand_in": (StandInQuestion,),
    "batch_sheet": (BatchOrder,),
    "issue_batch": (BatchOrder, Issue),
    "cut_plan": (CutQuestion,),
    "at_the_scale": (),
    "fragrance": (ScentQuestion,),
    "set_aside_list": (),
    "tank_heat": (HeatQuestion,),
    "tank_temperature": (TankTemperature, By),
    "mix_temperature": (MixQuestion,),
    "cure_rack": (),
    "cure_batch": (Weighing, By),
    "cure_racked": (Racked, By),
    "cure_test": (SoapTest, By),
    "cure_move": (Move, By),
    "net_quantity": (LabelQuestion, By),
    "batch_record": (),
    "soap_label": (Label, Printing, By),
    "lye_strength": (StrengthQuestion, By),
    "make_lye": (LyeToMake,),
    "tanks": (),
    "tanks_today": (),
    "tank_standing": (TankChosen, By),
    "tank_load": (TankLoad, By),
    "tank_draw": (TankDraw, By),
    "tank_plan": (LoadPlan,),
    "tank_fill": (),
    "day": (DayQuestion, Planner),
    "hand_code": (hand.Link,),
    "release": (ReleaseQuestion, By),
    "pack": (PackQuestion, By),
    "send": (SendQuestion, By),
    "after_sale": (AfterSale, By),
    "trace": (TraceQuestion,),
    "stock": (),
    "stock_entry": (StockEntry, By),
    "lots_left": (),
    "workshop": (),
    "setup_crew": (Crew,),
    **{kind: (declaration,) for kind, (declaration, _, _) in KINDS.items()},
}
