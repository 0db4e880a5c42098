"""The pages of Tarewell. Each shows the demo workshop's real answers, got through the same door the browser uses."""

import base64
import hashlib
import json
import posixpath
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any

from flask import Flask, Response, render_template, request
from jinja2 import StrictUndefined
from markupsafe import Markup
from werkzeug.exceptions import NotFound

from answers.demo import (
    BATCH_VALUES,
    CUT_VALUES,
    DAY_VALUES,
    DEMO_NOW,
    HEAT_VALUES,
    LABEL_VALUES,
    MIX_VALUES,
    SCENT_VALUES,
    STAND_IN_VALUES,
    STOCK_VALUES,
    TRACE_VALUES,
    demo_state,
    stored_values,
)
from answers.door import answer
from answers.rendering import add_filters
from answers.state import State
from calc.batch.order import BatchOrder, Issue
from calc.block.closing import EYEWASH_CHECKS, EYEWASH_STATES
from calc.block.declared import EVENTS
from calc.cure.declared import By
from calc.cut.question import CutQuestion
from calc.day.declared import DayQuestion, Planner
from calc.entry.declare import FieldInfo, describe
from calc.entry.language import later, speaking, spoken, tr
from calc.entry.units import show_unit
from calc.formula.as_text import OilNames, write_oils
from calc.formula.declaration import Formula
from calc.formula.stand_in_question import StandInQuestion
from calc.label.declared import Label, Printing
from calc.record.sale_forms import TraceQuestion
from calc.safety.cards import call_when_lines, cards, facts
from calc.safety.equipment import equipment, labels, materials
from calc.safety.limits import limits_of, limits_with
from calc.safety.points import daily, phases
from calc.safety.upkeep import usual_tasks
from calc.scent.quick_check import ScentQuestion
from calc.stock.declared import StockEntry
from calc.tables.reference import constant
from calc.tables.safety import say, values
from calc.tanks.questions import HeatQuestion, MixQuestion
from calc.workshop.deliveries import FOLDED as DELIVERY
from calc.workshop.in_the_mould import COVERS, GELS
from calc.workshop.kinds import KINDS, ONE_OF_A_KIND
from calc.workshop.reasons import REASONS
from calc.workshop.setup import QUESTIONS, Crew
from pages import copy_schema
from pages.cure_forms import CURE_FORMS
from pages.log_states import LOG_STATES
from pages.lye_forms import LYE_FORMS
from pages.options import items_offered, rows_offered
from pages.places import PLACES, entry_of, place_of
from pages.sale_forms import SALE_FORMS
from pages.source_list import source_tables
from pages.tank_forms import TANK_FORMS
from pages.us_units import in_us_units
from pages.workshop_pictures import OF_KIND, PICTURES

SITE = Path(__file__).resolve().parents[1]
SHOWN_FORMULA = "f-marsh-plain"
# The demo workshop has neither address nor emergency number: an invented one might be read out in earnest.
UNFILLED = "safety"

# Where the browser knows this, it makes ready the page that a link leads to as soon as the link is pressed, so that the tap
# finds it ready (HTML standard, "speculation rules"); what such a page may do until then: store/seen.mjs. Left out are a link
# at whose tap one's own workshop is chosen, which would show practice for a moment, and the emergency card, which depends on
# nothing.
AHEAD_RULES = json.dumps({"prerender": [{
    "where": {"selector_matches": "a[href]:not([data-enter-own], [download], [href^='#'], [href*=':'], [href*='emergency/'])"},
    "eagerness": "conservative",
}]})  # fmt: skip

# One policy, as a header where the host can send one and as a meta element everywhere. By their digest these rules are let
# in and no others, as 'inline-speculation-rules' would.
_AHEAD = base64.b64encode(hashlib.sha256(AHEAD_RULES.encode()).digest()).decode()
POLICY = (
    f"default-src 'none'; script-src 'self' 'wasm-unsafe-eval' 'sha256-{_AHEAD}'; worker-src 'self'; connect-src 'self'; "
    "style-src 'self'; img-src 'self' data:; font-src 'self'; manifest-src 'self'; base-uri 'none'; "
    "form-action 'none'; require-trusted-types-for 'script'; trusted-types tarewell tarewell-early"
)


@dataclass(frozen=True)
class Page:
    """One page: its template, what that shows, and which of static/js/pages it starts."""

    path: str
    template: str
    script: str = "plain"
    in_spanish: bool = False  # under /es/ too; the safety pages carry both languages themselves
    shows: Callable[[], Mapping[str, Any]] = dict


def _workshop_kinds() -> list[dict[str, Any]]:
    """The forms of what a workshop has, each filled with the demo's first."""
    kinds: list[dict[str, Any]] = []
    for kind, (declared, one, many) in KINDS.items():
        entries = demo_state().get(kind, [])
        shown = entries[0] if entries else {"id": "", "values": {}}
        kinds.append(
            {"kind": kind, "declared": declared, "one": one, "many": many, "shown": shown["id"],
             "values": shown["values"], "single": kind in ONE_OF_A_KIND, "whole": kind != UNFILLED}
        )  # fmt: skip
    return kinds


def _setup() -> dict[str, Any]:
    """The six questions, each with the declaration of the item that it stores; what a name or a choice starts with."""
    return {
        "questions": QUESTIONS,
        "steps": [*(question.key for question in QUESTIONS), "crew"],
        "titles": [*((question.key, tr(question.title)) for question in QUESTIONS), ("crew", tr("Who works here"))],
        "declared": {question.kind: describe(KINDS[question.kind][0]) for question in QUESTIONS},
        "starting": {
            question.key: {question.called[0]: tr(question.called[1]), **question.preset} for question in QUESTIONS
        },
        "crew": describe(Crew),
        "pictures": PICTURES,
    }


def _needed() -> list[tuple[str, str, str]]:
    """The kinds without one of which no batch sheet can be made, what one is called, and the set-up's question that asks for it."""
    asked = {question.kind: question.key for question in reversed(QUESTIONS)} | {"shop": "crew"}
    return [*((kind, KINDS[kind][1], asked[kind]) for kind in ("shop", "mould", "vessel", "scale", "alkali_lot")), ("formula", "Formula", "")]


# What goes from phone to phone: as rules/parcel.mjs has it.
HANDED_KINDS = ("formula", "own_oil", "scent", "scent_lot")


def _named_kinds() -> dict[str, Any]:
    """Each kind of item with its declaration and what one is called."""
    return {"named_kinds": [("formula", Formula, later("Formula")), ("label", Label, later("Label")), *((kind, declared, one) for kind, (declared, one, _) in KINDS.items())]}


NOT_FOUND = Page("/404.html", "not_found.html")
PAGES = (
    Page("/", "home.html", "home", in_spanish=True),
    Page("/formula/", "formula_list_page.html", "list"),
    Page("/formula/edit/", "formula_edit.html", "form", shows=lambda: {
        "declared": Formula, "values": stored_values("formula", SHOWN_FORMULA), "shown": SHOWN_FORMULA,
        "oils_text": write_oils(stored_values("formula", SHOWN_FORMULA), OilNames(State(demo_state()).oils())),
    }),
    Page("/formula/stand-in/", "stand_in.html", "stand_in", in_spanish=True, shows=lambda: {"question": StandInQuestion, "values": STAND_IN_VALUES}),
    Page("/batch/", "batch.html", "batch", shows=lambda: {"order": BatchOrder, "issue": Issue, "values": BATCH_VALUES, "needed": _needed()}),
    Page("/batch/sheet/", "batch_issued.html", "sheet"),
    Page("/cut/", "cut_plan.html", "form", in_spanish=True, shows=lambda: {"question": CutQuestion, "values": CUT_VALUES}),
    Page("/day/", "day.html", "day", in_spanish=True, shows=lambda: {"question": DayQuestion, "planner": Planner, "values": DAY_VALUES}),
    Page("/scale/", "at_the_scale.html", "scale", in_spanish=True),
    Page("/tanks/heat/", "tank_heat.html", "tank_heat", in_spanish=True, shows=lambda: {"question": HeatQuestion, "values": HEAT_VALUES, "by": By}),
    Page("/tanks/mix/", "tank_mix.html", "form", in_spanish=True, shows=lambda: {"question": MixQuestion, "values": MIX_VALUES}),
    Page("/cure/", "cure_rack.html", "cure_list", in_spanish=True),
    Page("/cure/aside/", "set_aside.html", "set_aside", in_spanish=True, shows=lambda: {"by": By}),
    *(Page(f"/cure/{name}/", "cure_form.html", "cure_new" if name == "new" else "cure", in_spanish=True,
           shows=partial(dict, cure=each, by=By)) for name, each in CURE_FORMS.items()),
    *(Page(f"/tanks/{name}/", "lye_form.html", "lye", in_spanish=True, shows=partial(dict, lye=each)) for name, each in LYE_FORMS.items()),
    Page("/tanks/", "tanks.html", "tanks_list", in_spanish=True),
    *(Page(f"/tanks/{name}/", "tank_form.html", "tanks", in_spanish=True, shows=partial(dict, form=each))
      for name, each in TANK_FORMS.items()),
    Page("/records/", "records.html", "records", in_spanish=True, shows=lambda: {"log_states": LOG_STATES}),
    Page("/records/batch/", "batch_record.html", "batch_record", in_spanish=True, shows=lambda: {"log_states": LOG_STATES}),
    Page("/records/label/", "label.html", "label", in_spanish=True, shows=lambda: {"label": Label, "printing": Printing, "by": By, "values": LABEL_VALUES}),
    Page("/records/trace/", "trace_page.html", "trace", in_spanish=True, shows=lambda: {"question": TraceQuestion, "values": TRACE_VALUES}),
    *(Page(f"/records/{name}/", "sale_form.html", "sale", in_spanish=True, shows=partial(dict, form=each, by=By)) for name, each in SALE_FORMS.items()),
    Page("/records/copies/", "copies.html", "copies", in_spanish=True, shows=_named_kinds),
    Page("/hand/", "hand.html", "hand", in_spanish=True),
    Page("/take/", "take.html", "take", in_spanish=True, shows=lambda: _named_kinds() | {"handed_kinds": HANDED_KINDS}),
    Page("/records/stock/", "stock.html", "stock", in_spanish=True),
    Page("/records/stock/count/", "stock_form.html", "stock_count", in_spanish=True, shows=lambda: {"declared": StockEntry, "by": By, "values": STOCK_VALUES}),
    Page("/fragrance/", "fragrance.html", "form", in_spanish=True, shows=lambda: {
        "question": ScentQuestion, "values": SCENT_VALUES,
    }),
    Page("/workshop/", "workshop_page.html", "workshop"),
    Page("/workshop/setup/", "workshop_setup.html", "setup", in_spanish=True, shows=_setup),
    Page("/workshop/upkeep/", "upkeep.html", "upkeep", in_spanish=True, shows=lambda: {"usual": usual_tasks(), "by": By}),
    Page("/workshop/phones/", "phones.html", "phones", in_spanish=True, shows=lambda: {"by": By}),
    Page("/workshop/edit/", "workshop_edit.html", "form", shows=lambda: {"kinds": _workshop_kinds(), "pictures": OF_KIND, "delivery": DELIVERY}),
    Page("/sources/", "sources.html", shows=lambda: {"tables": source_tables()}),
    Page("/emergency/", "emergency.html"),
    Page("/safety/", "safety.html", "safety"),
    Page("/safety/labels/", "safety_labels.html", "labels"),
    NOT_FOUND,
)  # fmt: skip
TRANSLATED = frozenset(page.path for page in PAGES if page.in_spanish)
# How the addresses of the pages begin that carry both languages themselves.
WITH_BOTH = ("/safety/", "/emergency/")


class AnswerMissing(RuntimeError):
    """The demo workshop gets no answer to a page's question: such a page must not be built."""


@cache
def demo_answer(task: str, region: str, language: str, values: tuple[tuple[str, str], ...] = ()) -> Markup:
    """The demo workshop's answer for one region; raises AnswerMissing when the door has none."""
    asked = {"task": task, "values": dict(values), "state": demo_state(), "now": DEMO_NOW, "language": language}
    reply = json.loads(answer(json.dumps(asked)))
    if not reply.get("ok"):
        raise AnswerMissing(f"{task}: {reply.get('problems') or reply.get('report')}")
    return Markup(reply["html"][region])  # the door's own templates escape what people typed


def _answer(task: str, values: Mapping[str, str] | None = None, region: str = "") -> Markup:
    return demo_answer(task, region or task, spoken(), tuple(sorted((values or {}).items())))


def relative(path: str) -> str:
    """The way to a path of the site, relative to the page being made, so that the built folder works under any address.

    To a page that stands in the language spoken too, it leads in that language.
    """
    if spoken() != "en" and path in TRANSLATED:
        path = f"/{spoken()}{path}"
    return _relative(path)


def in_other_language() -> str | None:
    """From a page that stands in another language too, the way to that one."""
    path = page_path()
    if path not in TRANSLATED:
        return None
    return _relative(path if spoken() != "en" else f"/es{path}")


def in_every_language(path: str) -> bool:
    """Whether a page can be read in every language: it stands in each, or is one of safety, which carry all of them."""
    return path in TRANSLATED or path.startswith(WITH_BOTH)


def carries_both() -> bool:
    """Whether the page being made carries both languages itself, as those of safety do."""
    return request.path.startswith(WITH_BOTH)


def in_spanish(message: str) -> str:
    """A message of the code in Spanish, on a page that carries both languages."""
    with speaking("es"):
        return tr(message)


def words_in_spanish() -> Markup:
    """The words that scripts show, in Spanish beside those in English."""
    with speaking("es"):
        return Markup(render_template("_words.html", words_id="words-es"))  # as safe as the template that it comes from


def page_path() -> str:
    """The path of the page being made, whatever its language: "/es/scale/" is "/scale/"."""
    return request.path.removeprefix(f"/{spoken()}") if spoken() != "en" else request.path


def _relative(path: str) -> str:
    here = request.path if request.path.endswith("/") else posixpath.dirname(request.path)
    found = posixpath.relpath(path, here)
    return found + "/" if path.endswith("/") else found


def eyewash_every() -> dict[str, int]:
    """How often the standard wants the eyewash run [days] and inspected [months]."""
    found = values()
    return {"days": int(found["eyewash_weekly_days"].value), "months": int(found["eyewash_yearly_months"].value)}


def is_item(wanted: tuple[str, str, tuple[str, ...]], id_: str) -> bool:
    """Whether the demo's item of that id has one of the values that a field is asked for."""
    kind, name, values = wanted
    return any(entry["id"] == id_ and entry["values"].get(name) in values for entry in demo_state().get(kind, []))


def copy_every_days() -> int:
    """After how many days a copy of the records is due again."""
    return int(constant("copy_every_usual").value)


def copy_every_blocks() -> int:
    """After how many closed blocks a copy is due again, whatever the day."""
    return int(constant("copy_blocks_usual").value)


def copies_kept() -> int:
    """How many copies stay in a folder; records/generations.mjs keeps as many."""
    return int(constant("copies_kept").value)


def passphrase_least() -> int:
    """How long a passphrase must be at least. [characters]"""
    return int(constant("passphrase_least").value)


def passphrase_rounds() -> str:
    """How often a passphrase goes through the key derivation, to be read; store/locked.mjs holds as many."""
    return f"{int(constant('passphrase_rounds').value):,}"


def own_blocks_least() -> int:
    """From how many of a workshop's own blocks their time in the mould is gone by."""
    return int(constant("own_blocks_least").value)


def day_ends_usual() -> str:
    """When a day's work is over where nobody has said."""
    return f"{int(constant('day_end_usual').value):02}:00"


def cure_weeks_usual() -> float:
    """How long bars cure where the maker has no rule: the middle of what is usual, as the rack's forecast has it. [weeks]"""
    return 0.5 * (constant("cure_weeks_usual_low").value + constant("cure_weeks_usual_high").value)


def place_points() -> list[str]:
    """The points of walk and daily check whose "no" is about the place and keeps everybody from lye."""
    of_walk = [check.key for phase in phases() for check in phase.checks if check.place]
    return [*of_walk, *(point.key for point in daily() if point.place)]


def row_indices(info: FieldInfo, values: Mapping[str, str]) -> list[int]:
    """The rows that stand in a form's values, and empty ones up to the least number there must be."""
    start = f"{info.name}."
    found = sorted({int(name.split(".")[1]) for name in values if name.startswith(start)})
    return found + list(range(len(found), info.minimum))


def create_app() -> Flask:
    """The Flask app; its pages are the same whether served live or frozen."""
    app = Flask("pages", root_path=str(SITE / "pages"), static_folder=str(SITE / "static"))
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    add_filters(app.jinja_env)
    app.jinja_env.filters.update(unit=show_unit, row_indices=row_indices)
    app.jinja_env.globals.update(
        to=relative, policy=POLICY, ahead_rules=Markup(AHEAD_RULES), is_item=is_item, answer=_answer, describe=describe, in_us_units=in_us_units, items_offered=items_offered,
        rows_offered=rows_offered,
        page_path=page_path, in_other_language=in_other_language, translated=in_every_language,
        carries_both=carries_both, schema_of_copies=copy_schema.PATH, in_languages=TRANSLATED.__contains__, in_spanish=in_spanish, later=later,
        words_in_spanish=words_in_spanish, event_kinds=EVENTS, places=PLACES, entry_of=entry_of, place_of=place_of,
    )  # fmt: skip
    app.jinja_env.globals.update(
        say=say, cards=cards, phases=phases, daily=daily, equipment=equipment, materials=materials, labels=labels,
        call_when_lines=call_when_lines, facts=facts, limits_of=limits_of, limits_with=limits_with,
        usual_tasks=usual_tasks, eyewash_every=eyewash_every, copy_every_days=copy_every_days, copy_every_blocks=copy_every_blocks, copies_kept=copies_kept, passphrase_least=passphrase_least, passphrase_rounds=passphrase_rounds, own_blocks_least=own_blocks_least, day_ends_usual=day_ends_usual, cure_weeks_usual=cure_weeks_usual, place_points=place_points,
        eyewash_checks=EYEWASH_CHECKS, eyewash_states=EYEWASH_STATES, common_reasons=REASONS,
        covers=COVERS, gels=GELS,
    )  # fmt: skip
    for page in PAGES:
        app.add_url_rule(page.path, page.path, partial(_show, page, "en"))
        if page.in_spanish:
            app.add_url_rule(f"/es{page.path}", f"/es{page.path}", partial(_show, page, "es"))
    app.add_url_rule(copy_schema.PATH, copy_schema.PATH, _schema_of_copies)
    app.register_error_handler(NotFound, _not_found)
    app.after_request(_with_policy)
    return app


def _show(page: Page, language: str) -> str:
    with speaking(language):
        return render_template(page.template, script=page.script, **page.shows())


def _schema_of_copies() -> Response:
    return Response(copy_schema.as_file(), mimetype="application/json")


def _with_policy(response: Response) -> Response:
    response.headers["Content-Security-Policy"] = f"{POLICY}; frame-ancestors 'none'"
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


def _not_found(_error: NotFound) -> tuple[str, int]:
    return _show(NOT_FOUND, "en"), 404
