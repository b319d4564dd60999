"""Oil used per distance for three invented sets of top-ups, by scipy and numpy.

Every top-up brings the oil back to the same mark, so the first one only fixes the
origin. Points are (odometer, litres since the first top-up); the rate is the slope of
the least-squares line, its standard error that of the residuals with n - 2 degrees of
freedom, the interval that of Student's t.
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
    litres = numpy.array([l for _, l in top_ups], dtype=float)
    litres[0] = 0.0
    since_first = numpy.cumsum(litres)
    line = stats.linregress(odometer, since_first)
    again = numpy.polyfit(odometer - odometer[0], since_first, 1)[0]
    assert abs(again / line.slope - 1) < 1e-9
    t = stats.t.ppf(0.975, len(top_ups) - 2)

    def scaled(factor):
        return {
            "value": line.slope * factor,
            "standard_error": line.stderr * factor,
            "low": (line.slope - t * line.stderr) * factor,
            "high": (line.slope + t * line.stderr) * factor,
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
