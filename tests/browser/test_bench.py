"""Every measurement of tests/bench runs to its end, as short as it can be made; what it measures is no claim here."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).resolve().parents[1] / "bench"
# With the figure that each prints last.
SHORT = {
    "startup": (("--short",), "bytes on the wire, all gzipped"),
    "growth": (("--runs", "1", "--batches", "20"), "opening records, 20 to 10 batches"),
    "copies": (("--events", "120", "--slower", "1"), "most memory, all, 120 events, full speed"),
    "kill": (("--runs", "2"), "time"),
    "card": (("--runs", "1"), "emergency card to Today"),
    "taps": (("--walk", "unready"), "walks that cost more than they may"),
    "cover": (("--runs", "1"), "time a call, longest"),
    "drying": (("--runs", "1"), "time a bar, median"),
    "three_engines": (("--runs", "1", "--engine", "chromium"), "chromium, keystroke to new answer, p95"),
    "day": (("--runs", "1"), "time of a search, median"),
    "phones": (("--runs", "3"), "time a seed"),
    "shop": (("--short",), "time a seed"),
    "trace": (("--runs", "2", "--batches", "150"), "trace at the door, longest"),
    "picture": ((), "picture"),
}


def test_each_measurement_is_asked_here() -> None:
    programs = [path.stem for path in BENCH.glob("[a-z]*.py") if "__main__" in path.read_text("utf-8")]
    assert sorted(SHORT) == sorted(programs)


@pytest.mark.parametrize(("work", "said"), [("time.sleep(60)", "not done after 0.5 s"), ("wrong()", "name 'wrong' is not defined")])
def test_a_part_that_fails_or_does_not_end_is_named_and_ends_the_measurement(work: str, said: str) -> None:
    program = f"import time\nfrom measuring import part\nwith part('typing', 0.5):\n    {work}"
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([os.environ.get("PYTHONPATH", ""), str(BENCH)])}
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=30, env=environment)
    assert ran.returncode == 1
    assert ran.stderr.strip() == f"FAILED in the part 'typing': {said}"


@pytest.mark.parametrize("name", SHORT)
def test_a_measurement_runs_to_its_end(site_folder: Path, tmp_path: Path, name: str) -> None:
    arguments, last = SHORT[name]
    command = [sys.executable, str(BENCH / f"{name}.py"), *arguments]
    if name not in ("cover", "day", "drying", "phones", "shop", "trace"):
        command += ["--site", str(site_folder)]
    if name == "picture":  # README's own is taken by hand, once the screens have changed
        command += ["--out", str(tmp_path / "picture.png")]
    ran = subprocess.run(command, capture_output=True, text=True)
    # Its exit code says whether a limit was met, which a busy machine may not.
    assert "Traceback" not in ran.stderr, ran.stderr[-2000:]
    assert ran.stdout.splitlines()[-1].startswith(last), ran.stdout[-2000:]
