# SPDX-License-Identifier: Apache-2.0
"""What happens to finished files: cut, zeroed, bits turned over, a part twice, one behind the other."""

import random


def harm(case, path, later):
    """Does to the file what the truth says; `later` makes another recording to append."""
    told = case["damage"]
    kind, dice = told["kind"], random.Random(case["seed"])
    data = bytearray(path.read_bytes())
    size = len(data)
    if kind == "cut":
        del data[round(size * told["share"]):]
    elif kind == "zeroed":
        first = size * 45 // 100
        data[first:first + size // 12] = bytes(size // 12)
    elif kind == "flipped":
        for _ in range(max(8, size // 4000)):
            data[dice.randrange(size * 3 // 10, size * 7 // 10)] ^= 1 << dice.randrange(8)
    elif kind == "part twice":
        unit = 188 if path.suffix == ".ts" else 1
        first = size * 4 // 10 // unit * unit
        long = size // 10 // unit * unit
        data[first + long:first + long] = data[first:first + long]
    elif kind in ("appended", "later part"):
        data += later()
    path.write_bytes(data)
