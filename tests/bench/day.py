"""How long the search for a day's order takes, and how often it is proven: days of twelve blocks of three formulas.

Half the blocks are made and half come out of their molds, by one to three people, each stage by chance in steps of five
minutes. Prints `figure: value unit`.
"""

import argparse
import random
import statistics
import sys
import time

from measuring import ROOT, figure

sys.path[:0] = [str(ROOT)]
from calc.day.schedule import BAR, LOAF, Floor, Job, Part, schedule

DAYS = 30
BLOCKS = 12
FORMULAS = 3
# A stage takes so many times five minutes.
FEWEST, MOST = 1, 8


def a_day(chance: random.Random, people: int) -> tuple[list[Job], Floor]:
    kinds = [[5 * chance.randint(FEWEST, MOST) for _ in range(7)] for _ in range(FORMULAS)]
    jobs: list[Job] = []
    for n in range(BLOCKS // 2):
        weigh, mix, pour = chance.choice(kinds)[:3]
        parts = (Part("weigh", weigh, ("vessel",)), Part("mix", mix, ("vessel", "mixer")), Part("pour", pour, ("vessel",)))
        jobs.append(Job(str(n), str(n), parts, takes_mould="big"))
    first = 390 + 5 * chance.randint(0, 30)
    for n in range(BLOCKS - BLOCKS // 2):
        unmould, loaves, bars, rack = chance.choice(kinds)[3:]
        key = chr(ord("A") + n)
        halves = (Part("unmould", unmould, ("hoist",), 2), Part("loaves", loaves, ("cutter",)))
        jobs.append(Job(key, key, halves, first + 55 * n, gives_mould="big", frame=LOAF))
        jobs.append(Job(f"{key}+", key, (Part("bars", bars, ("cutter",)), Part("rack", rack)), after=key, frame=BAR))
    things = {"vessel": 1, "mixer": 1, "hoist": 1, "cutter": 1}
    return jobs, Floor(tuple("QJM"[:people]), things, {"big": ()}, 420, 15)


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--runs", type=int, default=DAYS, help="days for each number of people")
    runs = arguments.parse_args().runs
    times, proven, saved = [], 0, []
    for people in (1, 2, 3):
        for seed in range(runs):
            jobs, floor = a_day(random.Random(100 * people + seed), people)
            began = time.process_time()
            found = schedule(jobs, floor)
            times.append(time.process_time() - began)
            assert found is not None
            proven += found.proven
            saved.append(found.listed_end - found.end)
    figure("twelve blocks, proven the soonest", 100.0 * proven / len(times), "%")
    figure("sooner than as listed, median", statistics.median(saved), "min")
    figure("time of a search, longest", 1000.0 * max(times), "ms")
    figure("time of a search, median", 1000.0 * statistics.median(times), "ms")
    return 0


if __name__ == "__main__":
    sys.exit(main())
