#!/usr/bin/python3
"""Hold ch_weibull_fit to SciPy, as TAP (one test a set of lives): check_weibull.py PROGRAM (tests/oracle/weibull_fit.c)

SciPy's weibull_min gives densities and survival, its minimiser and root-finder the fit and the profile intervals. Tolerance 1e-5 relative:
SciPy's simplex stops at 1e-10 of log-likelihood, the square root of which is 1e-5 standard uncertainties.
"""
import subprocess
import sys

import numpy as np
from scipy import optimize, stats

TOLERANCE = 1e-5
CONFIDENCE = 0.9


def draw(number):
    """Rows (low, high, count) of a set: failures seen, survivors, and in every third set ends within an interval."""
    rng = np.random.default_rng(number)
    shape, scale, n = rng.uniform(0.6, 5), 10 ** rng.uniform(-1, 6), int(rng.integers(6, 60))
    rows = []
    for age in stats.weibull_min.rvs(shape, scale=scale, size=n, random_state=rng):
        end, look = scale * rng.uniform(0.5, 2), scale * rng.uniform(0.1, 0.6)
        if age > end:
            rows.append((end, np.inf, 1))
        elif number % 3 == 0:
            rows.append((np.floor(age / look) * look, (np.floor(age / look) + 1) * look, 1))
        else:
            rows.append((age, age, int(rng.integers(1, 3))))
    return rows


def columns(rows):
    low, high, count = (np.array(column) for column in zip(*rows))
    seen, alive = low == high, np.isinf(high)
    return low, high, count, seen, alive, ~seen & ~alive


def log_likelihood(table, log_shape, log_scale):
    low, high, count, seen, alive, between = table
    life, which = stats.weibull_min, {"c": np.exp(log_shape), "scale": np.exp(log_scale)}
    total = np.sum(count[seen] * life.logpdf(low[seen], **which)) + np.sum(count[alive] * life.logsf(low[alive], **which))
    return total + np.sum(count[between] * np.log(life.sf(low[between], **which) - life.sf(high[between], **which))) if between.any() else total


def profile(table, which, at, start):
    def lost(other):
        return -log_likelihood(table, *((at, other) if which == 0 else (other, at)))
    return -optimize.minimize_scalar(lost, bracket=(start - 0.1, start + 0.1), tol=1e-12).fun


def fit(rows):
    """shape, scale, log-likelihood, then the intervals, as the program prints them."""
    ages = np.array([low if np.isinf(high) else high for low, high, _ in rows])
    table = columns(rows)
    done = optimize.minimize(lambda p: -log_likelihood(table, *p), [0.0, np.log(ages.mean())], method="Nelder-Mead",
                             options={"xatol": 1e-11, "fatol": 1e-11, "maxiter": 4000})
    top, level = done.x, -done.fun - stats.chi2.ppf(CONFIDENCE, 1) / 2
    ends = []
    for which in (0, 1):
        for way in (-1, 1):
            reach = 0.05
            while profile(table, which, top[which] + way * reach, top[1 - which]) > level:
                reach *= 1.5
            ends.append(np.exp(optimize.brentq(
                lambda at: profile(table, which, at, top[1 - which]) - level,  # pylint: disable=cell-var-from-loop
                top[which], top[which] + way * reach, xtol=1e-10)))
    return [np.exp(top[0]), np.exp(top[1]), -done.fun, *ends]


def main():
    numbers = range(1, 7)
    sets = [draw(number) for number in numbers]
    text = "".join(f"{len(rows)} {CONFIDENCE}\n" + "".join(f"{low!r} {high!r} {count}\n" for low, high, count in
                                                          [(float(a), float(b), c) for a, b, c in rows]) for rows in sets)
    run = subprocess.run([sys.argv[1]], input=text, capture_output=True, text=True, check=False, timeout=60)
    answers = [[float(word) for word in line.split()] for line in run.stdout.splitlines()]
    print(f"1..{len(sets)}")
    failed = 0
    for number, rows in zip(numbers, sets):
        got = answers[number - 1] if number <= len(answers) else [np.nan] * 7
        want = fit(rows)
        worst = max(abs(a / b - 1) if np.isfinite(a) else np.inf for a, b in zip(got, want))
        good = worst <= TOLERANCE
        failed += not good
        print(f"{'ok' if good else 'not ok'} {number} - {len(rows)} lives, within {worst:.1e} of SciPy's")
        if not good:
            print(f"# program {got}\n# SciPy {want}")
    return failed > 0


sys.exit(main())
