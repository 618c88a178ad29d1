# SPDX-License-Identifier: Apache-2.0
"""Injects every fault several times, and prints what was named for each:

    fault_trial.py PROGRAM [--repeats 3] [--healthy 6] [--only WORD] [--keep FOLDER]

A table of faults against named causes goes to standard output; each result.json is kept."""

import argparse
import pathlib
import tempfile
import collections
import json

import faults


def one(program, name, inject, folder, number):
    place = folder / f"{name.replace(' ', '-')}-{number}"
    place.mkdir(parents=True)
    try:
        result = inject(program, place)
    except faults.Unable as reason:
        print(f"{name:26} SKIPPED: {reason}", flush=True)
        return None
    except (RuntimeError, OSError) as reason:
        print(f"{name:26} FAILED: {reason}", flush=True)
        return "failed"
    (place / "result.json").write_text(json.dumps(result), encoding="utf-8")
    cause, frames = faults.named(result)
    print(f"{name:26} {cause:32} {frames}", flush=True)
    return cause


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("program", type=pathlib.Path)
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--healthy", type=int, default=6)
    parser.add_argument("--only", default="")
    parser.add_argument("--keep", type=pathlib.Path)
    asked = parser.parse_args()
    folder = asked.keep or pathlib.Path(tempfile.mkdtemp(prefix="rigproof-faults-"))
    table = {}
    right = total = 0
    for name, (inject, expected) in faults.FAULTS.items():
        if asked.only not in name:
            continue
        named = [one(asked.program.resolve(), name, inject, folder, i)
                 for i in range(asked.repeats)]
        named = [cause for cause in named if cause is not None]
        table[name] = collections.Counter(named)
        right += sum(cause in expected for cause in named)
        total += len(named)
    invented = 0
    if asked.only in "healthy":
        for i in range(asked.healthy):
            cause = one(asked.program.resolve(), "healthy", faults.healthy, folder, i)
            table.setdefault("healthy", collections.Counter())[cause] += 1
            invented += cause not in ("nothing lost", "not known")
    print("\n| injected | named |\n| --- | --- |")
    for name, causes in table.items():
        print(f"| {name} | " + ", ".join(f"{cause} {count}" for cause, count in
                                         causes.most_common()) + " |")
    if total:
        print(f"\nright: {right} of {total} ({100 * right / total:.0f} %); "
              f"causes invented on healthy runs: {invented}")
    print(f"results in {folder}")


if __name__ == "__main__":
    main()
