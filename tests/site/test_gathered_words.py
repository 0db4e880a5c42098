"""Every message that code asks for is one that is gathered: inside an f-string or another call it would be passed over."""

import ast
from pathlib import Path

from pages import catalogues

ROOT = Path(__file__).resolve().parents[2]
ASKING = {"tr", "ntr", "later"}


def asked(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ASKING:
            yield from (part.value for part in node.args[:2] if isinstance(part, ast.Constant) and isinstance(part.value, str))


def test_every_message_in_python_code_is_gathered():
    gathered = set()
    for message in (each for words in catalogues.messages().values() for each in words):
        gathered.update((message.id,) if isinstance(message.id, str) else message.id)
    for folder in ("calc", "site"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            missing = set(asked(path)) - gathered
            assert not missing, f"{path.relative_to(ROOT)}: {missing}"
