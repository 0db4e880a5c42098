"""The forms from the rack to the customer: what each is about, as its page shows it, filled for the demo workshop."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from answers.demo import AFTER_VALUES, PACK_VALUES, RELEASE_VALUES, SEND_VALUES
from calc.entry.declare import describe
from calc.entry.language import later
from calc.record.sale_forms import AfterSale, PackQuestion, ReleaseQuestion, SendQuestion


@dataclass(frozen=True)
class SaleForm:
    """One page with a form: its task, what is declared, its words; what of it stays for the next entry, and what folds."""

    task: str
    declared: type[Any]
    title: str
    deed: str
    values: Mapping[str, str]
    keeps: str
    address: str
    folded: tuple[str, ...] = ()
    late: tuple[str, ...] = ()  # below the answer, which they go by
    at_hand: tuple[str, ...] = ()  # beside the button
    ways: tuple[tuple[str, str], ...] = ()  # to its neighbours, relative to the page

    @property
    def start(self) -> dict[str, str]:
        """What a blank form begins with: the first of each choice that has to be made."""
        return {info.name: next(iter(info.options)) for info in describe(self.declared) if info.type == "choice" and not info.optional}


_RELEASE, _PACK, _SEND = ("../release/", later("Release")), ("../pack/", later("Pack bars")), ("../send/", later("Bars out and back"))
# By the last part of the address.
SALE_FORMS = {
    "release": SaleForm("release", ReleaseQuestion, later("Release"), later("Keep this decision"), RELEASE_VALUES, "block person", "block",
                        ("bars",), ("look", "reason", "sample_bars", "place", "until"), ("what",), (_PACK, _SEND)),
    "pack": SaleForm("pack", PackQuestion, later("Pack bars"), later("They’re packed"), PACK_VALUES, "person", "code", ("code", "reason"), ways=(_RELEASE, _SEND)),
    "send": SaleForm("send", SendQuestion, later("Bars out and back"), later("Keep it"), SEND_VALUES, "packed person", "packed", ("on", "reason"), ways=(_RELEASE, _PACK)),
    "after": SaleForm("after_sale", AfterSale, later("Complaint or recall"), later("Keep it"), AFTER_VALUES, "person", "about", ("on",), ways=(("../trace/", later("Trace")),)),
}  # fmt: skip
