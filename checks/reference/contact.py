"""Contact of a round pad as an elastic foundation, by mpmath in 20 digits: ring by ring (closed over the angle, integrated over the radius), where the
program goes chord by chord.

Prints contact-reference.csv: edge,surface,parameter,peak_over_flat,half_width_mm,indent_mm for a pad of 150 mm with 2.4e6 Pa/m under 50 N
  edge     upright, or tapered: stiffness 1 / (1 - (r - 0.75) / 0.25 / 2) from 0.75 of the radius
  surface  overhang (parameter mm, self-aligning), rigid (the same, kept square), ridge and dome (radius in mm). Upright ridges only where the contact
           is wider than a third of the radius: below, the program takes the strip's closed form.
"""
import mpmath as mp

mp.mp.dps = 20

RADIUS_MM, STIFFNESS_PA_PER_MM, LOAD_N = mp.mpf(75), mp.mpf(2400), mp.mpf(50)
FLAT_PA = LOAD_N / (mp.pi * (RADIUS_MM / 1000) ** 2)
FLAT_MM = FLAT_PA / STIFFNESS_PA_PER_MM
RIM = mp.mpf("0.75")


def stiffness(edge, r):
    return 1 if edge == "upright" or r <= RIM else 1 / (1 - (r - RIM) / (1 - RIM) / 2)


def rings(edge, ring, cuts):
    """Integral over the face of a function whose integral over the angle is ring(r)."""
    inside = sorted({mp.mpf(0), RIM, mp.mpf(1), *(cut for cut in map(abs, cuts) if 0 < cut < 1)})
    return mp.quad(lambda r: stiffness(edge, r) * r * ring(r), inside)


def angle(r, x):
    """Angle from the x axis at which a ring passes x: 0 inside of it, pi beyond the other side."""
    return mp.acos(max(-1, min(1, x / r))) if r else mp.pi / 2


def moments(edge, start, end):
    """Stiffness moments 0, 1 and 2 of the face between two chords."""
    parts = [lambda r, t: t, lambda r, t: r * mp.sin(t), lambda r, t: r * r * (t / 2 + mp.sin(2 * t) / 4)]
    return [rings(edge, lambda r: 2 * (part(r, angle(r, start)) - part(r, angle(r, end))), [start, end]) for part in parts]


def overhang(edge, share):
    end = 1 - share
    m0, m1, m2 = moments(edge, mp.mpf(-1), end)
    scale = mp.pi / (m0 * m2 - m1**2)
    depth, tilt, start = scale * m2, -scale * m1, mp.mpf(-1)
    if depth - tilt < 0:
        moment = lambda x: (lambda m: m[2] - x * m[1])(moments(edge, x, end))
        start = mp.findroot(moment, (mp.mpf(-1), mp.mpf(0)), solver="anderson", tol=1e-25)
        m0, m1, _ = moments(edge, start, end)
        tilt = mp.pi / (m1 - start * m0)
        depth = -tilt * start
    return start, end, depth + tilt * end


def ridge_ring(square, r):
    reach = mp.sqrt(square)
    if r <= reach:
        return 2 * mp.pi * square - mp.pi * r * r
    t = mp.pi / 2 - mp.acos(reach / r)
    return 4 * (square * t - r * r * (t / 2 - mp.sin(2 * t) / 4))


def curve(edge, radius_mm, ring):
    """Squeeze square - x^2 (in units of what the panel falls away by at the pad's rim) that carries the load."""
    fall = RADIUS_MM**2 / (2 * radius_mm)
    target = mp.pi * FLAT_MM / fall
    missing = lambda square: rings(edge, lambda r: ring(square, r), [mp.sqrt(square)]) - target
    high = mp.mpf(1)
    while missing(high) < 0:
        high *= 2
    square = mp.findroot(missing, (high / 1000, high), solver="anderson", tol=1e-25)
    return square, fall


def main():
    print("# Made by checks/reference/contact.py, which says how. Provenance: [C].")
    print("edge,surface,parameter,peak_over_flat,half_width_mm,indent_mm")
    for edge in ["upright", "tapered"]:
        rim = stiffness(edge, mp.mpf(1))
        row = lambda surface, parameter, values: print(f"{edge},{surface},{parameter}," + ",".join(repr(float(value)) for value in values))
        for mm in ["0", "3", "15", "30", "37.5", "45", "60", "70"]:
            share = mp.mpf(mm) / RADIUS_MM
            start, end, deepest = overhang(edge, share)
            row("overhang", mm, (rim * deepest, (end - start) / 2 * RADIUS_MM, deepest * FLAT_MM))
            even = mp.pi / moments(edge, mp.mpf(-1), 1 - share)[0]
            row("rigid", mm, (rim * even, (2 - share) / 2 * RADIUS_MM, even * FLAT_MM))
        for mm in ["5", "20", "100", "400", "1500", "6000"]:
            square, fall = curve(edge, mp.mpf(mm), ridge_ring)
            if edge == "tapered" or square > mp.mpf(1) / 9:
                row("ridge", mm, (rim * square * fall / FLAT_MM, min(1, mp.sqrt(square)) * RADIUS_MM, square * fall))
        for mm in ["20", "100", "500", "2000", "10000"]:
            square, fall = curve(edge, mp.mpf(mm), lambda square, r: 2 * mp.pi * max(0, square - r * r))
            highest = max(stiffness(edge, mp.mpf(i) / 4000) * (square - (mp.mpf(i) / 4000) ** 2) for i in range(4001))
            row("dome", mm, (highest * fall / FLAT_MM, min(1, mp.sqrt(square)) * RADIUS_MM, square * fall))


if __name__ == "__main__":
    main()
