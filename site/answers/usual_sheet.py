"""One block of a formula as the workshop would make it, where nobody has ordered it yet."""

from collections.abc import Mapping

from answers.state import State
from answers.tasks.batch import setting_of
from calc.batch.order import BatchOrder
from calc.batch.sheet import BatchSheet, batch_sheet
from calc.workshop.equipment import Mould, Vessel


def usual_sheet(formula: str, mould: str | None, source: str | None, state: State) -> BatchSheet:
    """The sheet of one block. mould: else that of the newest sheet, else the first. source: the alkali lot that is preferred.

    Raises InputProblems for what is missing or faulty, with the order's own fields.
    """
    vessels = state.stored("vessel")
    chosen = mould or _usual_mould(state)
    if not vessels or chosen is None:
        state.read_item("vessel", Vessel, vessels[0].id if vessels else None, "mould", "vessel")
        state.read_item("mould", Mould, None, "mould", "mold")
    lots: dict[str, str] = {}
    # Solid caustic makes lye of any strength, so no formula is refused for the lot; the one preferred comes last.
    for entry in sorted(state.stored("alkali_lot"), key=lambda each: (each.id == source, each.values.get("form") == "solid")):
        lots[entry.values.get("alkali", "")] = entry.id
    order = BatchOrder(
        formula=formula, mould=str(chosen), scale_to="blocks", blocks=1, vessel=vessels[0].id, naoh_lot=lots.get("naoh"), koh_lot=lots.get("koh")
    )
    return batch_sheet(order, setting_of(order, state)[1])


def _usual_mould(state: State) -> str | None:
    """The mould of the newest sheet that is known, else the first."""
    moulds = [entry.id for entry in state.stored("mould")]
    newest = sorted(state.sheets, key=lambda sheet: str(sheet.get("issued_on")), reverse=True)
    on_sheets = [order.get("mould") for sheet in newest if isinstance(order := sheet.get("order"), Mapping)]
    return next((mould for mould in (*on_sheets, *moulds) if mould in moulds), None)
