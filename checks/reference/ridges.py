"""Ridge response, hysteresis, thinning and smoothing of an invented picture, by scikit-image and scipy.

    python checks/reference/ridges.py > checks/ridges-scikit-image.csv

A row is a pixel: x, y, grey (0 to 255, whole numbers: bright arcs on an uneven ground, with noise from a fixed sequence), response, kept, skeleton, smoothed.
response is scikit-image's `sato` of grey / 255 at SIGMAS for bright ridges. The picture is mirrored at its border by more than any kernel reaches before, and cut again after: of itself
`sato` mirrors the first derivative once more and does not turn its sign. kept are the pixels above LOW whose region (of eight neighbours, by scipy's `label`; scikit-image's
`apply_hysteresis_threshold` has four) has one above HIGH, as 0 or 1, of the response in single precision. skeleton is `skeletonize` of these. smoothed is scikit-image's `gaussian` of
grey / 255 at SMOOTHING. The second line has the versions. Floats are rounded to 9 digits.
"""
import platform

import numpy as np
import scipy
import skimage
from scipy import ndimage
from skimage import filters, morphology

WIDTH, HEIGHT = 96, 80
SIGMAS, LOW, HIGH, SMOOTHING = [1.0, 1.5, 2.0, 3.0], 0.0113, 0.0213, 1.7

# Middle and radius, pixels; from and to, degrees; width of the section and height, grey.
ARCS = [
    (-60, 40, 100, -30, 30, 0.8, 40),
    (48, 160, 120, 240, 300, 1.0, 30),
    (120, -20, 80, 100, 170, 1.2, 25),
    (40, 45, 22, 0, 290, 0.9, 35),
    (150, 120, 110, 180, 250, 0.7, 20),
    (20, -90, 120, 60, 100, 1.3, 40),
    (75, 60, 9, 0, 360, 1.0, 30),
]


def picture():
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    lines = np.zeros((HEIGHT, WIDTH))
    for cx, cy, radius, start, end, width, height in ARCS:
        angle = np.degrees(np.arctan2(y - cy, x - cx)) % 360
        inside = (angle - start) % 360 <= end - start
        lines = np.maximum(lines, inside * height * np.exp(-0.5 * ((np.hypot(x - cx, y - cy) - radius) / width) ** 2))
    at = np.arange(WIDTH * HEIGHT).reshape(HEIGHT, WIDTH)
    # Sums of three parts of an additive sequence: no generator decides.
    noise = sum((at * step) % 1 for step in (0.6180339887498949, 0.7548776662466927, 0.8191725133961645)) - 1.5
    return np.clip(np.rint(95 + 20 * np.cos(x / 40) * np.cos(y / 60 - 0.4) + lines + 10 * noise), 0, 255)


def main():
    grey = picture()
    margin = 70
    mirrored = np.pad(grey / 255, margin, mode="symmetric")
    response = filters.sato(mirrored, sigmas=SIGMAS, black_ridges=False)[margin:-margin, margin:-margin]
    single = response.astype(np.float32)
    regions, count = ndimage.label(single > np.float32(LOW), np.ones((3, 3)))
    seen = np.zeros(count + 1, bool)
    seen[regions[single > np.float32(HIGH)]] = True
    seen[0] = False
    kept = seen[regions]
    skeleton = morphology.skeletonize(kept)
    smoothed = filters.gaussian(grey / 255, SMOOTHING, mode="reflect")
    print("# Made by checks/reference/ridges.py, which says how. Provenance: [C].")
    print(f"# python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}, scikit-image {skimage.__version__}")
    print("x,y,grey,response,kept,skeleton,smoothed")
    for y in range(HEIGHT):
        for x in range(WIDTH):
            print(f"{x},{y},{grey[y, x]:.0f},{response[y, x]:.9f},{kept[y, x]:d},{skeleton[y, x]:d},{smoothed[y, x]:.9f}")


if __name__ == "__main__":
    main()
