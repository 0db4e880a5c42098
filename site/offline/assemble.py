"""Puts one build together: frozen pages, static files, runtime, service worker, headers."""

from __future__ import annotations

import gzip
import hashlib
import json
import re
import shutil
from pathlib import Path

from answers.demo import practice_batch
from calc.shared import DEMO, RECORDS, SCALE_LINES
from offline.join_files import join_files
from offline.policy import headers_file
from pages.frozen import freeze
from runtime.bundle import Bundle

HERE = Path(__file__).parent
# An address of a page's own static files, as frozen pages write it: relative, with any number of steps up.
STATIC_ADDRESS = re.compile(r'((?:href|src|content|data-[a-z-]+)="(?:\.\.?/)*)static/')
# Files that only a host reads, and the worker itself, which must never come out of its own cache.
NOT_CACHED = ("service-worker.js", "service-worker.kill.js", "_headers")
# The beginning of the names of files that travel gzipped and are kept unpacked: these are read at every start.
PACKED = "runtime/snapshot."
NOT_SHIPPED = ("*.d.mts", "*.py", "__pycache__", ".*")


def assemble(root: Path, out: Path, node_modules: Path, bundle: Bundle) -> str:
    """Writes the whole site to `out`, replacing what is there; gives the build's name."""
    _refuse_strange_folder(out)
    work = root / ".build" / "assembling"
    shutil.rmtree(work, ignore_errors=True)
    freeze(work)
    static = work / "static"
    shutil.rmtree(static, ignore_errors=True)
    shutil.copytree(root / "site" / "static", static, ignore=shutil.ignore_patterns(*NOT_SHIPPED))
    (static / "js" / "vendor").mkdir(exist_ok=True)
    shutil.copyfile(node_modules / "idb" / "build" / "index.js", static / "js" / "vendor" / "idb.mjs")
    shutil.copyfile(node_modules / "fflate" / "esm" / "browser.js", static / "js" / "vendor" / "fflate.mjs")
    (static / "practice.json").write_text(json.dumps(practice_batch(), ensure_ascii=False), encoding="utf-8")
    (static / "js" / "worker" / "files.mjs").write_text(bundle.module(), encoding="utf-8")
    # The scripts take these from beside the folder that stands for site/, as their sources do.
    for folder in (RECORDS, DEMO.parent, SCALE_LINES.parent):
        shutil.copytree(folder, work.parent / "shared" / folder.name, dirs_exist_ok=True)
    join_files(work, node_modules)
    build = _digest(json.dumps(file_list(work)).encode())[:12]
    static.rename(work / f"static.{build}")
    for page in work.rglob("*.html"):
        page.write_text(STATIC_ADDRESS.sub(rf"\g<1>static.{build}/", page.read_text("utf-8")), encoding="utf-8")
    for name, path in bundle.files.items():
        (work / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, work / name)
    (work / "service-worker.js").write_text(service_worker(build, work), "utf-8")
    shutil.copyfile(HERE / "service-worker.kill.js", work / "service-worker.kill.js")
    (work / "_headers").write_text(headers_file(), encoding="utf-8")
    shutil.rmtree(out, ignore_errors=True)
    out.parent.mkdir(parents=True, exist_ok=True)
    shutil.move(work, out)
    return build


def service_worker(build: str, folder: Path) -> str:
    """The service worker that keeps this folder."""
    packed = {path.relative_to(folder).as_posix(): _digest(path.read_bytes()) for path in folder.glob(f"{PACKED}*")}
    told = {"BUILD": build, "FILES": file_list(folder), "PACKED": packed}
    head = "".join(f"const {name} = {json.dumps(value, indent=0, sort_keys=True)};\n" for name, value in told.items())
    return head + (HERE / "service-worker.js").read_text("utf-8")


def file_list(folder: Path) -> dict[str, str]:
    """Address (from the site's root) -> SHA-256 of what the service worker keeps of every file."""
    listed = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_file() and name not in NOT_CACHED:
            content = path.read_bytes()
            kept = gzip.decompress(content) if name.startswith(PACKED) else content
            listed[re.sub(r"(^|/)index\.html$", r"\1", name)] = _digest(kept)
    return listed


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _refuse_strange_folder(out: Path) -> None:
    if out.exists() and any(out.iterdir()) and not (out / "service-worker.kill.js").exists():
        raise RuntimeError(
            f"{out} holds something that is not a build of Tarewell, so it is not replaced. "
            "Remedy: name an empty or a new folder."
        )
