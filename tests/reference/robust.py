"""Quantiles and robust slopes by numpy and scipy, kept as the yardstick.

Run once; the answers stand in robust.json beside this file:

    python3 -m venv venv && venv/bin/pip install numpy==2.4.6 scipy==1.17.1
    venv/bin/python robust.py robust.json
"""

import json
import sys

import numpy
from scipy import stats

rng = numpy.random.default_rng(20)
quantiles, slopes = [], []
for size in (1, 2, 3, 4, 7, 10, 33, 64):
    values = rng.lognormal(3.0, 0.4, size)
    if size == 10:
        values[3] = values[7]  # a tie
    for q in (0.0, 0.1, 0.25, 0.5, 0.8, 0.9, 1.0):
        quantiles.append(
            {"values": values.tolist(), "q": q, "quantile": float(numpy.quantile(values, q))}
        )
for size in (2, 3, 4, 5, 8, 13, 24, 40):
    x = numpy.log(numpy.arange(1, size + 1))
    y = 3.0 - 0.2 * x + rng.normal(0.0, 0.25, size)
    if size > 6:
        y[size // 2] += 2.0  # one odd valve
    if size == 8:
        x[5] = x[4]  # the same x twice
    fit = stats.theilslopes(y, x, method="joint")
    slopes.append(
        {"x": x.tolist(), "y": y.tolist(), "slope": float(fit.slope), "level": float(fit.intercept)}
    )
with open(sys.argv[1], "w", encoding="utf-8") as out:
    json.dump({"quantiles": quantiles, "slopes": slopes}, out, indent=1)
    out.write("\n")
