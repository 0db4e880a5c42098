"""What a label calls an ingredient, and how sure that is.

A name that was only recalled, or that no table has, is asked about: a person looks it up and confirms it, once for all.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from calc.label.composition import Ingredient
from calc.tables.label import READ, InciName, inci_names

# Additives of the formula whose name does not depend on what exactly was bought.
OF_ADDITIVE = {
    "citric_anhydrous": "citric_acid", "citric_monohydrate": "citric_acid", "lactic": "lactic_acid", "acetic": "acetic_acid",
    "honey": "honey", "sugar": "sugar", "salt": "sodium_chloride",
}  # fmt: skip
# Of the others the table has several, by how their keys begin: which one it is, the maker says.
OFFERED = {"milk": ("milk_", "buttermilk"), "clay": ("clay_", "diatomaceous"), "oatmeal": ("oatmeal", "coffee", "calendula")}
COLOURS = (
    "titanium_dioxide", "iron_oxide_red", "iron_oxide_yellow", "iron_oxide_black", "ultramarine", "chromium_oxide_green",
    "chromium_hydroxide_green", "manganese_violet", "zinc_oxide", "carbon_black", "vegetable_carbon", "carmine", "beta_carotene", "curcumin",
    "chlorophyllin_copper", "mica",
)  # fmt: skip
COLOUR = "colour"


@dataclass(frozen=True)
class Name:
    """How an ingredient is listed. how: "read", "memory", "confirmed", or "missing" where `text` is only what the maker calls it.

    event: what a confirmation is about. offered: names that may fit. note: what the table says about it. by, said: who confirmed
    it, and the id of the event.
    """

    text: str
    how: str
    event: str
    offered: tuple[str, ...] = ()
    note: str = ""
    by: str = ""
    said: str = ""

    @property
    def sure(self) -> bool:
        return self.how in (READ, "confirmed")


@dataclass(frozen=True)
class Confirmed:
    """What a person found the name to be; id: of the event that says so."""

    name: str
    person: str
    id: str = ""


def name_of(each: Ingredient, style: str, soap: str, confirmed: Mapping[str, Confirmed]) -> Name:
    """The name of one ingredient. style: "eu", "us" or "both". soap: id of the formula, of which an additive's name is told."""
    extra = each.kind == "extra"
    key, kind = (OF_ADDITIVE.get(each.key, ""), "raw") if extra else (each.key, each.kind)
    row = inci_names().get((key, kind))
    # What the table has no name of is the formula's own; a second clay has a number, as nothing else tells it from the first.
    nth = f"@{each.nth}" if extra and row is None and each.nth > 1 else ""
    event = f"{each.key}@{soap}{nth}" if extra and row is None else f"{key}.{kind}.{style}"
    said = confirmed.get(event)
    if said is not None:
        return Name(said.name, "confirmed", event, by=said.person, said=said.id)
    if row is None:
        called = each.name or each.key
        return Name(f"{called} {each.nth}" if nth else called, "missing", event, offered_for(each.key, style) if extra else ())
    text, how = styled(row, style)
    return Name(text, how, event, (text,), row.note)


def styled(row: InciName, style: str) -> tuple[str, str]:
    """A row's name in one style, and how it is known. For both, the European name with the American one behind, where neither holds the other."""
    if style == "eu":
        return row.eu, row.eu_how
    if style == "us":
        return row.us, row.us_how
    how = READ if row.eu_how == row.us_how == READ else "memory"
    if set(row.eu.split()) <= set(row.us.replace("(", "").replace(")", "").split()):
        return row.us, how
    return f"{row.eu} ({row.us})", how


def offered_for(additive: str, style: str) -> tuple[str, ...]:
    """Names of the table that an additive of this kind may have."""
    if additive == COLOUR:
        rows = [inci_names()[key, "raw"] for key in COLOURS]
    else:
        begins = OFFERED.get(additive, ())
        rows = [row for (key, _), row in inci_names().items() if begins and key.startswith(begins)]
    return tuple(styled(row, style)[0] for row in rows)
