"""How often the 90 % band of a drying bar holds on the day of sale: bars dried by diffusion in three dimensions, half with a skin.

Prints `figure: value unit`.
"""

import argparse
import statistics
import sys
import time

import numpy as np
from measuring import ROOT

sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "calc")]
from dried import WEIGHED, foretold

BARS = 150
LEAST, MOST = 87.0, 97.0  # per cent of a band that says 90


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--runs", type=int, default=BARS, help="bars for each number of weighings")
    runs = arguments.parse_args().runs
    covers, times = [], []
    for days in WEIGHED:
        rng, found = np.random.default_rng(11), []
        for _ in range(runs):
            began = time.perf_counter()
            found.append(foretold(rng, days))
            times.append(time.perf_counter() - began)
        covers.append(100.0 * statistics.fmean(band.low <= truth <= band.high for band, truth in found))
        print(f"cover, {len(days)} weighings: {covers[-1]:.1f} %")
        print(f"width of the band, {len(days)} weighings, median: {statistics.median(band.width for band, _ in found):.2f} g")
    print(f"time a bar, median: {1000.0 * statistics.median(times):.1f} ms")
    return 0 if all(LEAST <= cover <= MOST for cover in covers) else 1


if __name__ == "__main__":
    sys.exit(main())
