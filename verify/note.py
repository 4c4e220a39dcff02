"""Signed notes and the keys that sign them, as docs/record.md has them."""

import base64
import hashlib

import ed25519

ROTATION = "lastmicron/key-rotation"


def unpacked(text):
    """The bytes of base64 (RFC 4648, section 4), in its one way of being written."""
    found = base64.b64decode(text, validate=True)
    if base64.b64encode(found).decode() != text:
        raise ValueError("base64 that is written in another way")
    return found


def key(text):
    """Name, id and bytes of a public key."""
    name, number, encoded = text.split("+", 2)
    algorithm_and_key = unpacked(encoded)
    if len(algorithm_and_key) != 33 or algorithm_and_key[0] != 1:
        raise ValueError("a key for another algorithm than Ed25519, which this program does not know")
    key_id = hashlib.sha256(name.encode() + b"\n" + algorithm_and_key).digest()[:4]
    if key_id.hex() != number:
        raise ValueError("a key that was not copied whole")
    return name, key_id, algorithm_and_key[1:]


def opened(note, keys):
    """The lines of a note, and the name of the last of these keys that signed it."""
    text, mark, signatures = note.rpartition("\n\n")
    text += "\n"
    signer = None
    if not mark or not signatures.endswith("\n"):
        raise ValueError("no signed note: no empty line before its signatures, or no line feed at its end")
    for line in signatures[:-1].split("\n"):
        dash, name, encoded = line.split(" ")
        signature = unpacked(encoded)
        for known_name, key_id, key_bytes in keys:
            if (dash, name, signature[:4]) == ("\u2014", known_name, key_id):
                if not ed25519.has_signed(key_bytes, text.encode(), signature[4:]):
                    raise ValueError(f"a signature of {name} that is not of this text")
                signer = name
    if signer is None:
        raise ValueError("no signature by a key that is known")
    return text[:-1].split("\n"), signer


def keys(text):
    """The keys of a file: the first line, then each statement by which a key took the place of the one before."""
    first, *statements = text.split(ROTATION + "\n")
    found = [key(first.strip())]
    for statement in statements:
        old, new = [key(line) for line in statement.split("\n")[:2]]
        if old != found[-1]:
            raise ValueError("a key that takes the place of another than the one before it")
        for signer in (old, new):
            opened(ROTATION + "\n" + statement, [signer])
        found.append(new)
    return found
