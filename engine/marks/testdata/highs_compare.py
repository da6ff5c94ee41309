#!/usr/bin/env python3
"""Solve ring instances as a mixed-integer programme with HiGHS (scipy >= 1.9).

One JSON instance a line on standard input, keys N, n, smin, forbidden,
fissures, wf, cap, gmax, name; one JSON answer a line on standard output.
The model is a circulation: z[x, g] = 1 if a mark at x is followed by a gap g.
As much flows out of a tick as into it, n arcs are used, and their gaps sum to
N, so that the circulation goes round once. Only the solver call is timed.
"""
import json
import sys
import time

import numpy as np
import scipy
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix


def open_ticks(p):
    ok = [True] * p["N"]
    for a, b in p["forbidden"] or []:
        x = a
        while True:
            ok[x] = False
            if x == b:
                break
            x = (x + 1) % p["N"]
    return ok


def charge(p, x):
    if not p["fissures"]:
        return 0
    d = min(min((x - f) % p["N"], (f - x) % p["N"]) for f in p["fissures"])
    return p["wf"] * min(d, p["cap"]) ** 2


def solve(p):
    size, ok = p["N"], open_ticks(p)
    arcs = [(x, g) for x in range(size) if ok[x]
            for g in range(p["smin"], p["gmax"] + 1) if ok[(x + g) % size]]
    cost = np.array([g * g + charge(p, x) for x, g in arcs], float)
    rows, cols, vals = [], [], []
    for j, (x, g) in enumerate(arcs):
        rows += [x, (x + g) % size, size, size + 1]
        cols += [j] * 4
        vals += [1, -1, 1, g]
    right = np.array([0] * size + [p["n"], size], float)
    matrix = csr_matrix((vals, (rows, cols)), shape=(size + 2, len(arcs)))
    start = time.perf_counter()
    res = milp(cost, constraints=LinearConstraint(matrix, right, right),
               integrality=np.ones(len(arcs)), bounds=Bounds(0, 1),
               options={"mip_rel_gap": 0})
    seconds = time.perf_counter() - start
    value = int(round(res.fun)) if res.status == 0 else None
    return {"name": p["name"], "status": int(res.status), "value": value,
            "seconds": seconds, "scipy": scipy.__version__}


for text in sys.stdin:
    print(json.dumps(solve(json.loads(text))), flush=True)
