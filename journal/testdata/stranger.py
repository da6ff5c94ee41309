"""Writes a small journal from doc/journal-format.md alone, with Python's json,
hashlib and the `cryptography` package, sharing nothing with the Go code.

    python3 stranger.py > stranger.jsonl

Keys: the secrets of RFC 8032, section 7.1, tests 1 and 2 (devices) and 3
(office). Everything else is invented. Python sorts keys by code points; the
keys here are all below U+D800, for which that is the same order.
"""
import hashlib
import json
import sys

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

SECRETS = ["9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
           "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
           "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7"]


def canonical(value):
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def line_hash(line):
    return hashlib.sha256(b"\x00" + line).digest()


def root(leaves):
    if not leaves:
        return hashlib.sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    k = 1
    while 2 * k < len(leaves):
        k *= 2
    return hashlib.sha256(b"\x01" + root(leaves[:k]) + root(leaves[k:])).digest()


def public(key):
    return key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)


def signed(what, value, key):
    sig = key.sign(b"sapwell journal 1 " + what.encode() + b"\n" + canonical(value)).hex()
    return canonical({what: value, "sig": sig})


def entry(key, seq, prev, ident, time, kind, body):
    e = {"body": body, "device": hashlib.sha256(public(key)).hexdigest(), "id": ident,
         "kind": kind, "seq": seq, "time": time, "v": 1}
    if seq == 1:
        e["key"] = public(key).hex()
    else:
        e["prev"] = prev.hex()
    return signed("entry", e, key)


def main():
    ann, bob, office = (Ed25519PrivateKey.from_private_bytes(bytes.fromhex(s)) for s in SECRETS)
    bodies = [(ann, {}), (ann, {"z": [1, -2, 9007199254740991], "a": "é € \u2028 \x7f </b> \\ \" \n \x01"}),
              (bob, {"nested": {"b": None, "a": [True, False, {}]}}), (ann, {"": "x" * 100}), (bob, {"n": 0})]
    out, receipts, last = [], [], {}
    for i, (key, body) in enumerate(bodies):
        seq, prev = last.get(id(key), (0, b""))
        line = entry(key, seq + 1, prev, "018bcfe5-6800-7%03x-8000-%012x" % (i, i), 1700000000000 + i,
                     "note" if i % 2 else "größe", body)
        last[id(key)] = (seq + 1, line_hash(line))
        out.append(line)
        receipts.append(canonical({"receipt": {"entry": line_hash(line).hex(), "n": i, "time": 1700000001000, "v": 1}}))
        out.append(receipts[-1])
        if i in (2, 4):
            h = {"key": public(office).hex(), "root": root([line_hash(r) for r in receipts]).hex(),
                 "size": len(receipts), "time": 1700000002000, "v": 1}
            out.append(signed("head", h, office))
    sys.stdout.buffer.write(b"".join(line + b"\n" for line in out))


main()
