"""What the libraries take for the same, from arrays to answers."""
import csv
import pathlib
import warnings

import clarabel
import cv2
import numpy as np
import scipy.linalg
import scipy.ndimage
import scipy.optimize
import scipy.signal
import scipy.sparse
from lifelines import KaplanMeierFitter
from skimage import filters, morphology
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import ConstantKernel, Matern

SD_UM, LENGTH_MM, WIDTH_MM, HEIGHT_MM = 6.0, 400.0, 1500, 1200
COLUMNS, ROWS, POSITIONS, CELLS = 600, 400, (60, 40), (120, 80)
# A constant mean is a prior variance for scikit-learn; this one is as good as flat.
FLAT = 1e6
SIGMAS, LOW, HIGH = [1.0, 1.5, 2.0, 3.0], 0.0113, 0.0213


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


def passes(folder):
    """Path (columns, rows, seconds) and the pad's stencil."""
    path = np.loadtxt(pathlib.Path(folder) / "w3/path.csv", delimiter=",", skiprows=1)
    stencil = np.loadtxt(pathlib.Path(folder) / "w3/kernel_radial.csv", delimiter=",")
    return path[:, 1].astype(int), path[:, 2].astype(int), path[:, 3].copy(), stencil


def fft_convolution(columns, rows, seconds, stencil):
    """The depth that a path takes, from its dwell by nodes."""
    dwell = np.bincount(rows * COLUMNS + columns, weights=seconds, minlength=COLUMNS * ROWS).reshape(ROWS, COLUMNS)
    return scipy.signal.fftconvolve(dwell, stencil, mode="same")


def capped(folder):
    """Influence of the positions on the cells, target and cap."""
    (nx, ny), (cells_x, cells_y) = POSITIONS, CELLS
    a, b, rate = np.loadtxt(pathlib.Path(folder) / "w4/influence.csv", delimiter=",", skiprows=1).T
    i, j = np.arange(nx * ny) % nx, np.arange(nx * ny) // nx
    x, y = (2 * i[:, None] + a).astype(int), (2 * j[:, None] + b).astype(int)
    on = (x >= 0) & (x < cells_x) & (y >= 0) & (y < cells_y)
    values, columns = np.broadcast_to(rate, x.shape)[on], np.broadcast_to(np.arange(nx * ny)[:, None], x.shape)[on]
    influence = scipy.sparse.csc_matrix((values, ((y * cells_x + x)[on], columns)), shape=(cells_x * cells_y, nx * ny))
    target, cap = (np.loadtxt(pathlib.Path(folder) / f"w4/{name}.csv", delimiter=",").ravel() for name in ("target", "cap"))
    return influence, target, cap


def clarabel_dwell(influence, target, cap):
    """The dwell of least squares under the cap, by a general conic solver on one thread (its own default is slower)."""
    columns = influence.shape[1]
    bounds = scipy.sparse.vstack([influence, -scipy.sparse.identity(columns, format="csc")], format="csc")
    settings = clarabel.DefaultSettings()
    settings.verbose, settings.max_threads = False, 1
    square = scipy.sparse.triu(influence.T @ influence, format="csc")
    limits = np.concatenate([cap, np.zeros(columns)])
    cones = [clarabel.NonnegativeConeT(len(limits))]
    return np.array(clarabel.DefaultSolver(square, -(influence.T @ target), bounds, limits, cones, settings).solve().x)


def uncapped_dwell(influence, target):
    """Without the cap, which lsq_linear does not know: another, easier optimum."""
    return scipy.optimize.lsq_linear(influence, target, bounds=(0, np.inf), max_iter=500).x


def lifelines_nonparametric(found):
    """Turnbull's estimate. lifelines' intervals are closed on the left: a little is added there."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return KaplanMeierFitter().fit_interval_censoring(found[:, 0] + 1e-6, np.where(np.isinf(found[:, 1]), 1e9, found[:, 1]))


def picture(folder):
    """Greys over 255."""
    _, size, _, grey = (pathlib.Path(folder) / "w5/picture.pgm").read_bytes().split(b"\n", 3)
    width, height = map(int, size.split())
    return np.frombuffer(grey, np.uint8).reshape(height, width).astype(np.float32) / np.float32(255)


def scikit_image_ridges(grey):
    """Up to 1, kernels reach 100 sigmas in scikit-image, and 8 above: a sigma of 1.0001 has the same answer to 1e-5 in less than half of the time."""
    return filters.sato(grey, sigmas=[max(sigma, 1.0001) for sigma in SIGMAS], black_ridges=False)


def opencv_ridges(grey):
    """By the differences of neighbours of a smoothed picture, which is less exact and fast."""
    best = np.zeros_like(grey)
    for sigma in SIGMAS:
        smoothed = cv2.GaussianBlur(grey, (0, 0), sigma, borderType=cv2.BORDER_REFLECT)
        xx, yy, xy = (cv2.Sobel(smoothed, cv2.CV_32F, *order, ksize=3, scale=0.25) for order in ((2, 0), (0, 2), (1, 1)))
        response = cv2.magnitude((xx - yy) * 0.5, xy)
        response -= (xx + yy) * 0.5
        response *= sigma**2
        np.maximum(best, response, out=best)
    return best


def kept(response):
    """Regions of eight neighbours above LOW that have a pixel above HIGH."""
    regions, count = scipy.ndimage.label(response > np.float32(LOW), np.ones((3, 3)))
    seen = np.zeros(count + 1, bool)
    seen[regions[response > np.float32(HIGH)]] = True
    seen[0] = False
    return seen[regions]


def skeleton_and_links(mask):
    """Pixels of the skeleton, and the length of its links."""
    lines = morphology.skeletonize(mask)
    straight = np.count_nonzero(lines[:, :-1] & lines[:, 1:]) + np.count_nonzero(lines[:-1] & lines[1:])
    first = lines[:-1, :-1] & lines[1:, 1:] & ~lines[:-1, 1:] & ~lines[1:, :-1]
    second = lines[:-1, 1:] & lines[1:, :-1] & ~lines[:-1, :-1] & ~lines[1:, 1:]
    return np.count_nonzero(lines), 0.948 * straight + 1.340 * (np.count_nonzero(first) + np.count_nonzero(second))
