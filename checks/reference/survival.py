"""Fits of censored counts by independent implementations.

    python survival.py ../survival-inputs.csv ../survival-reference.csv

Inputs: four sets from a fixed generator, rows set,low,high,count: events in (low, high], empty high = right-censored,
low = high exact. Outputs: set,quantity,value,by, where `by` says who computed the value and so how far it can be trusted:
  mpmath     maximum by root finding on the likelihood's slopes in 40 digits: exact
  lifelines  fit_interval_censoring at its default tolerance: the likelihood at the maximum is flat, so that its value is good to
             about 1e-9 although parameters are good to 1e-4 only
  em+mpmath  nonparametric: support by expectation and maximisation, masses on it by root finding in 40 digits, optimality checked
"""
import csv
import sys
import warnings

import mpmath as mp
import numpy as np
from scipy.optimize import minimize

mp.mp.dps = 40


def uniforms(seed):
    """A linear congruential generator modulo 2^31 (constants of ANSI C)."""
    state = seed
    while True:
        state = (1103515245 * state + 12345) % 2**31
        yield (state + 0.5) / 2**31


def sets():
    def lifetimes(seed, n, shape, scale):
        g = uniforms(seed)
        return g, [scale * (-np.log(next(g))) ** (1 / shape) for _ in range(n)]

    # counts surviving each of six equal steps
    g, t = lifetimes(1, 300, 1.3, 2.5)
    edges = [0, 1, 2, 3, 4, 5, 6]
    rows = [(a, b, sum(a < x <= b for x in t)) for a, b in zip(edges, edges[1:])] + [(6, None, sum(x > 6 for x in t))]
    yield "steps", rows
    # inspections at times of one's own
    g, t = lifetimes(2, 60, 0.8, 10.0)
    rows = []
    for x in t:
        low, high = 0.0, None
        for _ in range(6):
            look = round(low + 0.5 + 6 * next(g), 1)
            if x <= look:
                high = look
                break
            low = look
        rows.append((low, high, 1))
    yield "inspections", rows
    # one look each
    g, t = lifetimes(3, 120, 2.0, 5.0)
    rows = []
    for x in t:
        look = round(0.5 + 9 * next(g), 1)
        rows.append((0.0, look, 1) if x <= look else (look, None, 1))
    yield "looks", rows
    # exact, interval- and right-censored, with counts
    g, t = lifetimes(4, 40, 3.0, 20.0)
    rows = []
    for i, x in enumerate(t):
        x = round(x, 2)
        kind = i % 4
        rows.append([(x, x, 2), (max(x - 3, 0), x + 2, 1), (x, None, 1), (max(x - 8, 0), x + 6, 3)][kind])
    yield "mixed", rows


def log_likelihood(rows, shape, scale):
    total = mp.mpf(0)
    for low, high, count in rows:
        low = mp.mpf(low)
        if high is not None and high == low:
            z = low / scale
            total += count * (mp.log(shape / scale) + (shape - 1) * mp.log(z) - z**shape)
            continue
        upper = 0 if high is None else mp.e ** (-((mp.mpf(high) / scale) ** shape))
        total += count * mp.log(mp.e ** (-((low / scale) ** shape)) - upper)
    return total


def near(rows, start):
    found = minimize(lambda v: -float(log_likelihood(rows, mp.e ** v[0], mp.e ** v[1])), np.log(start), method="Nelder-Mead")
    return mp.mpf(found.x[0]), mp.mpf(found.x[1])


def parametric(rows, start):
    def slopes(log_shape, log_scale):
        f = lambda a, b: log_likelihood(rows, mp.e**a, mp.e**b)
        return mp.diff(f, (log_shape, log_scale), (1, 0)), mp.diff(f, (log_shape, log_scale), (0, 1))

    a, b = mp.findroot(slopes, near(rows, start), tol=1e-30, maxsteps=100)
    scale = mp.findroot(lambda s: mp.diff(lambda u: log_likelihood(rows, mp.mpf(1), mp.e**u), s), mp.log(start[1]), tol=1e-30, maxsteps=100)
    return mp.e**a, mp.e**b, mp.e**scale


def nonparametric(rows):
    """Masses on innermost intervals; ends in the order exact begins < interval ends < interval begins at one value."""
    low_key = lambda r: (r[0], 0 if r[1] == r[0] else 2)
    high_key = lambda r: (np.inf if r[1] is None else r[1], 1)
    lows, highs = sorted({low_key(r) for r in rows}), sorted({high_key(r) for r in rows})
    places = []
    for i, low in enumerate(lows):
        high = next(h for h in highs if h > low)
        if i + 1 == len(lows) or lows[i + 1] > high:
            places.append((low, high))
    a = np.array([[float(low_key(r) <= p[0] and p[1] <= high_key(r)) for p in places] for r in rows])
    w = np.array([r[2] for r in rows], float)
    n = w.sum()
    x = np.full(len(places), 1 / len(places))
    for _ in range(200000):
        x = x * (a.T @ (w / (a @ x))) / n
    support = [j for j in range(len(places)) if x[j] > 1e-6]

    def slopes(*masses):
        inside = [mp.fsum(m for m, j in zip(masses, support) if row[j]) for row in a]
        return [mp.fsum(mp.mpf(c) / p for c, p, row in zip(w, inside, a) if row[j]) - mp.mpf(n) for j in support]

    masses = mp.findroot(slopes, [mp.mpf(x[j]) for j in support], tol=1e-30)
    inside = [mp.fsum(masses[i] for i, j in enumerate(support) if row[j]) for row in a]
    gains = [mp.fsum(mp.mpf(c) / p for c, p, row in zip(w, inside, a) if row[j]) / n for j in range(len(places))]
    assert max(gains) < 1 + mp.mpf(10) ** -12 and min(masses) > 0, (max(gains), min(masses))
    value = mp.fsum(mp.mpf(c) * mp.log(p) for c, p in zip(w, inside))
    return [(places[j][0][0], places[j][1][0], masses[i]) for i, j in enumerate(support)], value


def by_lifelines(rows):
    import lifelines

    left = np.array([r[0] for r in rows], float)
    right = np.array([np.inf if r[1] is None else r[1] for r in rows], float)
    w = np.array([r[2] for r in rows], float)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for name, fitter in (("exponential", lifelines.ExponentialFitter()), ("weibull", lifelines.WeibullFitter())):
            fit = fitter.fit_interval_censoring(left, right, weights=w)
            yield f"{name}_log_likelihood", fit.log_likelihood_


def main():
    inputs, outputs = sys.argv[1:]
    with open(inputs, "w", newline="") as f, open(outputs, "w", newline="") as g:
        f.write("# Censored counts made by checks/reference/survival.py: events in (low, high], empty high = right-censored, low = high exact.\n")
        g.write("# Fits of survival-inputs.csv by checks/reference/survival.py, which says what each of `by` is good for. Provenance: [C].\n")
        f, g = csv.writer(f, lineterminator="\n"), csv.writer(g, lineterminator="\n")
        f.writerow(["set", "low", "high", "count"])
        g.writerow(["set", "quantity", "value", "by"])
        for name, rows in sets():
            for low, high, count in rows:
                f.writerow([name, repr(float(low)), "" if high is None else repr(float(high)), count])
            say = lambda quantity, value, by: g.writerow([name, quantity, mp.nstr(mp.mpf(value), 17), by])
            mean = sum(r[2] * (r[0] if r[1] is None else (r[0] + r[1]) / 2) for r in rows) / sum(r[2] for r in rows)
            shape, scale, mean = parametric(rows, (1.0, mean))
            say("exponential_mean", mean, "mpmath")
            say("exponential_log_likelihood", log_likelihood(rows, mp.mpf(1), mean), "mpmath")
            say("weibull_shape", shape, "mpmath")
            say("weibull_scale", scale, "mpmath")
            say("weibull_log_likelihood", log_likelihood(rows, shape, scale), "mpmath")
            for quantity, value in by_lifelines(rows):
                say(quantity, value, "lifelines")
            masses, value = nonparametric(rows)
            for low, high, mass in masses:
                say(f"mass {float(low)!r} {'' if np.isinf(high) else repr(float(high))}".strip(), mass, "em+mpmath")
            say("npmle_log_likelihood", value, "em+mpmath")


main()
