# SPDX-License-Identifier: Apache-2.0
"""Records with the ffmpeg program while one fault is injected, and asks explain which it was, without
telling it:

    blind_trial.py PROGRAM [--runs 60] [--healthy 12] [--seed 1] [--only KIND] [--keep FOLDER]

Explain sees the recording and the log of the watch, no more. Prints one line for each run, and the
totals: how often the first-ranked cause was right, and whether every missing picture was found, by
the camera's own ledger and by ffprobe's count. Each run takes about half a minute."""

import argparse
import json
import os
import pathlib
import random
import resource
import subprocess
import sys
import tempfile
import time
import unittest

from faults import Unable
from recording_faults import KINDS, Trial


# Faults after which the camera's ledger may be whole; where any other lost nothing, "nothing lost" is right.
LOSE_NO_PICTURE = ("disk full", "file-size limit", "clock step", "none")


def present(file, rate):
    """Numbers of the pictures in the file, by ffprobe."""
    shown = subprocess.run(["ffprobe", "-v", "quiet", "-select_streams", "v:0", "-show_entries",
                            "packet=pts_time", "-of", "csv=p=0", str(file)], check=False,
                           capture_output=True, text=True).stdout
    times = [line.strip(",") for line in shown.split()]
    return sorted({round(float(time) * rate) for time in times if time not in ("", "N/A")})


def counts(trial, jumps):
    """Missing pictures between the first and the last in the file: by ffprobe, by the camera."""
    there = present(trial.file(), trial.RATE)
    ledger = json.loads((trial.kept / "ledger.json").read_text("ascii"))
    if not there:
        return None, None
    first, last = there[0], there[-1]
    taken = set(ledger["taken"])
    if jumps:  # stamps count other pictures than the camera, and what is worked out from them is void
        by_camera = len(set(range(min(taken), max(taken) + 1)) - taken)
        return by_camera, by_camera
    by_camera = sum(number not in taken for number in range(first, last + 1))
    return last - first + 1 - len(there), by_camera


def explain(trial):
    asked = [str(trial.program), "explain", str(trial.file()), "--log", str(trial.kept / "log"),
             "--json", "--quiet", "--page", str(trial.kept / "why.html")]
    done = subprocess.run(asked, check=False, capture_output=True, text=True)
    (trial.kept / "explain.json").write_text(done.stdout, encoding="utf-8")
    if done.returncode not in (0, 4, 5):
        raise RuntimeError("explain failed: " + done.stderr[-300:])
    return json.loads(done.stdout)


def found(answer):
    """Missing pictures by explain; holes that a step of the clock explains miss nothing."""
    return sum(moment["missing"] for moment in answer["moments"] if moment["cause"] != "clock step")


def one(program, kind, folder, seed, need_cpus):
    place = folder / f"run-{seed}"
    place.mkdir(parents=True)
    trial = Trial(program, place, random.Random(seed), need_cpus)
    with trial.stack:
        KINDS[kind][0](trial)
        trial.record()
        answer = explain(trial)
        probed, camera = counts(trial, kind == "clock step")
    first = answer["first_cause"] or "nothing lost"
    without_effect = camera == 0 and kind not in LOSE_NO_PICTURE
    right = first in (["nothing lost"] if without_effect else KINDS[kind][1])
    same = found(answer) == probed == camera
    print(f"{seed:6} {kind:20} {first:36} {'right' if right else 'WRONG':6} "
          f"found {found(answer)}, ffprobe {probed}, camera {camera}{'' if same else ' DIFFER'}  "
          f"[{trial.told}{', without effect' if without_effect else ''}] "
          f"{answer['recordings'][0]['place']['by']}", flush=True)
    return right, same


def need(program, folder):
    """CPUs that the recorder's encoder uses in real time: its time for the ring of two seconds."""
    place = folder / "need"
    place.mkdir(parents=True)
    trial = Trial(program, place, random.Random(0), 1)
    ring = trial.pictures()
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-f", "rawvideo", "-video_size", trial.RASTER,
                    "-pixel_format", "yuv420p", "-framerate", str(trial.RATE), "-i", str(ring),
                    *trial.encoder_options(), "-f", "null", "-"], check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return used / 2


def plan(asked):
    """Kinds by turns, healthy runs among them."""
    if asked.only:
        return [asked.only] * asked.runs
    faulty = [kind for kind in KINDS if kind != "none"]
    kinds = ["none"] * min(asked.healthy, asked.runs)
    kinds += [faulty[i % len(faulty)] for i in range(asked.runs - len(kinds))]
    random.Random(asked.seed).shuffle(kinds)
    return kinds


class BlindTrial(unittest.TestCase):
    def test_each_kind_once_and_healthy_runs(self):
        self.assertEqual(main(["--runs", str(len(KINDS) + 1), "--healthy", "2"]), 0)


def main(arguments=None):
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("program", type=pathlib.Path, nargs="?",
                        default=os.environ.get("RIGPROOF_PROGRAM"))
    parser.add_argument("--runs", type=int, default=60)
    parser.add_argument("--healthy", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=list(KINDS))
    parser.add_argument("--keep", type=pathlib.Path)
    asked = parser.parse_args(arguments)
    folder = asked.keep or pathlib.Path(tempfile.mkdtemp(prefix="rigproof-trial-"))
    program = asked.program.resolve()
    need_cpus = need(program, folder / f"{time.time_ns()}")
    print(f"the recorder needs {need_cpus:.2f} CPUs", flush=True)
    totals = {}
    for number, kind in enumerate(plan(asked)):
        seed = asked.seed * 1000 + number
        try:
            right, same = one(program, kind, folder, seed, need_cpus)
        except Unable as reason:
            print(f"{seed:6} {kind:20} SKIPPED: {reason}", flush=True)
            continue
        except (RuntimeError, OSError, subprocess.SubprocessError, ValueError) as reason:
            print(f"{seed:6} {kind:20} FAILED: {reason}", flush=True)
            right, same = False, False
        runs, rights, sames = totals.get(kind, (0, 0, 0))
        totals[kind] = (runs + 1, rights + right, sames + same)
    print("\n| injected | runs | first-ranked right | missing found |\n| --- | --- | --- | --- |")
    for kind, (runs, rights, sames) in totals.items():
        print(f"| {kind} | {runs} | {rights} | {sames} |")
    runs, rights, sames = (sum(each) for each in zip(*totals.values())) if totals else (0, 0, 0)
    print(f"\nright: {rights} of {runs}; every missing picture found: {sames} of {runs}\n"
          f"results in {folder}")
    return 0 if runs > 0 and rights >= 0.9 * runs and sames == runs else 1


if __name__ == "__main__":
    sys.exit(main())
