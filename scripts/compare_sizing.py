#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Holds what `size` says against rehearsals of it.

A base production is rehearsed under a CPU quota; of its result `size` is asked how many sources of
a kind fit, often of another raster, rate or effort than any that was rehearsed. The number that it
gives is then rehearsed under the same quota: one fewer must be carried, and two more must not
(right within one source). The CPU time that it predicts is set against what the rehearsal used.
Needs root and a control group for the CPU. Takes about a minute a case: no call need do all.

Usage: scripts/compare_sizing.py PROGRAM [--cases 1,3,5] [--seconds S]
"""

import argparse
import json
import pathlib
import subprocess
import sys
import tempfile

sys.path.append(str(pathlib.Path(__file__).parent.parent / "tests" / "scenario"))
import faults  # noqa: E402  pylint: disable=wrong-import-position

MOST_SOURCES = 16  # of a profile
KBPS = 2000
# CPUs of the quota (0: none), raster and effort of the base's sources and isos, what is added.
CASES = (
    (0.75, "640x360", "least", "like:Camera 1"),
    (0.75, "640x360", "least", "1280x720 25 usb nv12 iso=2000"),
    (1.00, "640x360", "low", "1280x720 25 usb nv12 iso=2000"),
    (1.00, "1280x720", "least", "640x360 25 usb nv12 iso=2000"),
    (1.00, "640x360", "least", "640x360 50 usb nv12 iso=2000"),
    (1.25, "640x360", "low", "960x540 25 usb nv12 iso=2000"),
    (1.25, "640x360", "least", "1280x720 25 usb yuyv422 iso=2000"),
    (1.50, "1280x720", "least", "1920x1080 25 usb nv12 iso=4000"),
    (1.50, "960x540", "low", "like:Camera 1"),
    (0.00, "1280x720", "low", "1280x720 25 usb nv12"),
)


def profile(raster, effort):
    encode = {"codec": "h264", "encoder": "software", "effort": effort, "container": "mkv"}
    return {
        "format": "rigproof-profile", "version": 1, "name": "Invented sizing base",
        "duration_minutes": 10, "program": {"raster": "640x360", "rate": 25},
        "sources": [{"name": "Camera", "count": 2, "arrives_by": "usb", "raster": raster,
                     "rate": 25, "pixel_format": "nv12", "content": "talk"}],
        "outputs": [{"name": "Recording", "kind": "recording", "takes": "program",
                     "bitrate_kbps": KBPS, **encode},
                    {"name": "Iso", "kind": "iso", "takes": "every source",
                     "bitrate_kbps": KBPS, **encode}],
        "audio": None, "multiview": None, "displays": 1}


class Bench:
    """Commands of the program, inside a control group or not."""

    def __init__(self, program, folder, quota, seconds):
        self.program = program
        self.folder = folder
        self.seconds = str(seconds)
        self.group = faults.Group("cpu") if quota else None
        if self.group:
            faults.set_cpu_quota(self.group, quota)

    def run(self, *arguments):
        before = self.group.entering() if self.group else []
        done = subprocess.run([*before, self.program, *map(str, arguments), "--json", "--quiet"],
                              capture_output=True, text=True, check=False)
        if done.returncode in (1, 2):
            raise RuntimeError(done.stderr.strip())
        return done.stdout

    def rehearsed(self, path):
        return self.run("rehearse", path, "--seconds", self.seconds, "--record-to", self.folder)

    def sized(self, result, wish, count, confirm=False):
        more = ["--confirm", "--seconds", self.seconds, "--record-to", self.folder]
        return json.loads(self.run("size", result, "--add", f"{count}x {wish}",
                                   *(more if confirm else [])))

    def close(self):
        if self.group:
            self.group.remove()


def fits(bench, result, wish, most):
    """The most of it that the prediction has room for."""
    number = 0
    while number < most and bench.sized(result, wish, number + 1)["verdict"] != "short":
        number += 1
    return number


def try_case(program, case, seconds):
    """Predicted number, whether it is right within one, and how far CPU predictions are off."""
    quota, raster, effort, wish = case
    with tempfile.TemporaryDirectory(prefix="rigproof-sizing-") as name:
        folder = pathlib.Path(name)
        bench = Bench(program, folder, quota, seconds)
        try:
            path = folder / "base.json"
            path.write_text(json.dumps(profile(raster, effort)), encoding="utf-8")
            result = folder / "result.json"
            result.write_text(bench.rehearsed(path), encoding="utf-8")
            most = MOST_SOURCES - 2
            number = fits(bench, result, wish, most)
            checks = {}
            for count in (number - 1, number + 2):
                if 1 <= count <= most:
                    checks[count] = bench.sized(result, wish, count, confirm=True)["check"]
        finally:
            bench.close()
    low = checks.get(number - 1)
    high = checks.get(number + 2)
    right = (low is None or low["carried"]) and (high is None or not high["carried"])
    return number, right, checks


def main():
    parser = argparse.ArgumentParser(description="sizing against rehearsals")
    parser.add_argument("program")
    parser.add_argument("--cases", default=",".join(str(i + 1) for i in range(len(CASES))))
    parser.add_argument("--seconds", type=int, default=8)
    asked = parser.parse_args()
    good = tried = 0
    print("| quota | base | added | predicted | right within one | CPU predicted / used (carried) |")
    print("| --- | --- | --- | --- | --- | --- |")
    for number in (int(one) - 1 for one in asked.cases.split(",")):
        quota, raster, effort, wish = CASES[number]
        try:
            predicted, right, checks = try_case(asked.program, CASES[number], asked.seconds)
        except faults.Unable as reason:
            sys.exit(f"SKIPPED: {reason}")
        tried += 1
        good += right
        cpus = "; ".join(
            f"{count} more: {check['predicted_cpus']:.2f} / {check['measured_cpus']:.2f} "
            f"({'yes' if check['carried'] else 'no'})" for count, check in sorted(checks.items()))
        limit = f"{quota:g} CPUs" if quota else "none"
        print(f"| {limit} | 2 x {raster}, {effort} | {wish} | {predicted} "
              f"| {'yes' if right else 'no'} | {cpus} |", flush=True)
    print(f"\n{good} of {tried} right within one source")
    sys.exit(0 if good >= 0.9 * tried else 1)


if __name__ == "__main__":
    main()
