"""Signatures of Ed25519 (RFC 8032, section 5.1) checked, with whole numbers and SHA-512 alone.

Written to be read. It is slow (a tenth of a second), and handles no secret.
"""

import hashlib

P = 2**255 - 19  # coordinates are numbers modulo P
ORDER = 2**252 + 27742317777372353535851937790883648493  # so many times the base point is the neutral point
D = -121665 * pow(121666, -1, P) % P  # points have -x^2 + y^2 = 1 + D x^2 y^2
ROOT_OF_MINUS_ONE = pow(2, (P - 1) // 4, P)


def decoded(encoded):
    """The point of 32 bytes: y, least byte first, with the lowest bit of x on top. None where there is no such point."""
    number = int.from_bytes(encoded, "little")
    x_is_odd, y = number >> 255, number % 2**255
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    if x * x % P != square:
        x = x * ROOT_OF_MINUS_ONE % P
    if len(encoded) != 32 or y >= P or x * x % P != square or (x == 0 and x_is_odd):
        return None
    return (x if x % 2 == x_is_odd else P - x), y


def added(a, b):
    """The sum of two points: one rule for all of them, a point and itself too."""
    (ax, ay), (bx, by) = a, b
    product = D * ax * bx * ay * by
    return (ax * by + bx * ay) * pow(1 + product, -1, P) % P, (ay * by + ax * bx) * pow(1 - product, -1, P) % P


def times(number, point):
    """A point added to itself so many times."""
    total = (0, 1)
    while number:
        if number % 2:
            total = added(total, point)
        point, number = added(point, point), number // 2
    return total


# The base point has y = 4/5 and an even x.
BASE = decoded((4 * pow(5, -1, P) % P).to_bytes(32, "little"))


def has_signed(key, text, signature):
    """Whether 64 bytes are the signature of `text` by the key of these 32 bytes."""
    a, r, s = decoded(key), decoded(signature[:32]), int.from_bytes(signature[32:], "little")
    if len(signature) != 64 or a is None or r is None or s >= ORDER:
        return False
    k = int.from_bytes(hashlib.sha512(signature[:32] + key + text).digest(), "little") % ORDER
    return times(s, BASE) == added(r, times(k, a))
