"""Litres per 1,000 km after the work, with what reading errors do to it, and the share of
jobs with its interval. Prints the figures that tests/tests/bench_reference/after.rs holds.

    pip install uncertainties scipy
"""

from math import sqrt

from scipy.stats import binomtest
from uncertainties import ufloat

MARK = 0.1  # litres, at each of two readings of the mark, rectangular
JUG = 0.05  # share of what is poured, rectangular
ROAD = 0.02  # share of the distance, rectangular

for km, litres in [(1000.0, 0.1), (1000.0, 0.0), (5000.0, 0.8), (812.0, 1.25), (120.0, 0.3)]:
    level = ufloat(0.0, MARK / sqrt(3.0)) - ufloat(0.0, MARK / sqrt(3.0))
    poured = ufloat(litres, JUG * litres / sqrt(3.0))
    driven = ufloat(km, ROAD * km / sqrt(3.0))
    rate = (poured + level) / driven * 1000.0
    print(km, litres, f"{rate.nominal_value:.9f} {rate.std_dev:.9f}")

for of, all_ in [(81, 263), (15, 148), (0, 20), (1, 29), (5, 5), (3, 7)]:
    ci = binomtest(of, all_).proportion_ci(confidence_level=0.95, method="wilson")
    print(of, all_, f"{ci.low:.9f} {ci.high:.9f}")
