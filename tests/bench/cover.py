"""How often the 95 % interval of the superfat holds: 200 random formulas, every unknown drawn. Prints `figure: value unit`.

The draws are JCGM 101's Monte Carlo method on the model itself (tests/calc/drawn.py). A quantile of a million draws has
a standard error of its own, which is printed beside the largest deviation.
"""

import argparse
import statistics
import sys
import time

import numpy as np
from measuring import ROOT

sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "calc")]
from drawn import cover, drawn_superfat, random_formula

from calc.chemistry.superfat import superfat_interval

FORMULAS = 200
DRAWS = 1_000_000
LARGEST_DEVIATION = 0.02  # percentage points
PP = 0.01


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--runs", type=int, default=FORMULAS, help="random formulas")
    runs = arguments.parse_args().runs
    covers, deviations, noise, times = [], [], [], []
    for seed in range(runs):
        formula = random_formula(seed)
        began = time.perf_counter()
        found = superfat_interval(*formula)
        times.append(time.perf_counter() - began)
        draws = np.sort(drawn_superfat(formula, DRAWS, seed))
        covers.append(100.0 * cover(draws, (found.low, found.high)))
        for end, chance in ((found.low, 0.025), (found.high, 0.975)):
            deviations.append(abs(end - float(np.quantile(draws, chance))) / PP)
            # Ranks of one standard deviation about the quantile's: the order statistics between which it lies.
            step = (chance * (1.0 - chance) / DRAWS) ** 0.5
            noise.append(float(np.quantile(draws, chance + step) - np.quantile(draws, chance - step)) / 2.0 / PP)
    print(f"formulas: {runs}")
    print(f"cover, least: {min(covers):.3f} %")
    print(f"cover, mean: {statistics.fmean(covers):.3f} %")
    print(f"cover, most: {max(covers):.3f} %")
    print(f"deviation of an end, largest: {max(deviations):.4f} points")
    print(f"deviation of an end, mean: {statistics.fmean(deviations):.4f} points")
    print(f"standard error of a drawn end, largest: {max(noise):.4f} points")
    print(f"time a call, median: {1000.0 * statistics.median(times):.3f} ms")
    print(f"time a call, longest: {1000.0 * max(times):.3f} ms")
    return 0 if max(deviations) <= LARGEST_DEVIATION else 1


if __name__ == "__main__":
    sys.exit(main())
