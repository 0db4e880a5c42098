"""How long a grown copy takes to be looked through, taken in and made again, at full speed and at a quarter of it.

Prints `figure: value unit` lines. Each batch of the copy is an issued sheet with its steps, a block weighed to the end and its
closing, in the form that the app stores. The quarter is Chromium's own throttle, which slows the page's process alone.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import sys
import tempfile
import threading
import time
import uuid
from pathlib import Path
from typing import Any

from measuring import ROOT, Site, browser_with, figure

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state
from answers.door import answer

sys.path.append(str(ROOT / "tests" / "browser"))
from floor import done
from screens import RECORDS, kept_offline, own_workshop

SIZES = (36_300, 181_500, 500_000)
# Looking through, taking in and making: none may stand still that long for whoever looks at the page. [ms]
LIMIT_FREEZE_MS = 1_000
PATIENCE_MS = 3_600_000
NO_PYTHON = "broken"
# The longest time in which the page could answer nothing.
MARK_FREEZES = """() => {
  globalThis.longest = 0;
  let last = performance.now();
  setInterval(() => {
    const now = performance.now();
    globalThis.longest = Math.max(globalThis.longest, now - last);
    last = now;
  }, 20);
}"""
COUNT = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open(RECORDS);
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const counting = opening.result.transaction("events").objectStore("events").count();
    counting.onsuccess = () => { opening.result.close(); resolve(counting.result); };
    counting.onerror = () => reject(counting.error);
  };
})""".replace("RECORDS", RECORDS)


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=1)
    parser.add_argument("--events", type=int, nargs="+", default=SIZES)
    parser.add_argument("--slower", type=int, nargs="+", default=(1, 4), help="by how much the page's process is slowed")
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    given = parser.parse_args()
    worst = 0.0
    with tempfile.TemporaryDirectory() as held:
        place = Path(held)
        asked = {"task": "issue_batch", "values": BATCH_VALUES | {"issued_by": "Q"}, "state": demo_state(), "now": DEMO_NOW}
        record = as_stored({**json.loads(answer(json.dumps(asked)))["record"], "kind": "issued"})
        for size in given.events:
            copy = written(place / f"{size}.json", record, size)
            figure(f"copy of {size} events", copy.stat().st_size / 1e6, "MB")
            for run in range(given.runs):
                for slower in given.slower:
                    site = Site(given.site, place / f"{size}-{slower}-{run}", "records/copies/", NO_PYTHON)
                    worst = max(worst, restored(site, copy, size, slower))
                    site.stop()
    return 0 if worst < LIMIT_FREEZE_MS else 1


def as_stored(value: Any) -> Any:
    """Numbers so that Python writes them as a browser does; which they are doesn't matter here."""
    if isinstance(value, dict):
        return {key: as_stored(held) for key, held in value.items()}
    if isinstance(value, list):
        return [as_stored(held) for held in value]
    if isinstance(value, float):
        short = round(value, 3)
        return int(short) if short.is_integer() else short
    return value


def written(path: Path, record: dict[str, Any], size: int) -> Path:
    """A copy of so many events, whole batches but for the last."""
    block = done(record)
    end = {**block[-1], "kind": "closed", "outcome": "poured", "reason": "", "record": None, "html": record["html"][:4000]}
    for key in ("step", "reading", "unit", "asked", "lot", "question", "mode", "action", "seconds"):
        end.pop(key, None)
    pattern = [record, *block, end]
    digest = hashlib.sha256(b"[")
    with path.open("wb") as file:
        file.write(b'{"events":[')
        for n in range(size):
            batch, which = divmod(n, len(pattern))
            at = time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(1_700_000_000 + 900 * batch + 10 * which))
            code = f"BENCH-{batch}"
            event = {**pattern[which], "id": str(uuid.uuid4()), "at": f"{at}.000Z", "local": f"{at}+00:00"}
            event["subject"] = f"block:{code}/1" if which else f"batch:{code}"
            if not which:
                event["code"] = code
            text = json.dumps(event, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
            text = b"," * (n > 0) + text
            digest.update(text)
            file.write(text)
        digest.update(b"]")
        file.write(f'],"format":"tarewell-records","sha256":"{digest.hexdigest()}","version":1}}'.encode())
    return path


class Memory:
    """The most that the browser's processes held at once, those of one profile."""

    def __init__(self, profile: Path) -> None:
        self.mark = str(profile)
        self.most = {"page": 0.0, "all": 0.0}
        self.ended = threading.Event()
        self.thread = threading.Thread(target=self._watch, daemon=True)
        self.thread.start()

    def _watch(self) -> None:
        while not self.ended.wait(0.5):
            held = dict(self._held())
            self.most["all"] = max(self.most["all"], sum(held.values()))
            self.most["page"] = max([self.most["page"], *(mb for name, mb in held.items() if name.startswith("renderer"))])

    def _held(self) -> Any:
        processes = {int(each): _command(each) for each in os.listdir("/proc") if each.isdigit()}
        ours = {number for number, command in processes.items() if f"--user-data-dir={self.mark}" in command}
        for number, command in processes.items():
            if number in ours or _parent(number, processes) & ours:
                kind = command.partition("--type=")[2].partition("\0")[0] or "browser"
                yield f"{kind} {number}", _resident_mb(number)

    def stop(self) -> dict[str, float]:
        self.ended.set()
        self.thread.join()
        return self.most


def _command(number: str) -> str:
    try:
        return Path(f"/proc/{number}/cmdline").read_text("utf-8", "replace")
    except OSError:
        return ""


def _parent(number: int, processes: dict[int, str]) -> set[int]:
    """Everything that a process descends from."""
    found: set[int] = set()
    while number in processes:
        try:
            number = int(Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[1])
        except OSError:
            break
        found.add(number)
    return found


def _resident_mb(number: int) -> float:
    try:
        return int(Path(f"/proc/{number}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
    except OSError:
        return 0.0


def restored(site: Site, copy: Path, size: int, slower: int) -> float:
    """Looks a copy through, takes it in and makes one; the longest freeze. [ms]"""
    name = f"{size} events, {'full speed' if slower == 1 else f'1/{slower} of it'}"
    with browser_with(site) as page:
        page.set_default_timeout(PATIENCE_MS)
        own_workshop(page)
        page.goto(site.url)
        kept_offline(page)
        page.evaluate(MARK_FREEZES)
        if slower > 1:
            page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slower})
        memory = Memory(site.profile)
        status = page.locator("[data-copy-status]")
        started = time.monotonic()
        page.locator("[data-import]").set_input_files(copy)
        page.wait_for_timeout(500)
        status.filter(has_not_text="Reading the copy.").wait_for()
        assert "Records to add" in status.inner_text(), status.inner_text()
        figure(f"looking through, {name}", time.monotonic() - started, "s")
        started = time.monotonic()
        page.locator("[data-import-confirm]").click()
        status.get_by_text(f"Records added: {size}").wait_for()
        figure(f"taking in, {name}", time.monotonic() - started, "s")
        assert page.evaluate(COUNT) == size
        started = time.monotonic()
        with page.expect_download() as download:
            page.locator("[data-export]").click()
            status.get_by_text("press again").or_(status.get_by_text("check that the file")).wait_for()
            if "again" in status.inner_text():
                page.locator("[data-export]").click()
        download.value.path()
        figure(f"making a copy, {name}", time.monotonic() - started, "s")
        longest = float(page.evaluate("globalThis.longest"))
        figure(f"longest freeze, {name}", longest, "ms")
        for which, held in memory.stop().items():
            figure(f"most memory, {which}, {name}", held, "MB")
        same = hashlib.sha256(Path(download.value.path()).read_bytes()).digest() == hashlib.sha256(copy.read_bytes()).digest()
        assert same, "the copy made again is another"
    return longest


if __name__ == "__main__":
    sys.exit(main())
