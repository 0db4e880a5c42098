"""What a build reckons once, so that the browser needs neither the tool nor its memory: unit factors, compiled templates."""

from __future__ import annotations

import shutil
from pathlib import Path

from answers.rendering import COMPILED, TEMPLATES, environment
from calc.entry.units import WRITTEN_LINES, every_line

ROOT = Path(__file__).resolve().parents[2]


def make_ready(staged: Path) -> None:
    """Changes the staged copy of the app: `staged` lies as the repository does."""
    (staged / WRITTEN_LINES.relative_to(ROOT)).write_text(every_line(), encoding="utf-8")
    environment().compile_templates(staged / COMPILED.relative_to(ROOT), zip=None, ignore_errors=False)
    shutil.rmtree(staged / TEMPLATES.relative_to(ROOT))
