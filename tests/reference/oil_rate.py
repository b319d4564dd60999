"""Oil used per distance for three invented sets of top-ups, by numpy and scipy.

Every top-up brings the oil back to the same mark, so the first one only fixes the
origin. The rate is weighted least squares of litres on kilometres through the origin,
weights 1/km, by plain matrix algebra: that is the ratio of the sums. Its standard error
is the sandwich with each residual's leverage taken out (HC2), the interval that of
Student's t with one degree of freedom less than fills.
"""

import json

import numpy
import scipy
from scipy import stats

KM_PER_MILE = 1.609344
LITRES_PER_QUART = 0.946352946

SETS = {
    "three top-ups": [(84_200, 0.5), (85_150, 0.6), (86_020, 0.5)],
    "seven top-ups, steady": [
        (120_000, 1.0),
        (121_210, 0.8),
        (122_050, 0.6),
        (123_480, 1.0),
        (124_300, 0.5),
        (125_900, 1.1),
        (126_700, 0.6),
    ],
    "fourteen top-ups, rising": [
        (203_110.5, 0.25),
        (203_980.0, 0.30),
        (204_400.0, 0.20),
        (205_333.0, 0.50),
        (205_901.0, 0.35),
        (206_744.0, 0.55),
        (207_020.0, 0.25),
        (207_930.0, 0.80),
        (208_150.0, 0.20),
        (208_990.0, 0.85),
        (209_400.0, 0.50),
        (210_222.0, 1.00),
        (210_700.0, 0.60),
        (211_050.0, 0.55),
    ],
}


def rate(top_ups):
    odometer = numpy.array([o for o, _ in top_ups], dtype=float)
    litres = numpy.array([l for _, l in top_ups], dtype=float)[1:]
    km = numpy.diff(odometer)[:, None]
    weights = numpy.diag(1.0 / km[:, 0])
    bread = numpy.linalg.inv(km.T @ weights @ km)
    hat = km @ bread @ km.T @ weights
    slope = (bread @ km.T @ weights @ litres)[0]
    residuals = litres - hat @ litres
    meat = numpy.diag(residuals**2 / (1.0 - numpy.diag(hat)))
    error = numpy.sqrt((bread @ km.T @ weights @ meat @ weights @ km @ bread)[0, 0])
    t = stats.t.ppf(0.975, len(litres) - 1)

    def scaled(factor):
        return {
            "value": slope * factor,
            "standard_error": error * factor,
            "low": (slope - t * error) * factor,
            "high": (slope + t * error) * factor,
        }

    return {
        "litres_per_1000_km": scaled(1000.0),
        "quarts_per_1000_mi": scaled(1000.0 * KM_PER_MILE / LITRES_PER_QUART),
    }


print(
    json.dumps(
        {
            "numpy": numpy.__version__,
            "scipy": scipy.__version__,
            "sets": [
                {"name": name, "top_ups": top_ups, **rate(top_ups)}
                for name, top_ups in SETS.items()
            ],
            "two_sided_95_percent_t": {
                str(nu): stats.t.ppf(0.975, nu)
                for nu in (1, 2, 3, 4, 5, 7, 8, 12, 29, 30, 100, 1001)
            },
        },
        indent=1,
    )
)
