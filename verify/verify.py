"""Checks the record of a job without the program that wrote it. docs/record.md says what its bytes are; nothing but Python 3 is needed.

usage: verify.py RECORD [CHECKPOINT [KEYS]]

RECORD      record.jsonl, as a handover carries it, or a record that was exported
CHECKPOINT  what was signed: a number of entries and the root of their tree
KEYS        the workshop's public key, and the statements by which another took its place

Exit status 0: all of it is as it was written. 1: it is not, or can't be read; what is wrong first is said.
Without KEYS nobody's signature is checked. KEYS must come from elsewhere than RECORD: whoever wrote one anew could write both.
"""

import hashlib
import json
import sys

import note

ORIGIN = "lastmicron/record/"


def refuse(number):
    raise ValueError(f"{number} is no whole number")


def members(pairs):
    found = dict(pairs)
    if len(found) != len(pairs) or None in found.values():
        raise ValueError("a member that is null or there twice")
    return found


def read(line):
    """A line's JSON, as records have it."""
    return json.loads(line, object_pairs_hook=members, parse_float=refuse, parse_constant=refuse)


def canonical(value):
    """RFC 8785, for what an event has: whole numbers, and members with names in ASCII."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode()


def sha256(data):
    return hashlib.sha256(data).digest()


def root(leaves):
    """RFC 9162, section 2.1.1, of hashes of leaves."""
    if len(leaves) < 2:
        return leaves[0] if leaves else sha256(b"")
    half = 1 << (len(leaves) - 1).bit_length() - 1
    return sha256(b"\x01" + root(leaves[:half]) + root(leaves[half:]))


def entries(lines):
    """Each entry: one a line in its canonical form, or within the lines of an exported record."""
    heading = read(lines[0])
    if heading.get("format") != "lastmicron record":
        for line in lines:
            entry = read(line)
            if canonical(entry) != line:
                raise ValueError("its bytes are not canonical")
            yield entry
        return
    last = {"seq": 0}
    for line in map(read, lines[1:]):
        if "entry" in line:
            last = line["entry"]
            yield last
        elif sha256(note.unpacked(line["base64"])).hex() != line["kept"]:
            raise ValueError("what is kept beside the record is not what its hash says")
    if (last["seq"], last["hash"], last["event"]["job"]) != (heading["entries"], heading["hash"], heading["job"]):
        raise ValueError("the record does not end where its heading says")


def checked(lines):
    """The job of a record whose chain is whole, its last hash, and the hashes of its leaves."""
    job, previous, leaves, ids = None, "0" * 64, [], set()
    found = entries(lines)
    while True:
        seq = len(leaves) + 1
        try:
            entry = next(found, None)
            if entry is None:
                return job, previous, leaves
            event = entry["event"]
            job = job or event["job"]
            linked = {name: entry[name] for name in ("event", "previous", "received", "seq")}
            for is_wrong, what in [
                (entry.keys() != linked.keys() | {"hash"}, "it has other members than an entry has"),
                (type(entry["seq"]) is not int or entry["seq"] != seq, f"it has the number {entry['seq']}"),
                (event["job"] != job, f"it belongs to the job {event['job']}"),
                (entry["previous"] != previous, "it does not follow the entry before it: that one, or this one, was changed"),
                (sha256(canonical(linked)).hex() != entry["hash"], "its hash is not that of what it says: it was changed"),
                (event["id"] in ids, f"an event before it has the same id, {event['id']}"),
            ]:
                if is_wrong:
                    raise ValueError(what)
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            raise SystemExit(f"entry {seq} is not as it was written: {error}") from error
        previous = entry["hash"]
        ids.add(event["id"])
        leaves.append(sha256(b"\x00" + canonical(entry)))


def signed(checkpoint, keys, job, leaves):
    """Checks a record against what was signed of it, and says by whom."""
    if keys:
        lines, signer = note.opened(checkpoint, note.keys(keys))
    else:
        lines, signer = checkpoint.split("\n"), None
    origin, size, encoded = lines[:3]
    if origin != f"{ORIGIN}{job}" or size != str(int(size)):
        raise ValueError(f"it is of {origin}, and the record is of {ORIGIN}{job}")
    if int(size) > len(leaves):
        raise ValueError(f"{size} entries were signed, and there are {len(leaves)}: some were taken off the end")
    if root(leaves[: int(size)]) != note.unpacked(encoded):
        raise ValueError(f"the first {size} entries are not the ones that it is of")
    return f"the first {size} are those of the checkpoint, " + (f"signed by {signer}" if signer else "whose signature was not checked")


def main(paths):
    if not 1 <= len(paths) <= 3:
        raise SystemExit(__doc__)
    try:
        record, *others = [open(path, "rb").read() for path in paths]
        checkpoint, keys = [other.decode() for other in others] + [None] * (2 - len(others))
    except (OSError, ValueError) as error:
        raise SystemExit(f"can't be read: {error}") from error
    *lines, rest = record.split(b"\n")
    if rest or not lines:
        raise SystemExit("the record has no entries, or does not end with a line feed: it was cut short")
    job, last, leaves = checked(lines)
    print(f"{len(leaves)} entries of job {job}, each as it was written; the last has the hash {last}")
    print(f"root {root(leaves).hex()}")
    if checkpoint:
        try:
            print(signed(checkpoint, keys, job, leaves))
        except ValueError as error:
            raise SystemExit(f"the checkpoint: {error}") from error


if __name__ == "__main__":
    main(sys.argv[1:])
