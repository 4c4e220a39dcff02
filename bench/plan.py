"""Time and peak memory of a plan: a benchmark without a peer. Imports nothing large, as a child starts at its parent's size."""
import os
import subprocess

import ours

# Targets: a plan of a vehicle of 14 panels and 300 readings in under a second and under 500 MB.
child = subprocess.Popen([ours.program("lastmicron-house", "plan"), "--bench", "--sample-count", "3"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
times = ours.read(child.stdout.read())
_, _, used = os.wait4(child.pid, 0)
for name, (fastest, median) in times.items():
    print(f"{name}: median {median:.2f} s, fastest {fastest:.2f} s")
print(f"peak memory of both: {used.ru_maxrss / 1024:.0f} MB")
