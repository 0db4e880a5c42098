"""Runs inside Pyodide at build time: only the Python that will read the compiled files may write them."""

from __future__ import annotations

import gzip
import importlib._bootstrap_external as importer
import io
import os
import tarfile
import zipfile

ZIP_TIME = (1980, 1, 1, 0, 0, 0)


def _compiled(source: bytes, name: str, optimise: int) -> bytes:
    code = compile(source, name, "exec", dont_inherit=True, optimize=optimise)
    return bytes(importer._code_to_timestamp_pyc(code, 0, 0))  # type: ignore[attr-defined]


def _left_out(path: str, names: set[str]) -> bool:
    parts = path.removesuffix(".py").split("/")
    return any(".".join(parts[: depth + 1]) in names for depth in range(len(parts)))


def compile_library(source_zip: str, target_zip: str, left_out: str) -> int:
    """The standard library as a zip of .pyc, docstrings and asserts off, without the named parts; gives the file count."""
    names = {line for line in left_out.splitlines() if not line.startswith("#")}
    count = 0
    with zipfile.ZipFile(source_zip) as source, zipfile.ZipFile(target_zip, "w", zipfile.ZIP_DEFLATED) as target:
        for info in sorted(source.infolist(), key=lambda info: info.filename):
            if not info.filename.endswith(".py") or _left_out(info.filename, names):
                continue
            code = _compiled(source.read(info), f"/lib/{info.filename}", 2)
            target.writestr(zipfile.ZipInfo(info.filename + "c", ZIP_TIME), code, zipfile.ZIP_DEFLATED, 9)
            count += 1
    return count


def compile_tree(folder: str, target_tar: str, inside: str) -> int:
    """A folder as a gzipped tar with every .py compiled; gives the file count.

    Docstrings and asserts stay in our own code, so that it is the same code as natively; those of packages go.
    """
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
                    optimise = 2 if name.startswith("packages/") else 0
                    content, name = _compiled(content, f"{inside}/{name}", optimise), name + "c"
                entry = tarfile.TarInfo(name)
                entry.size = len(content)
                target.addfile(entry, io.BytesIO(content))
                count += 1
    with open(target_tar, "wb") as opened:
        opened.write(gzip.compress(held.getvalue(), 9, mtime=0))
    return count
