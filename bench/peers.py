"""What the libraries take for the same, from arrays to answers."""
import csv
import pathlib
import warnings

import numpy as np
import scipy.linalg
from lifelines import KaplanMeierFitter
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import ConstantKernel, Matern

SD_UM, LENGTH_MM, WIDTH_MM, HEIGHT_MM = 6.0, 400.0, 1500, 1200
# A constant mean is a prior variance for scikit-learn; this one is as good as flat.
FLAT = 1e6


def readings(folder, count):
    return np.loadtxt(pathlib.Path(folder) / f"w1/readings_n{count}.csv", delimiter=",", skiprows=1)


def grid(step_mm):
    x, y = np.meshgrid(np.arange(0, WIDTH_MM + 1, step_mm), np.arange(0, HEIGHT_MM + 1, step_mm))
    return np.column_stack([x.ravel(), y.ravel()])


def lives(folder, name):
    with open(pathlib.Path(folder) / f"w6/records_{name}.csv") as lines:
        rows = list(csv.reader(lines))[1:]
    return np.array([(float(left), float(right or "inf")) for left, right in rows])


def scikit_learn(read, places):
    """Means and sds by Gaussian process regression with the kernel given."""
    kernel = ConstantKernel(FLAT) + ConstantKernel(SD_UM**2) * Matern(LENGTH_MM, nu=1.5)
    model = GaussianProcessRegressor(kernel, alpha=read[:, 3], optimizer=None)
    return model.fit(read[:, :2], read[:, 2]).predict(places, return_std=True)


def covariances(a, b):
    scaled = np.hypot(a[:, None, 0] - b[None, :, 0], a[:, None, 1] - b[None, :, 1]) * (np.sqrt(3) / LENGTH_MM)
    return SD_UM**2 * (1 + scaled) * np.exp(-scaled)


def numpy_draws(read, places, draws, seed):
    """Smallest values of joint draws, by the Cholesky factor of the whole grid's covariance given the readings."""
    between = covariances(read[:, :2], read[:, :2]) + np.diag(read[:, 3])
    factor = np.linalg.cholesky(between)
    across = covariances(read[:, :2], places)
    solved = scipy.linalg.cho_solve((factor, True), np.column_stack([read[:, 2], np.ones(len(read))]))
    precision = solved[:, 1].sum()
    level = solved[:, 1] @ read[:, 2] / precision
    mean = level + (solved[:, 0] - level * solved[:, 1]) @ across
    explained = scipy.linalg.solve_triangular(factor, across, lower=True)
    left = 1 - solved[:, 1] @ across
    given = covariances(places, places) - explained.T @ explained + np.outer(left, left) / precision
    given[np.diag_indices_from(given)] += 1e-8 * SD_UM**2
    normals = np.random.default_rng(seed).standard_normal((draws, len(places)))
    return (mean + normals @ np.linalg.cholesky(given).T).min(1)


def lifelines_nonparametric(found):
    """Turnbull's estimate. lifelines' intervals are closed on the left: a little is added there."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return KaplanMeierFitter().fit_interval_censoring(found[:, 0] + 1e-6, np.where(np.isinf(found[:, 1]), 1e9, found[:, 1]))
