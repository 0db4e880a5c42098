"""Each declared field stands exactly once in its form, with its unit, its limits of length and its place for a problem."""

import json
import re

import pytest
from html_reader import Element, Page

from calc.batch.order import BatchOrder, Issue
from calc.cure.declared import By
from calc.cut.question import CutQuestion
from calc.day.declared import DayQuestion, Planner
from calc.entry.declare import FieldInfo, describe
from calc.formula.declaration import Formula
from calc.formula.stand_in_question import StandInQuestion
from calc.label.declared import Label, Printing
from calc.stock.declared import StockEntry
from calc.tanks.questions import HeatQuestion, MixQuestion
from calc.workshop.kinds import KINDS
from pages.cure_forms import CURE_FORMS
from pages.lye_forms import LYE_FORMS
from pages.sale_forms import SALE_FORMS
from pages.tank_forms import TANK_FORMS

# What stands by the button is what the page is for: nobody has to be told that it may stay empty.
AT_HAND = {name for form in CURE_FORMS.values() for name in form.at_hand} | {name for form in LYE_FORMS.values() for name in form.at_hand}
# Of the three temperatures of a mix one stays empty: the page says so once, above them.
AT_HAND |= {"oils_c", "lye_c", "batter_c"}
FORMS = [
    *((f"cure/{name}/index.html", form.task, (form.declared, By)) for name, form in CURE_FORMS.items()),
    *((f"tanks/{name}/index.html", form.task, (form.declared, By) if form.by else (form.declared,)) for name, form in TANK_FORMS.items()),
    *((f"tanks/{name}/index.html", form.task, (form.declared, By) if form.deed else (form.declared,)) for name, form in LYE_FORMS.items()),
    *((f"records/{name}/index.html", form.task, (form.declared, By)) for name, form in SALE_FORMS.items()),
    ("batch/index.html", "batch_sheet", (BatchOrder, Issue)),
    ("formula/edit/index.html", "formula", (Formula,)),
    ("cut/index.html", "cut_plan", (CutQuestion,)),
    ("formula/stand-in/index.html", "stand_in", (StandInQuestion,)),
    ("tanks/heat/index.html", "tank_heat", (HeatQuestion, By)),
    ("tanks/mix/index.html", "mix_temperature", (MixQuestion,)),
    ("records/label/index.html", "soap_label", (Label, Printing, By)),
    ("records/stock/count/index.html", "stock_entry", (StockEntry, By)),
    ("day/index.html", "day", (DayQuestion, Planner)),
    *(("workshop/edit/index.html", kind, (declared,)) for kind, (declared, _, _) in KINDS.items()),
]


def _form(page: Page, task: str) -> Element:
    found = page.all("form", data_task=task)
    assert len(found) == 1
    return found[0]


def _names(infos: tuple[FieldInfo, ...], prefix: str = "") -> list[str]:
    names = []
    for info in infos:
        if info.type == "rows":
            assert info.of is not None
            names += _names(describe(info.of), f"{info.name}.#.")
        else:
            names.append(prefix + info.name)
    return names


@pytest.mark.parametrize(("page", "task", "declared"), FORMS, ids=[task for _, task, _ in FORMS])
def test_declaration_and_form_agree(pages, page, task, declared):
    form = _form(pages[page], task)
    wanted = [name for cls in declared for name in _names(describe(cls))]
    controls = [e.get("name") for e in form.inside if e.tag in ("input", "select", "textarea") and e.get("name") and not e.get("data-writes")]
    assert len(controls) == len(set(controls)), "a control stands twice"
    # Rows that are filled already are copies of the template's row.
    once = {re.sub(r"\.\d+\.", ".#.", name) for name in controls}
    assert {name for name in once if not name.endswith(".unit")} == set(wanted)
    units = {name.removesuffix(".unit") for name in once if name.endswith(".unit")}
    assert units <= set(wanted)


@pytest.mark.parametrize(("page", "task", "declared"), FORMS, ids=[task for _, task, _ in FORMS])
def test_each_control_has_label_unit_and_problem_line(pages, page, task, declared):
    form = _form(pages[page], task)
    labelled = {element.get("for"): element for element in form.inside if element.tag == "label"}
    lines = {element.get("data-problem") for element in form.inside if "data-problem" in element.attributes}
    infos = {name: info for cls in declared for name, info in _by_name(describe(cls)).items()}
    for control in form.inside:
        name = control.get("name")
        if control.tag not in ("input", "select", "textarea") or not name or name.endswith(".unit") or control.get("data-writes"):
            continue
        info = infos[re.sub(r"\.\d+\.", ".#.", name)]
        label = labelled[control.get("id")].text
        if info.asked_back:
            # A box to tick: its label is what is affirmed.
            assert control.get("type") == "checkbox" and name in lines
            assert {control.get("value"): label.strip()} == dict(info.options)
            continue
        assert info.label in label
        assert ("(optional)" in label) == (info.optional and not info.needed and name not in AT_HAND)
        assert info.needed in label
        assert name in lines
        if info.type == "measure":
            assert control.get("inputmode") == "decimal" and control.get("type") != "number"
            unit = form_unit(form, name)
            if len(info.offered) > 1:
                assert [option.get("value") for option in unit.inside] == list(info.offered)
                assert unit.get("data-us") == (info.us or info.offered[0])
            else:
                assert unit is None
        if info.type == "text":
            # A browser would cut a longer text without a word.
            assert not control.get("maxlength")
        if info.type == "choice":
            assert {option.get("value") for option in control.inside} - {""} == set(info.options)
        if info.type == "item":
            assert control.get("data-items") == info.kind
            assert control.get("data-only") == "=".join(info.only or ())


@pytest.mark.parametrize(
    ("page", "task", "wanted"),
    [
        # 1 lb = 0.453 592 37 kg (1959 agreement), °F = 1.8 · °C + 32, both to what people type.
        ("tanks/heat/index.html", "tank_heat", {"now_c": ("72", "degF"), "wanted_c": ("113", "degF"), "room_c": ("64", "degF"), "amount_g": ("331", "lb")}),
        ("tanks/mix/index.html", "mix_temperature", {"oils_c": ("104", "degF"), "lye_c": ("86", "degF")}),
        ("tanks/dissolving/index.html", "make_lye", {"total_g": ("441", "lb"), "water_c": ("59", "degF"), "room_c": ("68", "degF")}),
    ],
)  # fmt: skip
def test_what_a_form_opens_with_is_there_in_us_units_too(pages, page, task, wanted):
    form = _form(pages[page], task)
    built = json.loads(form.get("data-built-us"))
    assert built == {name: text for field, (number, unit) in wanted.items() for name, text in ((field, number), (f"{field}.unit", unit))}
    # Nothing with a number in another unit is left out.
    numbers = {e.get("name") for e in form.inside if e.tag == "input" and e.get("value")}
    units = {e.get("name").removesuffix(".unit") for e in form.inside if e.tag == "select" and e.get("data-us") not in (None, e.get("data-metric"))}
    assert set(wanted) == numbers & units


def _by_name(infos: tuple[FieldInfo, ...], prefix: str = "") -> dict[str, FieldInfo]:
    found: dict[str, FieldInfo] = {}
    for info in infos:
        if info.type == "rows":
            assert info.of is not None
            found |= _by_name(describe(info.of), f"{info.name}.#.")
        else:
            found[prefix + info.name] = info
    return found


def form_unit(form: Element, name: str) -> Element | None:
    return next((element for element in form.inside if element.get("name") == f"{name}.unit"), None)


def test_fields_that_depend_on_a_choice_say_so(pages):
    form = _form(pages["formula/edit/index.html"], "formula")
    field = next(e for e in form.inside if e.get("data-field") == "koh_share_fraction")
    assert field.get("data-when") == "alkali=both" and "hidden" in field.attributes
    strength = next(e for e in form.inside if e.get("data-field") == "lye_strength_fraction")
    assert "hidden" not in strength.attributes


def test_row_sets_carry_their_limits(pages):
    form = _form(pages["formula/edit/index.html"], "formula")
    sets = {e.get("data-rows"): e for e in form.inside if e.get("data-rows")}
    assert (sets["oils"].get("data-min"), sets["oils"].get("data-max")) == ("1", "20")
    for each in sets.values():
        template = next(e for e in each.inside if e.tag == "template")
        assert any("data-row" in e.attributes for e in template.inside)
        assert any("data-add-row" in e.attributes for e in each.inside)


def test_a_text_of_rows_has_label_and_problem_line_and_says_the_rows_of_the_demo(pages):
    """The demo formula's oils as its maker typed them, shared/demo/workshop.json; the text writes rows that stand in the form too."""
    form = _form(pages["formula/edit/index.html"], "formula")
    (text,) = (e for e in form.inside if e.get("data-writes"))
    assert " ".join(text.text.split()) == "olive 45, palm 30, coconut 25"
    assert any(e.get("data-rows") == text.get("data-writes") for e in form.inside)
    assert any(e.tag == "label" and e.get("for") == text.get("id") for e in form.inside)
    assert any(e.get("data-problem") == text.get("name") for e in form.inside)


def test_water_is_asked_one_way_and_an_older_way_shows_only_where_a_formula_states_it(pages):
    form = _form(pages["formula/edit/index.html"], "formula")
    fields = {e.get("data-field"): e for e in form.inside if e.get("data-field")}
    assert "hidden" not in fields["lye_strength_fraction"].attributes
    assert all("hidden" in fields[name].attributes for name in ("water_to_lye_ratio", "water_share_fraction"))
    (way,) = (e for e in form.inside if "hidden" in e.attributes and any(c.get("name") == "water_as" for c in e.inside))
    assert way.get("data-field") == ""


def test_blank_row_states_nothing(pages):
    """A row that is added, as a new formula, holds no number of ours."""
    form = _form(pages["formula/edit/index.html"], "formula")
    for template in (e for e in form.inside if e.tag == "template"):
        assert all(not e.get("value") for e in template.inside if e.tag == "input")


def _options(pages: dict[str, Page], name: str) -> list[str]:
    form = _form(pages["batch/index.html"], "batch_sheet")
    select = next(e for e in form.inside if e.tag == "select" and e.get("name") == name)
    return [" ".join(option.text.split()) for option in select.inside]


def test_a_list_of_caustic_offers_its_own_alkali_with_form_and_strength(pages):
    # From the demo workshop's lots as typed: lye of 33 %, soda of 98.5 %, potash of 90 %.
    assert _options(pages, "naoh_lot") == ["None", "LYE-1121, premixed 33 %", "NAO-0287, solid 98.5 %"]
    assert _options(pages, "koh_lot") == ["None", "KOH-0031, solid 90 %"]


def test_a_lot_that_the_formula_needs_is_not_called_optional(pages):
    form = _form(pages["batch/index.html"], "batch_sheet")
    label = next(e for e in form.inside if e.tag == "label" and e.get("for") == "f-naoh_lot")
    assert "when the formula uses caustic soda" in label.text and "optional" not in label.text


def test_issuing_asks_who_at_the_bottom_edge_and_the_rest_in_a_fold(pages):
    form = _form(pages["batch/index.html"], "batch_sheet")

    def asked(part):
        return [e.get("name") or e.get("data-issue") for e in part.inside if e.get("data-issue") or e.get("name") in ("issued_by", "code", "reason")]

    (bar,) = [e for e in form.inside if "deed-bar" in e.get("class").split()]
    assert asked(bar) == ["issued_by", "weigh"]
    assert asked(form) == [*asked(bar), "code", "reason", "print"]
    folds = [asked(e) for e in form.inside if e.tag == "details"]
    assert ["code", "reason", "print"] in folds
    assert not any("weigh" in each for each in folds)


def test_nothing_new_is_offered_for_removal(pages):
    """The demo has no oil of its own: its form is a new one as built."""
    section = pages["workshop/edit/index.html"].all("section", data_kind="own_oil")[0]
    heading = next(e for e in section.inside if e.tag == "h2")
    assert heading.text.strip() == "New oil of your own"
    remove = next(e for e in section.inside if "data-remove" in e.attributes)
    assert "hidden" in remove.attributes


def test_sources_speak_in_words(pages):
    text = " ".join(pages["sources/index.html"].all("main")[0].text.split())
    for raw in ("HB44", "R76", "olive C16:0", "NaOH 1 0", "in_service", ": low", ": high", "% by mass, °C"):
        assert raw not in text, raw
    # Palmitic acid of olive oil, Codex CXS 33-1981 section 3.9: 7.5 to 20 %, both ends in one row.
    rows = {row.inside[0].text: row.inside[1].text for row in pages["sources/index.html"].all("tr")}
    assert rows["Olive oil (virgin and refined), palmitic, C16:0"] == "7.5 to 20 %"
    assert rows["NIST Handbook 44, class III, maintenance, load 0 to 500 intervals"] == "± 1 interval"
