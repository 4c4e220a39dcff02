"""Inputs of the benchmarks, the same on every machine.

    python inputs.py FOLDER

Writes w1/readings_n60.csv and _n300.csv with _n12 (x, y, value, noise variance; mm and um): a Matern 3/2 field of mean 110 um,
sd 6 um and length 400 mm over 1500 x 1200 mm, read once in each cell of a lattice. Writes w6/records_monthly.csv, records_daily.csv
and grouped_monthly.csv (left, right, count): 10,000 lifetimes looked at now and then, of a Weibull law of shape 1.6 and scale 48 months.
Writes w3/path.csv (pass, column, row, dwell_s) and kernel_radial.csv (um/s): eight passes of a 125 mm pad over 600 x 400 nodes of 2 mm.
Writes w4/influence.csv (columns and rows away, um/s), target.csv and cap.csv (um, 120 x 80 cells of 10 mm): what to take with the same pad at
60 x 40 positions, 20 mm apart.
Writes w5/picture.pgm (4000 x 3000 pixels, 8-bit grey): 4,000 bright arcs, 0.7 to 1.3 px wide and 8 to 40 high, most of them in the left half, on an uneven
ground with noise of sd 6; and truth.csv (left, right): the length of the arcs inside of each half, px.
"""
import collections
import math
import pathlib
import random
import sys

import numpy as np

WIDTH_MM, HEIGHT_MM, LENGTH_MM, MEAN_UM, SD_UM, NOISE_SD_UM = 1500, 1200, 400.0, 110.0, 6.0, 1.5
LATTICES = {12: (4, 3), 60: (10, 6), 300: (20, 15)}
WAVES = 2000
PAD_RADIUS_MM, COLUMNS, ROWS, ROWS_APART, CELLS = 62.5, 600, 400, 31, (120, 80)
PICTURE, ARCS, IN_LEFT, GREY_SD = (4000, 3000), 4000, 0.72, 6.0
LIVES, SHAPE, SCALE_MONTHS, DAYS_A_MONTH = 10_000, 1.6, 48.0, 30.4375


def field(draw):
    """A sum of cosines whose wave vectors have the kernel's spectrum: in the plane Student's t with 3 degrees of freedom."""
    waves = []
    for _ in range(WAVES):
        spread = math.sqrt(3 / sum(draw.gauss(0, 1) ** 2 for _ in range(3))) / LENGTH_MM
        waves.append((draw.gauss(0, 1) * spread, draw.gauss(0, 1) * spread, draw.uniform(0, 2 * math.pi)))
    scale = SD_UM * math.sqrt(2 / WAVES)
    return lambda x, y: MEAN_UM + scale * sum(math.cos(a * x + b * y + phase) for a, b, phase in waves)


def readings(folder):
    draw = random.Random(1)
    true = field(draw)
    for count, (across, up) in LATTICES.items():
        rows = ["x,y,value,var"]
        for j in range(up):
            for i in range(across):
                x = round((i + draw.uniform(0.1, 0.9)) * WIDTH_MM / across)
                y = round((j + draw.uniform(0.1, 0.9)) * HEIGHT_MM / up)
                variance = round(NOISE_SD_UM**2 * draw.uniform(0.5, 2), 4)
                rows.append(f"{x},{y},{true(x, y) + draw.gauss(0, math.sqrt(variance)):.2f},{variance}")
        write(folder / f"readings_n{count}.csv", rows)


def looks(draw, unit):
    """The interval that looking every 3 to 14 months, for 18 to 120 months, finds a lifetime in; no right end when it outlasts them."""
    life = SCALE_MONTHS * unit * (-math.log(1 - draw.random())) ** (1 / SHAPE)
    end = draw.uniform(18, 120) * unit
    left, look = 0, math.floor(draw.uniform(1, 13) * unit)
    while look <= end:
        if life <= look:
            return left, look
        left, look = look, look + math.floor(draw.uniform(3, 15) * unit)
    return left, ""


def lifetimes(folder):
    for name, unit in (("monthly", 1.0), ("daily", DAYS_A_MONTH)):
        draw = random.Random(2)
        found = [looks(draw, unit) for _ in range(LIVES)]
        write(folder / f"records_{name}.csv", ["left,right"] + [f"{left},{right}" for left, right in found])
        if name == "monthly":
            grouped = sorted(collections.Counter(found).items(), key=str)
            write(folder / "grouped_monthly.csv", ["left,right,count"] + [f"{left},{right},{n}" for (left, right), n in grouped])


def strokes(draw, along, across, first):
    """To and fro, ROWS_APART nodes between strokes: (along, across, seconds), slower at the ends."""
    for number, at in enumerate(range(first, across, ROWS_APART)):
        ways = range(along) if number % 2 == 0 else range(along - 1, -1, -1)
        if number:
            yield from ((ways[0], step, 0.04) for step in range(at - ROWS_APART + 1, at))
        speed_mm_s, phase = draw.uniform(40, 60), draw.uniform(0, 2 * math.pi)
        for place in ways:
            slower = 1 + 0.8 * math.exp(-min(place, along - 1 - place) / 10)
            yield place, at, 2 / speed_mm_s * slower * (1 + 0.1 * math.sin(place / 20 + phase))


def rate(distance_mm, most):
    return most * (1 - 0.6 * (distance_mm / PAD_RADIUS_MM) ** 2) if distance_mm <= PAD_RADIUS_MM else 0.0


def removal(folder):
    draw = random.Random(3)
    rows = ["pass,ix,iy,dwell_s"]
    for number in range(8):
        if number % 2 == 0:
            rows += [f"{number},{x},{y},{t:.6f}" for x, y, t in strokes(draw, COLUMNS, ROWS, 8 * (number // 2))]
        else:
            rows += [f"{number},{x},{y},{t:.6f}" for y, x, t in strokes(draw, ROWS, COLUMNS, 8 * (number // 2))]
    write(folder / "path.csv", rows)
    reach = range(-31, 32)
    write(folder / "kernel_radial.csv", [",".join(f"{rate(2 * math.hypot(x, y), 0.015):.9f}" for x in reach) for y in reach])


def dwell(folder):
    draw = random.Random(4)
    away = [(a, b, rate(math.hypot(10 * a - 5, 10 * b - 5), 0.02)) for b in range(-6, 8) for a in range(-6, 8)]
    write(folder / "influence.csv", ["da,db,rate"] + [f"{a},{b},{r:.9f}" for a, b, r in away if r])
    bumps = [(draw.uniform(0, 1200), draw.uniform(0, 800), draw.uniform(40, 180), draw.uniform(0.2, 0.8)) for _ in range(14)]

    def target(x, y):
        wanted = 0.6 + sum(h * math.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (2 * s * s)) for cx, cy, s, h in bumps)
        return wanted + 0.6 * (300 < x < 420 and 500 < y < 640) - 0.4 * (820 < x < 1010 and 120 < y < 200)

    def cap(x, y):
        border = 0.8 if min(x, 1200 - x, y, 800 - y) < 60 else 2.0
        return min(border, 0.65) if abs(y - 0.25 * x - 180) < 30 else border

    places = [[(10 * i + 5, 10 * j + 5) for i in range(CELLS[0])] for j in range(CELLS[1])]
    for name, value in (("target", target), ("cap", cap)):
        write(folder / f"{name}.csv", [",".join(f"{value(x, y):.6f}" for x, y in row) for row in places])


def picture(folder):
    draw = np.random.Generator(np.random.PCG64(5))
    width, height = PICTURE
    lines, truth = np.zeros((height, width), np.float32), np.zeros(2)
    for _ in range(ARCS):
        x = (draw.random() + (draw.random() >= IN_LEFT)) * width / 2
        radius, length = np.exp(draw.uniform(np.log([150, 60]), np.log([2500, 500])))
        truth += arc(lines, (x, draw.uniform(0, height)), radius, min(length, math.pi * radius), draw.uniform(0, 2 * math.pi),
                     draw.uniform(0.7, 1.3), draw.uniform(8, 40))
    y, x = np.mgrid[0:height, 0:width]
    ground = 95 + 25 * np.cos(2.2 * x / width - 0.7) * np.cos(1.7 * y / height - 0.4) + 3 * np.sin(9 * x / width + 4 * y / height)
    grey = np.clip(np.rint(ground + lines + GREY_SD * draw.standard_normal((height, width))), 0, 255).astype(np.uint8)
    write(folder / "truth.csv", ["left,right", ",".join(f"{half:.2f}" for half in truth)])
    (folder / "picture.pgm").write_bytes(f"P5\n{width} {height}\n255\n".encode() + grey.tobytes())


def arc(lines, middle, radius, length, direction, width, amplitude):
    """Draws an arc where it is brighter than what is there. Its length inside of the left and the right half."""
    height, across = lines.shape
    centre = middle[0] - radius * math.cos(direction), middle[1] - radius * math.sin(direction)
    angles = direction + (np.arange(math.ceil(4 * length)) + 0.5) / math.ceil(4 * length) * length / radius - length / radius / 2
    x, y = centre[0] + radius * np.cos(angles), centre[1] + radius * np.sin(angles)
    near = np.stack(np.meshgrid(np.arange(-4, 5), np.arange(-4, 5)), -1).reshape(-1, 2)
    places = (np.rint(np.stack([x, y], -1)[::4]).astype(int)[:, None] + near).reshape(-1, 2)
    places = places[((places >= 0) & (places < (across, height))).all(1)]
    away = places - centre
    turned = (np.arctan2(away[:, 1], away[:, 0]) - direction + math.pi) % (2 * math.pi) - math.pi
    section = np.exp(-0.5 * ((np.hypot(*away.T) - radius) / width) ** 2) * (abs(turned) <= length / radius / 2)
    np.maximum.at(lines, (places[:, 1], places[:, 0]), (amplitude * section).astype(np.float32))
    inside = (x >= -0.5) & (x < across - 0.5) & (y >= -0.5) & (y < height - 0.5)
    halves = np.count_nonzero(inside & (x < across / 2 - 0.5)), np.count_nonzero(inside & (x >= across / 2 - 0.5))
    return np.array(halves) * length / len(angles)


def write(path, rows):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(rows) + "\n")


if __name__ == "__main__":
    readings(pathlib.Path(sys.argv[1]) / "w1")
    removal(pathlib.Path(sys.argv[1]) / "w3")
    dwell(pathlib.Path(sys.argv[1]) / "w4")
    picture(pathlib.Path(sys.argv[1]) / "w5")
    lifetimes(pathlib.Path(sys.argv[1]) / "w6")
