# Integrates the drain line step by step (scipy solve_ivp, DOP853), from the raw
# values of each unit; a list of units in, a list of volumes by time out.
import json, sys
from scipy.integrate import solve_ivp

def air(h):  # ISO 2533
    return 101.325 * (1 - 0.0065 * h / 288.15) ** (9.80665 / (287.05287 * 0.0065))

def volumes(c):
    p0 = (air(c["fill_m"]) + c["gauge"]) * c["used_k"] / c["filled_k"]
    against = air(c["up_m"]) - c["rho"] * 9.80665 * c["head_m"] / 1000 - c["pull"]
    gas, g = c["gas"], c["g"]
    f = lambda t, v: [g * (p0 * gas / (gas + v[0]) - against)]
    r = solve_ivp(f, (0, c["times"][-1]), [0.0], method="DOP853", t_eval=c["times"], rtol=1e-12, atol=1e-13 * gas)
    return list(r.y[0])

json.dump([volumes(c) for c in json.load(sys.stdin)], sys.stdout)
