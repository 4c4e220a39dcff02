"""Builds and runs our benchmarks, and reads what they print."""
import json
import os
import re
import subprocess

UNITS = {"ns": 1e-9, "µs": 1e-6, "ms": 1e-3, "s": 1.0}


def program(package, bench):
    """The path of a built benchmark."""
    command = ["cargo", "bench", "--locked", "-p", package, "--bench", bench, "--no-run", "--message-format=json", "--quiet"]
    built = subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout
    messages = (json.loads(line) for line in built.splitlines())
    return next(message["executable"] for message in messages if message.get("target", {}).get("name") == bench and message.get("executable"))


def run(path, pattern, threads, samples):
    """What is printed, and CPU seconds of all threads."""
    command = [path, "--bench", pattern, "--sample-size", "1", "--sample-count", str(samples)]
    environment = {**os.environ, "RAYON_NUM_THREADS": str(threads)}
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=environment) as child:
        out = child.stdout.read()
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"{path} ended with status {child.returncode}")
    return out, used.ru_utime + used.ru_stime


def times(path, name, threads, samples):
    """Fastest and median wall seconds, and CPU seconds of one: what a run of many samples takes more than a run of one."""
    pattern = "^[^:]*::" + name.replace(" ", "::") + "$"
    out, many = run(path, pattern, threads, samples)
    _, one = run(path, pattern, threads, 1)
    fastest, median = read(out)[name]
    return fastest, median, (many - one) / (samples - 1)


def read(out):
    """(fastest, median) by name, from divan's table: a group's name has no times of its own, and its arguments are indented under it."""
    found, group = {}, ""
    for line in out.splitlines():
        row = re.match(r"[\s│├╰─]*[├╰]─ (\S+)(.*)", line)
        if not row:
            continue
        numbers = [float(number) * UNITS[unit] for number, unit in re.findall(r"([\d.]+) (ns|µs|ms|s)\b", row[2])]
        indented = not line.startswith(("├", "╰"))
        if not numbers:
            group = row[1]
        else:
            found[f"{group} {row[1]}" if indented else row[1]] = (numbers[0], numbers[2])
    return found
