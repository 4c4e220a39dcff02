"""Runs every reference script beside this one again and compares what it makes with what is committed in checks/.

Usage: compare.py            exit status 1 and the cells that differ, when any does
"""

import csv
import io
import math
import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent

# What each script makes: one table is printed, several are written to the paths given as arguments.
MADE = {
    "contact.py": ["contact-reference.csv"],
    "field.py": ["field-scikit-learn.csv"],
    "motion.py": ["motion-reference.csv"],
    "ridges.py": ["ridges-scikit-image.csv"],
    "survival.py": ["survival-inputs.csv", "survival-reference.csv"],
}

# What iterative fits differ by between processors and builds of one version. Drift of a script from its table is far larger.
RELATIVE, ABSOLUTE = 1e-6, 1e-9


def same(made, committed):
    if made == committed:
        return True
    try:
        return math.isclose(float(made), float(committed), rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    except ValueError:
        return False


def rows(text):
    return list(csv.reader(io.StringIO("".join(line for line in text.splitlines(True) if not line.startswith("#")))))


def differences(name, made, committed):
    made, committed = rows(made), rows(committed)
    if len(made) != len(committed):
        yield f"{name}: {len(committed)} rows are committed, {len(made)} are made"
    for row, want in zip(made, committed):
        if len(row) != len(want) or not all(map(same, row, want)):
            yield f"{name}: {','.join(want)} is committed, {','.join(row)} is made"


def make(script, tables, folder):
    """The text of each table, in the order of MADE."""
    if len(tables) == 1:
        return [subprocess.run([sys.executable, HERE / script], stdout=subprocess.PIPE, text=True, check=True).stdout]
    paths = [pathlib.Path(folder) / table for table in tables]
    subprocess.run([sys.executable, HERE / script, *paths], check=True)
    return [path.read_text() for path in paths]


def main():
    found = [f"{script.name}: what it makes is not in compare.py" for script in HERE.glob("*.py") if script.name not in {*MADE, "compare.py"}]
    for script, tables in MADE.items():
        with tempfile.TemporaryDirectory() as folder:
            for table, made in zip(tables, make(script, tables, folder)):
                found.extend(differences(table, made, (HERE.parent / table).read_text()))
    print("\n".join(found) if found else f"{len(MADE)} reference scripts make what is committed")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
