"""Sliding speed under a pad that orbits and spins, by mpmath in 25 digits: the angle of the orbit is integrated over, no elliptic integral is used.

Prints motion-reference.csv, one row a place: what,orbit_radius_mm,orbits_per_minute,spin_rpm,pad_radius_mm,radius_mm,covered,mean_m_s,rms_m_s
  place  of the panel, that far from the pad's mean centre: share of the orbit for which the pad covers it, speed while it does
  pad    mean over the face of the pad (radius_mm is 0): the mean of its points' means, and the root of the mean square
"""
import mpmath as mp

mp.mp.dps = 25


def over_angles(a, b, sign, half):
    square = lambda t: max(mp.mpf(0), a * a + b * b + 2 * sign * a * b * mp.cos(t))
    parts = [0, half / 2, half]
    return mp.quad(lambda t: mp.sqrt(square(t)), parts) / half, mp.sqrt(mp.quad(square, parts) / half)


def place(e, orbit, spin, pad, radius):
    """Vectors (orbit - spin) c and spin P at the angles t of the orbit from the place's own side."""
    if radius <= pad - e:
        half = mp.pi
    elif radius >= pad + e:
        return mp.mpf(0), mp.mpf(0), mp.mpf(0)
    else:
        half = mp.acos((radius**2 + e**2 - pad**2) / (2 * radius * e))
    a, b = abs(orbit - spin) * e, abs(spin) * radius
    sign = 1 if (orbit - spin) * spin >= 0 else -1
    return half / mp.pi, *over_angles(a, b, sign, half)


def pad_mean(e, orbit, spin, pad):
    a, b = orbit * e, abs(spin)
    knee = min(pad, a / b) if b else pad
    cuts = sorted({mp.mpf(0), knee, pad})
    mean = mp.quad(lambda r: r * over_angles(a, b * r, 1, mp.pi)[0], cuts) * 2 / pad**2
    return mean, mp.sqrt(mp.quad(lambda r: r * (a * a + (b * r) ** 2), [0, pad]) * 2 / pad**2)


def main():
    print("# Made by checks/reference/motion.py, which says how. Provenance: [C].")
    print("what,orbit_radius_mm,orbits_per_minute,spin_rpm,pad_radius_mm,radius_mm,covered,mean_m_s,rms_m_s")
    machines = [("7.5", 4800, 300, "62.5"), ("7.5", 4800, -300, "62.5"), ("4", 3600, 900, "37.5"), ("10.5", 2400, -150, "70"),
                ("7.5", 4800, 0, "62.5"), ("0", 0, 1500, "75"), ("3", 600, 600, "15"), ("6", 500, 1400, "25")]
    for e_mm, per_minute, rpm, pad_mm in machines:
        e, pad = mp.mpf(e_mm) / 1000, mp.mpf(pad_mm) / 1000
        orbit, spin = 2 * mp.pi * per_minute / 60, 2 * mp.pi * rpm / mp.mpf(60)
        row = lambda what, radius_mm, values: print(
            f"{what},{e_mm},{per_minute},{rpm},{pad_mm},{radius_mm}," + ",".join(repr(float(value)) for value in values))
        mp.mp.dps = 12  # twice integrated
        row("pad", 0, (1, *pad_mean(e, orbit, spin, pad)))
        mp.mp.dps = 25
        for share in ["0", "0.3", "0.7", "0.85", "0.95", "1", "1.05", "1.1", "1.2"]:
            radius_mm = mp.mpf(share) * mp.mpf(pad_mm)
            row("place", mp.nstr(radius_mm, 10), place(e, orbit, spin, pad, radius_mm / 1000))


if __name__ == "__main__":
    main()
