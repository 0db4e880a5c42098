"""What the lists of a form offer at build time: rows of the reference tables, and the demo workshop's own items."""

from collections.abc import Mapping

from answers.demo import demo_state
from answers.rendering import acid
from calc.oils import acid_structure
from calc.reference import additives, oils

Option = tuple[str, str]


def _of_reference(kind: str) -> list[Option]:
    if kind == "oil":
        return sorted(((oil.key, oil.name) for oil in oils().values()), key=lambda option: option[1].casefold())
    if kind == "additive":
        return [(additive.key, additive.label) for additive in additives().values()]
    if kind == "fatty_acid":
        codes = {share.acid for oil in oils().values() for share in oil.fatty_acids}
        return [(code, acid(code)) for code in sorted(codes, key=lambda code: (acid_structure(code), code))]
    return []


def _title(values: Mapping[str, str]) -> str:
    """An item by its name or code; caustic with its form and strength, by the very words of the page scripts."""
    form = values.get("form", "")
    share = {"solid": values.get("assay_fraction"), "premixed": values.get("strength_fraction")}.get(form)
    title = values.get("name") or values.get("code") or ""
    return f"{title}, {form} {share.removesuffix('%').strip()} %" if title and share else title


def offered(kind: str, only: tuple[str, str] | None = None) -> list[Option]:
    """Value and words of each option for one kind of item, as the page scripts would fill it for the demo workshop.

    only: a value of theirs that those offered must have, as ("alkali", "naoh").
    """
    listed = _of_reference(kind)
    stored, prefix = ("own_oil", "own:") if kind == "oil" else (kind, "")
    for entry in demo_state().get(stored, []):
        values = entry["values"]
        if only is None or values.get(only[0]) == only[1]:
            listed.append((prefix + entry["id"], _title(values) or entry["id"]))
    return listed
