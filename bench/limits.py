"""Floors: the arithmetic that a work needs, at the speed at which numpy and scipy do such arithmetic here on one core.

A bound to measure a distance from, not a promise. Speeds are the best of many tries.
"""
import time

import numpy as np
import scipy.fft
import threadpoolctl


def best(call, seconds=0.5):
    """CPU seconds of the fastest call."""
    fastest, end = np.inf, time.perf_counter() + seconds
    while time.perf_counter() < end:
        start = time.process_time()
        call()
        fastest = min(fastest, time.process_time() - start)
    return fastest


def multiply_adds(dtype):
    """Seconds of one in a product of matrices."""
    size = 1024
    a, b = np.ones((size, size), dtype), np.ones((size, size), dtype)
    out = np.empty_like(a)
    with threadpoolctl.threadpool_limits(1):
        return best(lambda: np.matmul(a, b, out=out)) / size**3


def each(function, dtype):
    """Seconds of one of a vector function's values, in the nearest cache."""
    values = np.linspace(0.1, 1, 2048).astype(dtype)
    out = np.empty_like(values)
    return best(lambda: function(values, out=out), 0.2) / len(values)


def field(readings, places):
    """A triangular solve at every place, which is what a direct estimate needs. Covariances are left out: numpy's are no bound."""
    return readings**2 / 2 * places * multiply_adds(np.float64)


def draws(readings, nx, ny, draws):
    """A transform for two draws on the smallest torus, and the readings' weights at each node. Normals are left out, as above."""
    torus = np.ones((2 * (ny - 1), 2 * (nx - 1)), np.complex64)
    transform = best(lambda: scipy.fft.fft2(torus, workers=1))
    return draws / 2 * transform + draws * nx * ny * readings * multiply_adds(np.float32)


def survival(found):
    """Sorting the records, and fifteen likelihoods of the distinct ones."""
    keys = np.ascontiguousarray(found[:, 0] * 1e4 + np.minimum(found[:, 1], 1e3)).view(np.uint64)
    return best(lambda: np.sort(keys)) + 15 * len(np.unique(keys)) * each(np.log, np.float64)


def copied():
    """Seconds to read and write a byte, in memory too large for any cache."""
    source, target = np.ones(2**23), np.ones(2**23)
    return best(lambda: np.copyto(target, source)) / (2 * source.nbytes)


def removal(samples, nodes):
    """Reading the path, and writing and reading the dwell by nodes, and writing the map, at the speed of memory."""
    return (samples * 24 + nodes * 8 * 3) * copied()


def dwell(columns, half_width, factors):
    """Cholesky factors of the search's band matrices."""
    return factors * columns * half_width**2 / 2 * multiply_adds(np.float64)


def ridges(pixels, reaches):
    """Three kernels along rows, whose sides are alike, and three down columns, for each reach; and the picture read and the response written."""
    taps = sum(3 * (reach + 1) + 3 * (2 * reach + 1) for reach in reaches)
    return pixels * (taps * multiply_adds(np.float32) + 8 * copied())


def skeleton(pixels):
    """A bit a pixel, read and written once."""
    return pixels / 4 * copied()
