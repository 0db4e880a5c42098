"""Runs inside Pyodide at build time: only the Python that will read the compiled files may write them."""

from __future__ import annotations

import ast
import gzip
import importlib._bootstrap_external as importer
import io
import os
import tarfile
import zipfile
from types import CodeType
from typing import TypeVar

Function = TypeVar("Function", ast.FunctionDef, ast.AsyncFunctionDef)

ZIP_TIME = (1980, 1, 1, 0, 0, 0)


def _own(source: bytes, name: str) -> bytes:
    """Our own code as it runs natively, asserts and all, without what only its reader needs."""
    tree = _WithoutWords().visit(ast.parse(source, name))
    return _pyc(compile(tree, name, "exec", dont_inherit=True, optimize=0))


def _others(source: bytes, name: str) -> bytes:
    """Other people's code, without asserts and line tables too: a report of a fault names our own lines."""
    tree = _WithoutWords().visit(ast.parse(source, name))
    return _pyc(_without_lines(compile(tree, name, "exec", dont_inherit=True, optimize=2)))


def _pyc(code: CodeType) -> bytes:
    return bytes(importer._code_to_timestamp_pyc(code, 0, 0))  # type: ignore[attr-defined]


class _WithoutWords(ast.NodeTransformer):
    """Takes annotations of functions and docstrings away. What classes say stays: dataclasses are made from it."""

    def visit_Module(self, node: ast.Module) -> ast.AST:
        return self._wordless(node)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        return self._wordless(self._bare(node))

    def visit_AsyncFunctionDef(self, node: ast.AsyncFunctionDef) -> ast.AST:
        return self._wordless(self._bare(node))

    def _wordless(self, node: ast.Module | ast.FunctionDef | ast.AsyncFunctionDef) -> ast.AST:
        if ast.get_docstring(node, clean=False) is not None:
            node.body = node.body[1:] or [ast.copy_location(ast.Pass(), node.body[0])]
        return self.generic_visit(node)

    def _bare(self, node: Function) -> Function:
        # functools.singledispatch reads from them which type a function is for.
        if any("register" in ast.unparse(decorator) for decorator in node.decorator_list):
            return node
        node.returns = None
        taken: ast.arguments = node.args
        for argument in [*taken.posonlyargs, *taken.args, *taken.kwonlyargs, taken.vararg, taken.kwarg]:
            if argument is not None:
                argument.annotation = None
        return node


def _without_lines(code: CodeType) -> CodeType:
    inner = tuple(_without_lines(each) if isinstance(each, CodeType) else each for each in code.co_consts)
    return code.replace(co_linetable=b"", co_consts=inner)


def _left_out(path: str, names: set[str]) -> bool:
    parts = path.removesuffix(".py").split("/")
    return any(".".join(parts[: depth + 1]) in names for depth in range(len(parts)))


def compile_library(source_zip: str, target_zip: str, left_out: str) -> int:
    """The standard library as a zip of bare .pyc, without the named parts; gives the file count."""
    names = {line for line in left_out.splitlines() if not line.startswith("#")}
    count = 0
    with zipfile.ZipFile(source_zip) as source, zipfile.ZipFile(target_zip, "w", zipfile.ZIP_DEFLATED) as target:
        for info in sorted(source.infolist(), key=lambda info: info.filename):
            if not info.filename.endswith(".py") or _left_out(info.filename, names):
                continue
            code = _others(source.read(info), f"/lib/{info.filename}")
            target.writestr(zipfile.ZipInfo(info.filename + "c", ZIP_TIME), code, zipfile.ZIP_DEFLATED, 9)
            count += 1
    return count


def compile_tree(folder: str, target_tar: str, inside: str) -> int:
    """A folder as a gzipped tar with every .py compiled; gives the file count."""
    held = io.BytesIO()
    count = 0
    with tarfile.open(fileobj=held, mode="w", format=tarfile.USTAR_FORMAT) as target:
        for place, folders, files in os.walk(folder):
            folders.sort()
            for file in sorted(files):
                path = os.path.join(place, file)
                name = os.path.relpath(path, folder)
                with open(path, "rb") as opened:
                    content = opened.read()
                if name.endswith(".py"):
                    make = _others if name.startswith("packages/") else _own
                    content, name = make(content, f"{inside}/{name}"), name + "c"
                entry = tarfile.TarInfo(name)
                entry.size = len(content)
                target.addfile(entry, io.BytesIO(content))
                count += 1
    with open(target_tar, "wb") as opened:
        opened.write(gzip.compress(held.getvalue(), 9, mtime=0))
    return count
