"""What a build reckons once, so that the browser needs neither the tool nor its memory: unit factors, compiled templates."""

from __future__ import annotations

import ast
import shutil
from pathlib import Path

from answers.rendering import COMPILED, TEMPLATES, environment
from calc.entry.units import WRITTEN_LINES, every_line

ROOT = Path(__file__).resolve().parents[2]
# The parts of Jinja that turn a template's text into Python, or keep what came of it.
COMPILER = ("bccache", "compiler", "constants", "ext", "idtracking", "lexer", "meta", "optimizer", "parser", "visitor")
# What the rest of Jinja imports from one of them by name is there, and says what it is when it is used.
STAND_IN = '''
def __getattr__(name):
    if name.startswith("__"):
        raise AttributeError(name)
    return type(name, (), {"__init__": _absent})


def _absent(*_, **__):
    raise RuntimeError("templates are compiled in the build: this part of Jinja stays there")
'''
# The one thing of the syntax tree that a compiled template uses.
FROM_NODES = "EvalContext"


def make_ready(staged: Path) -> None:
    """Changes the staged copy of the app: `staged` lies as the repository does, with the packages beside it."""
    (staged / WRITTEN_LINES.relative_to(ROOT)).write_text(every_line(), encoding="utf-8")
    environment().compile_templates(staged / COMPILED.relative_to(ROOT), zip=None, ignore_errors=False)
    shutil.rmtree(staged / TEMPLATES.relative_to(ROOT))
    _without_compiler(staged / "packages" / "jinja2")


def _without_compiler(jinja: Path) -> None:
    for name in COMPILER:
        # Reading it first: where a newer Jinja has no such part, this list has to be looked at.
        part = jinja / f"{name}.py"
        part.read_text("utf-8")
        part.write_text(STAND_IN, encoding="utf-8")
    nodes = jinja / "nodes.py"
    source = nodes.read_text("utf-8")
    kept = next(part for part in ast.parse(source).body if isinstance(part, ast.ClassDef) and part.name == FROM_NODES)
    needed = ast.get_source_segment(source, kept)
    nodes.write_text(f"from __future__ import annotations\n\n{needed}\n{STAND_IN}", encoding="utf-8")
