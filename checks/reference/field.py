"""Expected values for the field estimate, from scikit-learn and scipy: prints checks/field-scikit-learn.csv.

    python checks/reference/field.py > checks/field-scikit-learn.csv

Rows: `reading` (x_mm, y_mm, value, sd); `estimate` (family, mean, x_mm, y_mm, mean, sd of the noise-free field); `likelihood` (family,
mean, log marginal likelihood); `fit` (family, mean, then the sd, the length and the log likelihood of the likeliest kernel).
A mean of `known` is LEVEL and is scikit-learn's GaussianProcessRegressor on the values less LEVEL; `constant` is scipy's Cholesky and the
formulas of ordinary kriging, as scikit-learn has no flat prior. The kernel is SD, LENGTH_MM. The first line names the versions.
"""
import platform

import numpy as np
import scipy
import scipy.linalg as sl
import sklearn
from scipy.optimize import minimize
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, Matern

LEVEL, SD, LENGTH_MM = 105.0, 6.0, 320.0
FAMILIES = {
    "exponential": lambda length: Matern(length, (1e-2, 1e6), nu=0.5),
    "matern32": lambda length: Matern(length, (1e-2, 1e6), nu=1.5),
    "matern52": lambda length: Matern(length, (1e-2, 1e6), nu=2.5),
    "gaussian": lambda length: RBF(length, (1e-2, 1e6)),
}


def readings():
    """36 readings on no lattice, two of them at one place, noise sd 0.4 to 2; no random numbers, so that no generator decides."""
    i = np.arange(36)
    x = np.round(1400 * ((i * 0.6180339887498949) % 1), 1)
    y = np.round(1100 * ((i * 0.7548776662466927 + 0.3) % 1), 1)
    x[17], y[17] = x[4], y[4]
    sd = np.round(0.4 + 1.6 * ((i * 0.5698402909980532) % 1), 2)
    wave = 5 * np.sin(x / 210) * np.cos(y / 260) + 3 * np.sin((x + y) / 330)
    value = np.round(108 + wave + sd * np.sin(7.3 * i), 2)
    return x, y, value, sd


def kriging(cov, cross, prior, value):
    """Ordinary kriging: mean and sd at the places, and the log likelihood of the contrasts."""
    factor = sl.cho_factor(cov, lower=True)
    ones = np.ones(len(value))
    by_ones, by_value = sl.cho_solve(factor, ones), sl.cho_solve(factor, value)
    precision = ones @ by_ones
    level = by_ones @ value / precision
    weights = by_value - level * by_ones
    mean = level + cross.T @ weights
    rest = 1 - cross.T @ by_ones
    var = prior - np.einsum("ij,ij->j", cross, sl.cho_solve(factor, cross)) + rest**2 / precision
    log_det = 2 * np.log(np.diag(factor[0])).sum()
    log_likelihood = -0.5 * ((value - level) @ weights + log_det + np.log(precision) + (len(value) - 1) * np.log(2 * np.pi))
    return mean, np.sqrt(var), log_likelihood


def main():
    x, y, value, sd = readings()
    places = np.stack([x, y], 1)
    at = np.array([(0, 0), (700, 550), (x[4], y[4]), (1400, 1100), (333.3, 777.7), (2500, -400)], float)
    print(f"# python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}, scikit-learn {sklearn.__version__}")
    print("kind,family,mean,a,b,c,d")

    def row(*fields):
        print(",".join(field if isinstance(field, str) else repr(float(field)) for field in fields))

    for fields in zip(x, y, value, sd):
        row("reading", "", "", *fields)
    for name, family in FAMILIES.items():
        kernel = ConstantKernel(SD**2, (1e-6, 1e8)) * family(LENGTH_MM)
        model = GaussianProcessRegressor(kernel, alpha=sd**2, optimizer=None).fit(places, value - LEVEL)
        mean, spread = model.predict(at, return_std=True)
        for place, m, s in zip(at, mean + LEVEL, spread):
            row("estimate", name, "known", *place, m, s)
        row("likelihood", name, "known", model.log_marginal_likelihood_value_, "", "", "")

        def contrasts(theta):
            return -kriging(kernel.clone_with_theta(theta)(places) + np.diag(sd**2), np.zeros((len(x), 1)), 1.0, value)[2]

        mean, spread, log_likelihood = kriging(kernel(places) + np.diag(sd**2), kernel(places, at), SD**2, value)
        for place, m, s in zip(at, mean, spread):
            row("estimate", name, "constant", *place, m, s)
        row("likelihood", name, "constant", log_likelihood, "", "", "")
        for label, loss in (("known", lambda theta: -model.log_marginal_likelihood(theta)), ("constant", contrasts)):
            tight = dict(xatol=1e-10, fatol=1e-13, maxiter=4000, maxfev=8000)
            starts = [np.log([a**2, b]) for a in (2, 6, 20) for b in (80, 320, 1200)]
            best = min((minimize(loss, s, method="Nelder-Mead", options=tight) for s in starts), key=lambda r: r.fun)
            row("fit", name, label, np.exp(best.x[0] / 2), np.exp(best.x[1]), -best.fun, "")


if __name__ == "__main__":
    main()
