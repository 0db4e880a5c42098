"""The one door: a request in, a reply out, both JSON strings; the very same at build time, in tests and in the browser.

Request: task, values (flat strings as the form's controls are named), state (the workshop), now (local time, ISO 8601),
id (of the item being changed), check (it is about to be saved) and language (one of calc.entry.language.LANGUAGES).
Reply: ok with html by region, cautions and perhaps a record to store; or problems; or a fault of ours with a report.
With the first two, what quantities were understood as, by control, where they were typed in words of their own; and what
follows from them in other controls. Problems may leave some regions answered.
"""

import importlib
import json
import traceback
from dataclasses import asdict
from typing import Any

from answers.demo import demo_requests
from answers.request import PartlyAnswered, Request
from answers.state import State
from answers.tasks import FORMS, TASKS
from calc.entry.fields import understood
from calc.entry.language import LANGUAGES, speaking
from calc.entry.problems import InputProblems
from calc.tables.reference import make_all_and_forget_rows


def answer(request_json: str) -> str:
    """Answers one request. Never raises: what is not a problem of the input comes back as a fault with its report."""
    try:
        raw = json.loads(request_json)
        with speaking(_language(raw)):
            reply = _reply(raw)
    except Exception as error:  # noqa: BLE001 - a fault of ours must reach the page as data: the worker has nobody else to tell
        reply = {"fault": f"{type(error).__name__}: {error}", "report": traceback.format_exc()}
    # Half of a surrogate pair, which JavaScript's strings may hold, goes as its escape: no other string can carry it.
    return json.dumps(reply, ensure_ascii=False).encode("utf-8", "backslashreplace").decode("utf-8")


def _language(raw: dict[str, Any]) -> str:
    """The language asked for, or that of its region ("es-MX" is "es"); English for one that there is none of."""
    asked = str(raw.get("language", "en"))[:2].lower()
    return asked if asked in LANGUAGES else LANGUAGES[0]


def _reply(raw: dict[str, Any]) -> dict[str, Any]:
    task = raw["task"]
    values = {str(key): str(value) for key, value in raw["values"].items()}
    told = {name: words for form in FORMS[task] for name, words in understood(form, values).items()}
    try:
        request = Request(
            values=values,
            state=State(raw["state"]),
            now=str(raw["now"]),
            id=str(raw.get("id", "")),
            check=bool(raw.get("check", False)),
        )
        found = TASKS[task](request)
    except InputProblems as faults:
        part = faults if isinstance(faults, PartlyAnswered) else None
        return {
            "ok": False,
            "problems": [asdict(problem) for problem in faults.problems],
            "html": part.html if part else {},
            "understood": told,
            "puts": part.puts if part else {},
        }
    return {
        "ok": True,
        "html": found.html,
        "cautions": [asdict(caution) for caution in found.cautions],
        "record": found.record,
        "understood": told | dict(found.notes),
        "puts": found.puts,
    }


def warm() -> None:
    """Brings into memory all that an answer needs (tables, units, templates), for the snapshot the browser starts from.

    Raises RuntimeError when a demo request gets no answer: such a build must not be shipped.
    """
    # First, so that what follows takes the place of what is given back.
    make_all_and_forget_rows()
    # Jinja imports what words a failing template only then, and a snapshot has no files to import from.
    importlib.import_module("jinja2.debug")
    for request in demo_requests():
        for language in LANGUAGES:
            reply = json.loads(answer(json.dumps(request | {"language": language})))
            if not reply.get("ok"):
                raise RuntimeError(f"the demo workshop gets no answer to {request['task']}: {reply}")
