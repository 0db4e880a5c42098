"""What is open on a label, and so keeps it a draft."""

from collections.abc import Sequence
from dataclasses import dataclass

from answers.label_read import Source
from calc.entry.language import tr
from calc.entry.shown import percent, quantity
from calc.label.claims import Standing
from calc.label.declared import BEST_BEFORE_MONTHS, Label
from calc.label.layout import Face, net_is_low
from calc.label.listing import Listing
from calc.label.quantity import NetQuantity, Panel
from calc.tables.reference import constant

# Not on the label's own page: the workshop's form.
SHOP = "shop"


@dataclass(frozen=True)
class Open:
    """What keeps a label a draft. at: the control, or the fold of the answer, in which it's put right; recalled: its rule was not read."""

    words: str
    at: str = ""
    recalled: bool = False


def open_on(
    label: Label, source: Source, found: Listing, faces: Sequence[Face], net: NetQuantity, lawful: float | None, class_: Standing, panel: Panel
) -> list[Open]:
    """What keeps it a draft, each in a line, with where it's put right."""
    eu = "eu" in label.markets
    us_cosmetic = "us" in label.markets and class_.us != "soap"
    low = constant("label_net_low_part").value
    fits = all(face.fits for face in faces)
    misplaced = (
        "us" in label.markets
        and panel.area_in2 > constant("label_small_panel_in2").value
        and not net_is_low(faces[0], low)
    )
    told = [
        (not fits, Open(tr("It doesn't all fit."), "height_mm")),
        (misplaced and fits, Open(tr("The net weight doesn't fit into the lowest {percent} of the front.", percent=percent(low, 0)), "height_mm")),
        (bool(found.unsure), Open(tr("Ingredient names to look up: {n}", n=len(found.unsure)), "label-names")),
        (eu and bool(source.allergens_lack), Open(tr("The list of allergens is incomplete. Get the supplier's statement for: {names}.", names=", ".join(source.allergens_lack)))),
        (source.old_soap, Open(tr("Set-aside soap went into this batch: what it brought isn't in this list."))),
        (lawful is not None and net.binding_g > lawful + 1e-6, Open(tr("The bars weighed allow less than this net weight."), "net_g", recalled=True)),
        (class_.us == "drug", Open(tr("Words that make it a drug."), "label-class", recalled=all(each.recalled for each in class_.found if each.makes == "drug"))),
        (eu and not label.responsible, Open(tr("The EU wants a responsible person with an address."), "responsible")),
        (eu and not source.code, Open(tr("The EU wants a batch code: choose the batch."), "batch")),
        (eu and label.keeps_months is None, Open(tr("How long it keeps isn't said."), "keeps_months")),
        (eu and (label.keeps_months or 0) > BEST_BEFORE_MONTHS and label.opened_months is None,
         Open(tr("Over {months} months, the months after opening are wanted.", months=BEST_BEFORE_MONTHS), "opened_months", recalled=True)),
        (us_cosmetic and not label.contact, Open(tr("A cosmetic in the US needs a US address, phone or web address for reactions."), "contact")),
    ]  # fmt: skip
    return [each for holds, each in told if holds]


def open_of_origin(label: Label, imported: tuple[str, ...] | None, origin: str | None) -> list[Open]:
    """What is open about the country of origin. Where nobody has said where it's made, only the EU makes it a question: there a cosmetic can't do without."""
    if imported is None:
        return [Open(tr("Nobody has said where it's made: imported into the EU, it names the country."), SHOP)] if "eu" in label.markets else []
    if imported and origin is None:
        return [Open(tr("It's imported: the label names the country it's made in."), SHOP, recalled="eu" not in imported)]
    return []


def open_of_sign(label: Label, net: NetQuantity, lawful: float | None) -> list[Open]:
    """What is open about the sign ℮."""
    if not signed(label):
        return []
    least_g, most_g = constant("label_e_least").value, constant("label_e_most").value
    told = [
        (not least_g <= net.binding_g <= most_g,
         Open(tr("The e-mark is for packs of {least} to {most}.", least=quantity(least_g, "g"), most=quantity(most_g / 1000.0, "kg")), "net_g")),
        (lawful is None, Open(tr("The e-mark takes bars of this batch weighed one by one."), "batch")),
    ]  # fmt: skip
    return [each for holds, each in told if holds]


def signed(label: Label) -> bool:
    """Whether the sign ℮ stands on it: it's chosen, and it's sold where that sign means something."""
    return label.e_mark == "yes" and "eu" in label.markets
