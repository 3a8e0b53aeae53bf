"""17. How sure: intervals, quantiles of distributions, points of Sobol', and what inputs matter, by libraries of statistics."""
import mpmath
import numpy as np
from SALib.analyze import morris as effects, sobol as shares
from SALib.sample import morris, sobol
from SALib.test_functions import Ishigami
from scipy import stats
from scipy.stats import qmc
from common import write, ver

LEVELS = (0.5, 0.9, 0.95, 0.99)

def chances():
    """Exact interval of a chance, by quantiles of the beta distribution (binomtest's own is good to 2e-12 only)."""
    rows = []
    for runs in (1, 2, 10, 37, 200, 5000, 1000000):
        for times in sorted({0, 1, runs // 40, runs // 7, runs // 2, runs - 1, runs}):
            for level in LEVELS:
                tail = (1 - level) / 2
                low = stats.beta.ppf(tail, times, runs - times + 1) if times else 0.0
                rows.append([times, runs, level, low, stats.beta.isf(tail, times + 1, runs - times) if times < runs else 1.0])
    write("17_chance", ["times", "runs", "confidence", "low", "high"], rows,
          ver("scipy") + " | scipy.stats.beta.ppf(tail, times, runs - times + 1), isf(tail, times + 1, runs - times)", sig=17)

def students():
    rows = [[free, level, stats.t.ppf(0.5 + level / 2, free)]
            for free in (1, 2, 3, 5, 9, 30, 99.5, 1e3, 1e6) for level in LEVELS + (0.9999,)]
    write("17_student", ["free", "confidence", "t"], rows,
          ver("scipy") + " | scipy.stats.t.ppf((1 + confidence) / 2, free)", sig=17)

def ranks():
    """Places in order, from 1, of the bounds of a quantile; 0 where there are too few values for one."""
    rows = []
    for n in (1, 5, 20, 59, 100, 1000, 20000):
        for share in (0.01, 0.1, 0.5, 0.9, 0.95, 0.99):
            for level in LEVELS:
                x = np.arange(1.0, n + 1)
                ci = stats.quantile_test(x, q=1.0, p=share).confidence_interval(level)
                rows.append([n, share, level] + [0 if np.isnan(b) else int(b) for b in ci])
    write("17_rank", ["values", "share", "confidence", "low", "high"], rows,
          ver("scipy") + " | scipy.stats.quantile_test(1..values, p=share).confidence_interval(confidence)", sig=17)

def means():
    rng = np.random.default_rng(17)
    common = rng.normal(0, 30, 40)
    a, b = 200 + common + rng.normal(0, 4, 40), 197 + 0.9 * common + rng.normal(0, 4, 40)
    both, alone = stats.ttest_rel(a, b).confidence_interval(0.95), stats.ttest_1samp(a, 0.0).confidence_interval(0.95)

    def unpaired(a, b):
        of, va, vb = stats.ttest_rel(a, b).confidence_interval(0.95), a.var(ddof=1), b.var(ddof=1)
        width = lambda m: stats.t.ppf(0.975, (m - 1) * (va + vb) ** 2 / (va ** 2 + vb ** 2)) * np.sqrt((va + vb) / m)
        return next(m for m in range(2, 10 ** 6) if width(m) <= (of.high - of.low) / 2)
    few = " ".join(f"unpaired_each_{n}={unpaired(a[:n], b[:n][::-1])}" for n in (4, 5, 6))
    write("17_paired", ["a", "b"], list(zip(a, b)),
          [ver("scipy", "numpy") + " | scipy.stats.ttest_rel, ttest_1samp (of a) .confidence_interval(0.95); default_rng(17)",
           f"low={both.low:.17g} high={both.high:.17g} a_low={alone.low:.17g} a_high={alone.high:.17g}",
           f"unpaired_each={unpaired(a, b)} (Welch's interval of as many runs on each side, first no wider)",
           f"{few} (the same of the first 4, 5 and 6 of a, and of b from the last of them to the first)"], sig=17)

def points():
    """Numerators over 1024 in three hexadecimal digits each, 40 axes; and far-off points of 32 bits."""
    rows = [["".join(f"{int(v * 1024):03x}" for v in p)] for p in qmc.Sobol(40, scramble=False, bits=30).random(1024)]
    write("17_sobol", ["numerators"], rows,
          ver("scipy") + " | scipy.stats.qmc.Sobol(40, scramble=False).random(1024) * 1024, hexadecimal")
    rows = []
    for place in (1048575, 123456789, 4294967294):
        p = qmc.Sobol(40, scramble=False, bits=32).fast_forward(place).random(1)[0]
        rows.append([place, "".join(f"{int(v * 2 ** 32):08x}" for v in p)])
    write("17_sobol_far", ["place", "numerators"], rows,
          ver("scipy") + " | scipy.stats.qmc.Sobol(40, scramble=False, bits=32).fast_forward(place).random(1) * 2^32, hexadecimal")

def cut(low, high, mean=0, deviation=1):
    """A normal distribution between two ends, by 60 digits (truncnorm is off by up to 2e-9 in its tails)."""
    class Cut:
        def ppf(self, unit):
            a, b = (mpmath.mpf(low) - mean) / deviation, (mpmath.mpf(high) - mean) / deviation
            above = lambda z: mpmath.erfc(z / mpmath.sqrt(2)) / 2
            wanted = above(a) - mpmath.mpf(unit) * (above(a) - above(b))
            ends = [max(a, -40), min(b, 40)]
            for _ in range(200):
                z = (ends[0] + ends[1]) / 2
                ends[0 if above(z) > wanted else 1] = z
            return float(mean + deviation * ends[0])
    return Cut()

def inputs():
    mpmath.mp.dps = 60
    units = (1e-12, 1e-6, 0.001, 0.03, 0.2, 0.41, 0.5, 0.77, 0.93, 0.999, 1 - 1e-9)
    cv = 0.6; sigma = np.sqrt(np.log1p(cv * cv))
    kinds = {
        "uniform -3 5": stats.uniform(-3, 8),
        "normal 20 4": stats.norm(20, 4),
        "normal 20 4 from 15 to 30": cut(15, 30, 20, 4),
        "normal 20 4 from 15": cut(15, np.inf, 20, 4),
        "normal 0 1 from 6 to 8": cut(6, 8),
        "normal 0 1 from -9 to -7": cut(-9, -7),
        "lognormal 30 0.6": stats.lognorm(sigma, scale=30 * np.exp(-sigma ** 2 / 2)),
        "triangular 1 2 6": stats.triang(0.2, 1, 5),
        "triangular 1 1 6": stats.triang(0, 1, 5),
        "triangular 1 6 6": stats.triang(1, 1, 5),
        "listed 7 3 12 by 1 2 5": stats.rv_discrete(values=([0, 1, 2], [1 / 8, 2 / 8, 5 / 8])),
    }
    value = lambda name, of, u: (7, 3, 12)[int(of.ppf(u))] if name.startswith("listed") else of.ppf(u)
    rows = [[name, u, value(name, of, u)] for name, of in kinds.items() for u in units]
    write("17_inputs", ["distribution", "unit", "value"], rows,
          [ver("scipy", "mpmath") + " | scipy.stats uniform, norm, lognorm, triang, rv_discrete: ppf(unit)",
           "where ends are cut off: mpmath.erfc, by halving 200 times at 60 digits"], sig=17)

def matters():
    three = {"num_vars": 3, "names": ["a", "b", "c"], "bounds": [[-np.pi, np.pi]] * 3}
    x = sobol.sample(three, 64, calc_second_order=False, seed=17)
    y = Ishigami.evaluate(x)
    s = shares.analyze(three, y, calc_second_order=False, seed=17)
    tell = " ".join(f"{k}_{i}={s[k][i]:.17g}" for k in ("S1", "ST") for i in range(3))
    write("17_shares", ["a", "with_1", "with_2", "with_3", "b"], y.reshape(-1, 5),
          [ver("SALib") + " | SALib.sample.sobol, SALib.test_functions.Ishigami, SALib.analyze.sobol; 64 rows of Y", tell], sig=17)
    unit = {"num_vars": 4, "names": list("abcd"), "bounds": [[0, 1]] * 4}
    x = morris.sample(unit, 12, num_levels=6, seed=17)
    y = x[:, 0] * 3 + np.exp(2 * x[:, 1]) - 4 * x[:, 2] * (x[:, 2] - 1) + x[:, 0] * x[:, 3]
    e = effects.analyze(unit, x, y, num_levels=6, seed=17)
    tell = " ".join(f"{k}_{i}={float(e[k][i]):.17g}" for k in ("mu", "mu_star", "sigma") for i in range(4))
    write("17_effects", ["x1", "x2", "x3", "x4", "y"], np.c_[x, y],
          [ver("SALib") + " | SALib.sample.morris(num_levels=6), SALib.analyze.morris; 12 paths of 5 points", tell], sig=17)

for make in (chances, students, ranks, means, points, inputs, matters):
    make()
