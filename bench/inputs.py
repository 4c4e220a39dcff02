"""Inputs of the benchmarks, the same on every machine.

    python inputs.py FOLDER

Writes w1/readings_n60.csv and _n300.csv with _n12 (x, y, value, noise variance; mm and um): a Matern 3/2 field of mean 110 um,
sd 6 um and length 400 mm over 1500 x 1200 mm, read once in each cell of a lattice. Writes w6/records_monthly.csv, records_daily.csv
and grouped_monthly.csv (left, right, count): 10,000 lifetimes looked at now and then, of a Weibull law of shape 1.6 and scale 48 months.
"""
import collections
import math
import pathlib
import random
import sys

WIDTH_MM, HEIGHT_MM, LENGTH_MM, MEAN_UM, SD_UM, NOISE_SD_UM = 1500, 1200, 400.0, 110.0, 6.0, 1.5
LATTICES = {12: (4, 3), 60: (10, 6), 300: (20, 15)}
WAVES = 2000
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


def write(path, rows):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(rows) + "\n")


if __name__ == "__main__":
    readings(pathlib.Path(sys.argv[1]) / "w1")
    lifetimes(pathlib.Path(sys.argv[1]) / "w6")
