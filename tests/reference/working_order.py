"""Cheapest working orders of 12 and 16 cylinders by OR-Tools, kept as the yardstick.

Run once; the answers stand in working_order.json beside this file:

    python3 -m venv venv && venv/bin/pip install ortools==9.15.6755
    venv/bin/python working_order.py working_order.json

The model is a travelling salesman over groups: one node for every cylinder, working
offset and pair of first and last adaptor; of each cylinder one node is visited. All
costs are whole numbers of 1/1440 minute, so the optimum is exact. It is solved by
CP-SAT with a circuit over optional nodes and only stored when proven optimal.
"""

import json
import random
import sys

from ortools.sat.python import cp_model

SCALE = 1440  # cost units a minute


def engine(name, cylinders, banks, seed, handling, may_turn_back, uneven, moved, rule_share, adaptors):
    """An invented engine with whole degrees everywhere."""
    rng = random.Random(seed)
    numbers = list(range(1, cylinders + 1))
    per_bank = cylinders // banks
    firing = numbers[:]
    rng.shuffle(firing)
    intervals = None
    if uneven:
        cuts = sorted(rng.sample(range(15, 720, 3), cylinders - 1))
        edges = [0] + cuts + [720]
        intervals = [float(b - a) for a, b in zip(edges, edges[1:])]
    positions = [
        {
            "cylinder": c,
            "offsets_deg": sorted(float(o) for o in rng.sample(range(-40, 41, 2), 2)),
            "why": "invented",
        }
        for c in rng.sample(numbers, moved)
    ]
    rules = []
    for c in numbers:
        for valve in ("intake 1", "intake 2", "exhaust 1", "exhaust 2"):
            if rng.random() < rule_share:
                rules.append(
                    {"cylinder": c, "valve": valve, "adaptor": rng.choice(adaptors)}
                )
    layout = {
        "format": 1,
        "name": name,
        "banks": [
            {"name": "ABCD"[b], "cylinders": numbers[b * per_bank : (b + 1) * per_bank]}
            for b in range(banks)
        ],
        "bank_angle_deg": 60.0 if banks > 1 else 0.0,
        "firing_order": firing,
        "may_turn_back": may_turn_back,
        "intake_valves": 2,
        "exhaust_valves": 2,
        "locks_per_valve": 2,
        "springs_per_valve": 1,
        "follower": "finger",
        "bore_mm": 86.0,
        "stroke_mm": 86.0,
        "rod_mm": 143.0,
        "breakaway_torque_nm": 18.0,
        "pressure_rating_bar": 7.0,
        "working_positions": positions,
        "adaptors": rules,
        "handling_min": handling,
    }
    if intervals:
        layout["firing_intervals_deg"] = intervals
    return layout


def whole(value):
    assert abs(value - round(value)) < 1e-9, value
    return round(value)


def tops(layout):
    """Compression TDC of every cylinder, cylinder 1 at 0."""
    firing = layout["firing_order"]
    steps = layout.get("firing_intervals_deg") or [720 / len(firing)] * len(firing)
    angle, at = 0, {}
    for cylinder, step in zip(firing, steps):
        at[cylinder] = angle
        angle += whole(step)
    assert angle == 720
    return {c: (a - at[1]) % 720 for c, a in at.items()}


def nodes(layout):
    """(cylinder, bank, angle, first, last, changes inside) of every way to work one."""
    top = tops(layout)
    listed = {p["cylinder"]: p["offsets_deg"] for p in layout["working_positions"]}
    result = []
    for bank, entry in enumerate(layout["banks"]):
        for c in entry["cylinders"]:
            own = {r["valve"]: r["adaptor"] for r in layout["adaptors"] if r["cylinder"] == c}
            valves = ("intake 1", "intake 2", "exhaust 1", "exhaust 2")
            needed = sorted({own.get(v, "standard") for v in valves})
            for offset in listed.get(c, [0.0]):
                angle = (top[c] + whole(offset)) % 720
                for first in needed:
                    for last in needed:
                        if len(needed) == 1 or first != last:
                            result.append((c, bank, angle, first, last, len(needed) - 1))
    return result


def solve(layout, from_deg):
    handling = layout["handling_min"]
    a_degree = whole(handling["turn_360"] * SCALE / 360)
    a_bank = whole(handling["bank_change"] * SCALE)
    an_adaptor = whole(handling["adaptor_change"] * SCALE)

    def turn(start, end):
        forward = (end - start) % 720
        return min(forward, 720 - forward) if layout["may_turn_back"] else forward

    ways = nodes(layout)
    model = cp_model.CpModel()
    arcs, cost = [], []
    visited = []
    for i, (_, _, angle, _, _, inside) in enumerate(ways, start=1):
        visit = model.new_bool_var(f"visit {i}")
        visited.append(visit)
        arcs.append((i, i, ~visit))
        start = model.new_bool_var(f"start {i}")
        arcs.append((0, i, start))
        cost.append((turn(from_deg, angle) * a_degree) * start)
        cost.append(inside * an_adaptor * visit)
        arcs.append((i, 0, model.new_bool_var(f"end {i}")))
    for i, (c, bank, angle, _, last, _) in enumerate(ways, start=1):
        for j, (d, other, next_angle, first, _, _) in enumerate(ways, start=1):
            if c == d:
                continue
            go = model.new_bool_var(f"{i} to {j}")
            arcs.append((i, j, go))
            step = turn(angle, next_angle) * a_degree
            step += a_bank * (bank != other) + an_adaptor * (last != first)
            cost.append(step * go)
    for cylinder in {w[0] for w in ways}:
        model.add_exactly_one(v for v, w in zip(visited, ways) if w[0] == cylinder)
    model.add_circuit(arcs)
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 4
    solver.parameters.max_time_in_seconds = 1500
    status = solver.solve(model)
    print(layout["name"], len(ways), "nodes:", solver.status_name(status),
          solver.objective_value, f"{solver.wall_time:.1f} s", flush=True)
    assert status == cp_model.OPTIMAL, layout["name"]
    return round(solver.objective_value)


def main():
    half = {"turn_360": 4.0, "bank_change": 1.5, "adaptor_change": 0.5}
    dear = {"turn_360": 3.0, "bank_change": 10.0, "adaptor_change": 0.75}
    back = {"turn_360": 6.0, "bank_change": 0.5, "adaptor_change": 1.25}
    cases = [
        (engine("two banks of six", 12, 2, 1201, half, False, False, 9, 0.3, ["short", "angled"]), 0),
        (engine("three banks of four", 12, 3, 1202, back, True, True, 5, 0.1, ["short"]), 100),
        (engine("two banks of eight", 16, 2, 1601, dear, False, False, 8, 0.1, ["short"]), 0),
        (engine("four banks of four", 16, 4, 1602, half, False, True, 5, 0.1, ["short", "angled"]), 250),
        (engine("turned both ways", 16, 2, 1603, back, True, False, 3, 0.03, ["short"]), 611),
    ]
    answers = []
    for layout, from_deg in cases:
        optimum = solve(layout, from_deg)
        answers.append(
            {
                "layout": layout,
                "from_deg": float(from_deg),
                "optimum_units": optimum,
                "units_a_minute": SCALE,
            }
        )
        with open(sys.argv[1], "w", encoding="utf-8") as out:
            json.dump(answers, out, indent=1)
            out.write("\n")


main()
