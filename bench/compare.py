"""Ours and the libraries' in turn, as one table.

    python compare.py --threads 1|2 field small-field draws survival removal dwell uncapped-dwell ridges ridges-opencv skeleton

A round is a run of ours (several samples) and one of theirs; the figures are medians over the rounds, and the fastest. On a machine that
is busy with other things compare CPU seconds: the longer a thing takes the more often it is interrupted.
"""
import argparse
import os
import statistics
import sys
import time

parser = argparse.ArgumentParser()
parser.add_argument("--threads", type=int, default=1)
parser.add_argument("--rounds", type=int, default=7)
parser.add_argument("work", nargs="+")
args = parser.parse_args()
# Before numpy is loaded: its pools of threads are made then.
for pool in ("OMP", "OPENBLAS"):
    os.environ[f"{pool}_NUM_THREADS"] = str(args.threads)

import cv2  # noqa: E402
import numpy as np  # noqa: E402

import limits  # noqa: E402
import ours  # noqa: E402
import peers  # noqa: E402

cv2.setNumThreads(args.threads)
FOLDER = os.environ["LASTMICRON_BENCH_INPUTS"]
FINE, COARSE = peers.grid(10), peers.grid(25)
READ = {count: peers.readings(FOLDER, count) for count in (60, 300)}
LIVES = peers.lives(FOLDER, "monthly")
PASSES, CAPPED = peers.passes(FOLDER), peers.capped(FOLDER)
PICTURE = peers.picture(FOLDER)
RESPONSE = peers.scikit_image_ridges(PICTURE) if "skeleton" in args.work else None
KEPT = None if RESPONSE is None else peers.kept(RESPONSE)
# Pixels that the kernels at the four sigmas reach.
REACHES = (6, 9, 11, 17)

PACKAGES = {"field": "lastmicron-numerics", "survival": "lastmicron-numerics", "removal": "lastmicron-numerics", "ridges": "lastmicron-raster"}

# bench, what its table calls it, samples a round of ours and of theirs, rounds, peer, how it is called, target, floor
WORK = {
    "field": ("field", "fixed 300", 60, 5, args.rounds, "scikit-learn", lambda: peers.scikit_learn(READ[300], FINE), {1: 5, 2: 8},
              lambda: limits.field(300, len(FINE))),
    "small-field": ("field", "fixed 60", 60, 5, args.rounds, "scikit-learn", lambda: peers.scikit_learn(READ[60], FINE), {},
                    lambda: limits.field(60, len(FINE))),
    "draws": ("field", "minimum_of_1000_draws", 30, 2, args.rounds, "numpy's Cholesky", lambda: peers.numpy_draws(READ[60], COARSE, 1000, 7),
              {1: 8, 2: 8}, lambda: limits.draws(60, 61, 49, 1000)),
    "survival": ("survival", "nonparametric_fit records_monthly", 500, 1, 3, "lifelines", lambda: peers.lifelines_nonparametric(LIVES), {1: 100},
                 lambda: limits.survival(LIVES)),
    "removal": ("removal", "superposition", 200, 60, args.rounds, "scipy's fftconvolve", lambda: peers.fft_convolution(*PASSES), {1: 2},
                lambda: limits.removal(len(PASSES[0]), peers.COLUMNS * peers.ROWS)),
    "dwell": ("removal", "capped_dwell", 20, 1, args.rounds, "Clarabel", lambda: peers.clarabel_dwell(*CAPPED), {1: 4},
              lambda: limits.dwell(CAPPED[0].shape[1], 203, 19)),
    "uncapped-dwell": ("removal", "capped_dwell", 20, 1, 2, "scipy's lsq_linear, which has no cap", lambda: peers.uncapped_dwell(*CAPPED[:2]), {1: 40},
                       lambda: limits.dwell(CAPPED[0].shape[1], 203, 19)),
    "ridges": ("ridges", "response", 4, 1, 3, "scikit-image's sato", lambda: peers.scikit_image_ridges(PICTURE), {1: 10},
               lambda: limits.ridges(PICTURE.size, REACHES)),
    "ridges-opencv": ("ridges", "response", 4, 3, args.rounds, "OpenCV's differences", lambda: peers.opencv_ridges(PICTURE), {1: 1},
                      lambda: limits.ridges(PICTURE.size, REACHES)),
    "skeleton": ("ridges", "skeleton_and_links", 20, 2, args.rounds, "scikit-image's skeletonize", lambda: peers.skeleton_and_links(KEPT), {1: 10},
                 lambda: limits.skeleton(PICTURE.size)),
}


def timed(call):
    """Wall and CPU seconds."""
    wall, cpu = time.perf_counter(), time.process_time()
    call()
    return time.perf_counter() - wall, time.process_time() - cpu


def in_turn(work):
    """Fastest wall, median wall and median CPU seconds, of ours and of theirs."""
    bench, name, samples, peer_samples, rounds, _, peer, _, _ = WORK[work]
    path = ours.program(PACKAGES[bench], bench)
    own, other = [], []
    for _ in range(rounds):
        own.append(ours.times(path, name, args.threads, samples))
        # Once unmeasured: while ours runs, the machine may take an idle process' memory away.
        peer()
        other.extend(timed(peer) for _ in range(peer_samples))
    fastest, median, cpu = zip(*own)
    wall, peer_cpu = zip(*other)
    middle = statistics.median
    return (min(fastest), middle(median), middle(cpu)), (min(wall), middle(wall), middle(peer_cpu))


def shown(fastest, median, cpu):
    return f"{ms(median)} ({ms(fastest)}), {ms(cpu)}"


def ms(seconds):
    return f"{seconds * 1e3:.3g} ms" if seconds < 1 else f"{seconds:.2f} s"


def agreement():
    """What both computed, where it can be compared."""
    out, _ = ours.run(ours.program("lastmicron-numerics", "field"), "embedding::Matern32", args.threads, 1)
    mean, sd = peers.scikit_learn(READ[300], FINE)
    node = 60 * 151 + 75
    smallest = np.concatenate([peers.numpy_draws(READ[60], COARSE, 10_000, seed) for seed in range(4)])
    quantiles = " ".join(f"{q:.3f}" for q in np.quantile(smallest, [0.01, 0.05, 0.5]))
    print(f"\nours: {out.splitlines()[0]}")
    print(f"peers: n = 300 at (750, 600): {mean[node]:.6f} {sd[node]:.6f}; smallest, 40,000 draws: {quantiles}")


def agreement_of_removal():
    """The map and the dwell, by both."""
    out, _ = ours.run(ours.program("lastmicron-numerics", "removal"), "superposition", args.threads, 1)
    depth = peers.fft_convolution(*PASSES)
    influence, target, cap = CAPPED
    dwell = peers.clarabel_dwell(*CAPPED)
    reached = influence @ dwell
    print(f"\nours: {out.splitlines()[0]}")
    print(f"peers: map: mean {depth.mean():.9f}, largest {depth.max():.9f}, at (300, 200) {depth[200, 300]:.9f}; dwell: objective "
          f"{np.sum((reached - target)**2) / 2:.8f}, over cap {(reached - cap).max():.1e}, least {dwell.min():.1e}, total {dwell.sum():.4f} s")


def agreement_of_ridges():
    """The response and the skeleton, by both, and ours beside the true lengths."""
    out, _ = ours.run(ours.program("lastmicron-raster", "ridges"), "skeleton_and_links", args.threads, 1)
    pixels, length = peers.skeleton_and_links(KEPT)
    print(f"\nours: {out.splitlines()[0]}")
    print(f"peers: response: greatest {RESPONSE.max():.6f}, mean {RESPONSE.mean(dtype=float):.6f}; kept {np.count_nonzero(KEPT)}; skeleton {pixels}, links {length:.0f} px")


print(f"\n{args.threads} thread(s); load average before: {os.getloadavg()[0]:.2f}\n")
print("| work | ours: wall median (fastest), CPU | peer: the same | faster by wall (by fastest), by CPU | wanted | floor on one core | our CPU over it |")
print("|---|---|---|---|---|---|---|")
for work in args.work:
    own, other = in_turn(work)
    wanted, floor = WORK[work][7].get(args.threads), WORK[work][8]()
    faster = [theirs / mine for theirs, mine in zip(other, own)]
    print(f"| {work} | {shown(*own)} | {WORK[work][5]} {shown(*other)} | {faster[1]:.1f} ({faster[0]:.1f}), {faster[2]:.1f} | "
          f"{wanted or '-'} | {ms(floor)} | {own[2] / floor:.1f} |")
    sys.stdout.flush()
print(f"\nload average after: {os.getloadavg()[0]:.2f}")
if args.threads == 1 and "field" in args.work:
    agreement()
if args.threads == 1 and "dwell" in args.work:
    agreement_of_removal()
if args.threads == 1 and "skeleton" in args.work:
    agreement_of_ridges()
