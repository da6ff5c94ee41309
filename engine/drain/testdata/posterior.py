# The forecast's quantiles by brute force: likelihood times prior on a plain
# grid over mean and spread with scipy's own normal functions, then the root of
# the mixture's distribution function. Cases in, [q50, q90] out.
import json, sys
import numpy as np
from scipy import stats, optimize

def quantiles(c):
    ended, longer = np.array(c["ended"]), np.array(c["longer"])
    u = np.log(c["spread"]) + np.linspace(-9, 9, 201) * c["spread_sd"]
    mus = c["mean"] + np.linspace(-9, 9, 801) * c["sd"]
    logp = np.empty((len(u), len(mus)))
    for i, s in enumerate(np.exp(u)):
        row = stats.norm.logpdf(mus, c["mean"], c["sd"]) + stats.norm.logpdf(u[i], np.log(c["spread"]), c["spread_sd"])
        for y in ended:
            row = row + stats.norm.logpdf(y, mus, s)
        for y in longer:
            row = row + stats.norm.logsf(y, mus, s)
        logp[i] = row
    w = np.exp(logp - logp.max())
    keep = w > 1e-14
    w = w[keep] / w[keep].sum()
    m, s = np.meshgrid(mus, np.exp(u))
    m, s = m[keep], s[keep]
    cdf = lambda q: float((w * stats.norm.cdf(q, m, s)).sum())
    return [optimize.brentq(lambda q: cdf(q) - p, -40, 60, xtol=1e-10) for p in (0.5, 0.9)]

json.dump([quantiles(c) for c in json.load(sys.stdin)], sys.stdout)
