"""What is said of a problem or a caution goes through `tr`: else a page in another language would say it in English."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from pages.catalogues import ROOT

# The makers of what is said, and which of their arguments are names and codes, not words.
MAKERS = {"Problem": 2, "Caution": 2, "Unreadable": 1, "_refuse": 2}
WORDS = {"message", "remedy", "reason"}
SPOKEN = {"tr", "ntr"}
SOURCES = sorted(path for room in ("calc", "site/answers") for path in (ROOT / room).rglob("*.py"))

Scope = ast.FunctionDef | ast.Module


def name_of(call: ast.Call) -> str:
    return call.func.id if isinstance(call.func, ast.Name) else ""


def said(module: ast.Module) -> Iterator[tuple[ast.expr, Scope]]:
    """Every expression that becomes words of a problem or a caution, with the function it stands in."""

    def within(node: ast.AST, scope: Scope) -> Iterator[tuple[ast.expr, Scope]]:
        if isinstance(node, ast.Call):
            if name_of(node) in MAKERS:
                yield from ((word, scope) for word in node.args[MAKERS[name_of(node)] :])
            if name_of(node) in (*MAKERS, "replace"):
                yield from ((key.value, scope) for key in node.keywords if key.arg in WORDS)
        for child in ast.iter_child_nodes(node):
            yield from within(child, node if isinstance(node, ast.FunctionDef) else scope)

    yield from within(module, module)


def unspoken(word: ast.AST, scope: Scope, module: ast.Module, seen: frozenset[str] = frozenset()) -> Iterator[str]:
    """The literal words in an expression that no `tr` puts into the reader's language, as far as the module tells."""
    if isinstance(word, ast.Call) and name_of(word) in SPOKEN:
        return
    if isinstance(word, ast.Constant) and isinstance(word.value, str) and any(char.isalpha() for char in word.value):
        yield word.value
    elif isinstance(word, ast.JoinedStr):
        yield from (part.value for part in word.values if isinstance(part, ast.Constant) and any(map(str.isalpha, part.value)))
    elif isinstance(word, ast.IfExp):
        for part in (word.body, word.orelse):
            yield from unspoken(part, scope, module, seen)
    elif isinstance(word, ast.BinOp):
        for part in (word.left, word.right):
            yield from unspoken(part, scope, module, seen)
    elif isinstance(word, ast.Name) and word.id not in seen:
        for value in assigned(word.id, scope):
            yield from unspoken(value, scope, module, seen | {word.id})
    elif isinstance(word, ast.Call) and name_of(word) not in seen:
        for function in ast.walk(module):
            if isinstance(function, ast.FunctionDef) and function.name == name_of(word):
                for step in ast.walk(function):
                    if isinstance(step, ast.Return) and step.value is not None:
                        yield from unspoken(step.value, function, module, seen | {function.name})


def assigned(name: str, scope: Scope) -> Iterator[ast.expr]:
    """What a name is set to in a function, side by side with others too."""
    for step in ast.walk(scope):
        if not isinstance(step, ast.Assign):
            continue
        for target in step.targets:
            pairs = [(target, step.value)]
            if isinstance(target, ast.Tuple) and isinstance(step.value, ast.Tuple):
                pairs = list(zip(target.elts, step.value.elts, strict=True))
            yield from (value for each, value in pairs if isinstance(each, ast.Name) and each.id == name)


def found_in(source: str) -> list[str]:
    module = ast.parse(source)
    return [words for word, scope in said(module) for words in unspoken(word, scope, module)]


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(Path(path).relative_to(ROOT)))
def test_no_problem_or_caution_is_said_in_english_alone(path: Path) -> None:
    assert found_in(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ('Problem("a", "b-c", "No scale.", tr("Add one."))', ["No scale."]),
        ('Problem("a", "b-c", tr("No scale."), remedy="Add one.")', ["Add one."]),
        ('Caution("a", "b-c", f"{name}: {message}", f"At {most}")', ["At "]),
        ('def f():\n    message, remedy = tr("No."), "Do."\n    return Problem("a", "b-c", message, remedy)', ["Do."]),
        ('def over():\n    return "Over."\nCaution("a", "b-c", over(), tr("Less."))', ["Over."]),
        ('replace(problem, field="a", message="No " + name)', ["No "]),
        ('Problem("a", "b-c", tr("No.") if one else "None.", tr("Do."))', ["None."]),
    ],
)
def test_words_that_are_not_spoken_would_be_seen(source: str, found: list[str]) -> None:
    assert found_in(source) == found


def test_most_rooms_say_something() -> None:
    counts = {path: len(list(said(ast.parse(path.read_text(encoding="utf-8"))))) for path in SOURCES}
    assert len([path for path, count in counts.items() if count]) > 20
