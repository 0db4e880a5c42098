"""What the lists of a form offer at build time: rows of the reference tables, and the demo workshop's own items."""

import unicodedata
from collections.abc import Mapping
from datetime import date

from answers.demo import DEMO_NOW, demo_state
from answers.rendering import acid
from answers.sale_read import sale_of
from answers.state import State
from calc.chemistry.oils import acid_structure
from calc.cure.declared import ON_RACK
from calc.cure.rack import Racks, racks
from calc.day.declared import TO_MAKE
from calc.entry.language import tr
from calc.record.sale_forms import PACKED_LOT, TO_PACK, TO_RELEASE
from calc.scent.material import LOT_PREFIX
from calc.scent.names import constituents
from calc.tables.fragrance import essential_oils
from calc.tables.reference import additives, oils

Option = tuple[str, str]
# Items of the workshop that are offered beside the rows of a table: their kind, and what their ids begin with there.
LISTED_WITH = {"oil": ("own_oil", "own:"), "scent_material": ("scent_lot", LOT_PREFIX)}


def _of_reference(kind: str) -> list[Option]:
    if kind == "oil":
        return sorted(((oil.key, tr(oil.name)) for oil in oils().values()), key=lambda option: _as_sorted(option[1]))
    if kind == "additive":
        return [(additive.key, tr(additive.label)) for additive in additives().values()]
    if kind == "fatty_acid":
        codes = {share.acid for oil in oils().values() for share in oil.fatty_acids}
        return [(code, acid(code)) for code in sorted(codes, key=lambda code: (acid_structure(code), code))]
    if kind == "essential_oil":
        return _essential_oils()
    if kind == "constituent":
        return list(constituents().items())
    return []


def _essential_oils() -> list[Option]:
    return sorted(((oil.key, tr(oil.name)) for oil in essential_oils().values()), key=lambda option: _as_sorted(option[1]))


def _as_sorted(words: str) -> str:
    """The text by which a list is sorted: without capitals and accents."""
    return unicodedata.normalize("NFD", words.casefold()).encode("ascii", "ignore").decode()


def _title(values: Mapping[str, str]) -> str:
    """An item by its name or code; caustic with its form and strength, a lot of essential oil with the oil.

    The page scripts make the very same words.
    """
    oil = essential_oils().get(values.get("essential_oil", ""))
    if oil is not None:
        return f"{values.get('code', '')}, {tr(oil.name)}"
    form = values.get("form", "")
    share = {"solid": values.get("assay_fraction"), "premixed": values.get("strength_fraction")}.get(form)
    title = values.get("name") or values.get("code") or ""
    return f"{title}, {form} {share.removesuffix('%').strip()} %" if title and share else title


def _demo_racks() -> Racks:
    return racks(State(demo_state()).cure, date.fromisoformat(DEMO_NOW[:10]))


def items_offered(kind: str, only: tuple[str, str] | None = None) -> list[Option]:
    """Value and words of each of the demo's items of these kinds; the page scripts replace them by the workshop's own.

    only: the field and value that an item must have to be offered, as ("alkali", "naoh").
    """
    if kind == TO_MAKE:
        return [(f"formula:{entry['id']}", _title(entry["values"])) for entry in demo_state()["formula"]]
    if kind == ON_RACK:
        return [(batch.id, f"{batch.soap}, {batch.code} / {batch.block}") for batch in _demo_racks().on_racks]
    if kind in (TO_RELEASE, TO_PACK, PACKED_LOT):
        return _for_sale(kind)
    found = []
    for each in kind.split():
        stored, prefix = LISTED_WITH.get(each, (each, ""))
        for entry in demo_state().get(stored, []):
            values = entry["values"]
            if only is None or values.get(only[0]) == only[1]:
                found.append((prefix + entry["id"], _title(values) or entry["id"]))
    return found


def _for_sale(kind: str) -> list[Option]:
    """The demo's blocks to release and to pack, and its packed lots, as trace/sale.mjs offers one's own."""
    sale = sale_of(State(demo_state()), date.fromisoformat(DEMO_NOW[:10]))
    if kind == PACKED_LOT:
        return [(lot.id, lot.code) for lot in sale.packed.lots]
    return [(block.chosen, f"{block.soap}, {block.id}") for block in sale.blocks.values() if kind == TO_RELEASE or block.release.released]


def rows_offered(kind: str) -> list[Option]:
    """Value and words of what the reference tables offer beside the items of these kinds."""
    return [option for each in kind.split() for option in _of_reference("essential_oil" if each == "scent_material" else each)]
