"""Makes tests/data/sobol_vectors.csv: points 0..63 of the unscrambled Sobol' sequence in ten variables, as whole
numbers of 2^-32, by SciPy 1.15.3 (scipy.stats.qmc.Sobol)."""
import csv
import pathlib
import sys

from scipy.stats import qmc

points = qmc.Sobol(d=10, scramble=False, bits=32).random(64)
target = pathlib.Path(__file__).parent.parent / "data" / "sobol_vectors.csv"
with target.open("w", newline="") as out:
    csv.writer(out, lineterminator="\n").writerows([int(x * 2**32) for x in p] for p in points)
print(target, file=sys.stderr)
