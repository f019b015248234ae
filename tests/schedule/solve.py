"""The least total time of each batch of a file, by a general constraint solver (CP-SAT of OR-Tools).

Reads a JSON list of facts (see instances.rs) and prints one JSON line for each: the least total, or bounds on it.
The model is written from the rules, not from the planner: parts of runs that share an arm follow one another, in any
order of the runs; hands are a cumulative resource, currents another. Lines rest long enough by themselves, since it takes
8 s at least to lay a sheet in.
"""

import itertools
import json
import math
import sys

from ortools.sat.python import cp_model

PRESS = 2000


def lanes(facts):
    """Runs that share an arm, directly or through others."""
    groups = []
    for run, made in enumerate(facts["runs"]):
        arms = {bend["arm"] for bends in made["passes"] for bend in bends}
        near = [group for group in groups if group[0] & arms]
        for group in near:
            groups.remove(group)
        groups.append((arms.union(*(group[0] for group in near)), [run] + [r for group in near for r in group[1]]))
    return [(sorted(arms), sorted(runs)) for arms, runs in groups]


def lay(facts, stands, bends, first):
    """How long hands take to lay the sheet in, and how the bench stands afterwards."""
    times = facts["handling"]
    lasts = times["load"] if first else times["reposition"]
    swings, last = dict(stands[0]), stands[1]
    if last is not None:
        if abs(last[0] - bends[0]["fence"]) > facts["reads"] / 2:
            lasts += times["fence_change"]
        if not first and last[1] != bends[0]["over"]:
            lasts += times["turn_over"]
        if any(b["arm"] in swings and abs(swings[b["arm"]] - b["swing"]) > 1e-6 for b in bends):
            lasts += times["swing_change"]
    swings.update({b["arm"]: b["swing"] for b in bends})
    return lasts, (swings, (bends[0]["fence"], bends[0]["over"]))


def solve(facts, orders, limit):
    model = cp_model.CpModel()
    room = {}
    for arm in facts["arms"]:
        room[arm["supply"]] = arm["room"]
    for run in facts["runs"]:
        for bends in run["passes"]:
            for supply in room:
                own = sum(facts["arms"][b["arm"]]["amount"] for b in bends if facts["arms"][b["arm"]]["supply"] == supply)
                room[supply] = max(room[supply], own)
    horizon = 0
    hands, drawn = [], {supply: [] for supply in room}
    steps = []  # per lane: (length, [(from, until)] of hands, [(from, until, supply, amount)])
    for arms, order in orders:
        chain = []
        for arm in arms:
            warm = facts["arms"][arm]["warm_up"]
            if warm is not None:
                claim = (PRESS, PRESS + warm, facts["arms"][arm]["supply"], facts["arms"][arm]["amount"])
                chain.append((PRESS + warm, [(0, PRESS + warm)], [claim]))
        stands = ({}, None)
        for run in order:
            made = facts["runs"][run]
            for _ in range(made["times"]):
                for index, bends in enumerate(made["passes"]):
                    lasts, stands = lay(facts, stands, bends, index == 0)
                    chain.append((lasts, [(0, lasts)], []))
                    heat = max(b["heat"] for b in bends)
                    transfer = max(b["transfer"] for b in bends)
                    off = PRESS + heat
                    claims = [(PRESS, off, facts["arms"][b["arm"]]["supply"], facts["arms"][b["arm"]]["amount"]) for b in bends]
                    length = off + transfer + max(b["set"] for b in bends)
                    hands_on = [(0, off + transfer)] if facts["attended"] else [(0, PRESS), (off, off + transfer)]
                    chain.append((length, hands_on, claims))
                unload = facts["handling"]["unload"]
                chain.append((unload, [(0, unload)], []))
        steps.append(chain)
        horizon += sum(length for length, _, _ in chain)
    end = model.new_int_var(0, horizon, "end")
    for chain in steps:
        free = 0
        for length, by_hand, claims in chain:
            start = model.new_int_var(0, horizon, "")
            model.add(start >= free)
            free = start + length
            for first, last in by_hand:
                if last > first:
                    hands.append(model.new_fixed_size_interval_var(start + first, last - first, ""))
            for first, last, supply, amount in claims:
                drawn[supply].append((model.new_fixed_size_interval_var(start + first, last - first, ""), amount))
        model.add(end >= free)
    model.add_cumulative(hands, [1] * len(hands), facts["operators"])
    for supply, claims in drawn.items():
        model.add_cumulative([claim for claim, _ in claims], [amount for _, amount in claims], room[supply])
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = limit
    status = solver.solve(model)
    found = round(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else math.inf
    return found, found if status == cp_model.OPTIMAL else math.floor(solver.best_objective_bound)


def main():
    limit = float(sys.argv[2])
    for facts in json.load(open(sys.argv[1], encoding="utf-8")):
        choices = [[(arms, order) for order in itertools.permutations(runs)] for arms, runs in lanes(facts)]
        best, bound = math.inf, math.inf
        for orders in itertools.product(*choices):
            found, least = solve(facts, orders, limit)
            best, bound = min(best, found), min(bound, least)
        print(json.dumps({"total": best if best < math.inf else None, "bound": bound}), flush=True)


main()
