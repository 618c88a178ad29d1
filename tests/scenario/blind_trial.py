# SPDX-License-Identifier: Apache-2.0
"""Records with one of many writers while one fault is injected, and asks explain which it was, without
telling it:

    blind_trial.py PROGRAM [--runs 60] [--healthy 12] [--seed 1] [--only KIND] [--writer WRITER]
                   [--beside SHARE] [--keep FOLDER] [--at-most N]

Explain sees the recording and the log of the watch, no more. Prints one line for each run, and the
totals: how often the first-ranked cause was right, whether every missing frame was found, by the
ledger of what the encoder got and by ffprobe's count, and how often a cause was invented where nothing
was lost. Each run takes about half a minute. With --keep, runs that FOLDER holds are not done again."""

import argparse
import functools
import json
import os
import pathlib
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import unittest

from faults import Unable
from other_load import beside
from recording_faults import KINDS, unfit
from recording_judge import judge
from recording_trial import Trial
from recording_writers import WRITERS
from trial_tables import line_of, print_totals

NEED_SECONDS = 5


def need(program, folder, writer):
    """CPUs that a writer uses in real time; a trial's camera, nothing else."""
    place = folder / f"need-{writer.name.replace(' ', '-')}"
    known = place / "cpus.json"
    if known.exists():
        return json.loads(known.read_text("ascii"))
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir(parents=True)
    trial = Trial(program, place, random.Random(0), writer, None)
    trial.SECONDS = NEED_SECONDS
    trial.let_others_in()
    take, give = os.pipe()
    with trial.stack:
        camera = trial.begin_camera(give, os.environ)
        os.close(give)
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        trial.begin_recorder(take)
        os.close(take)
        trial.recorder.wait(timeout=60)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        camera.wait(timeout=60)
    cpus = (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime) / NEED_SECONDS
    known.write_text(json.dumps(cpus), encoding="ascii")
    return cpus


def one(asked, folder, seed, kind, writer):
    """One run; its record is kept beside its folder when all is done."""
    place = folder / f"run-{seed}"
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir(parents=True)
    known = {"seed": seed, "kind": kind, "writer": writer, "beside": asked.beside}
    trial = Trial(asked.program, place, random.Random(seed), WRITERS[writer],
                  functools.partial(need, asked.program, folder))
    try:
        with trial.stack:
            KINDS[kind].inject(trial)
            with beside(asked.beside):
                trial.record()
            record = known | judge(trial, kind, asked.beside) | {"told": trial.told}
    except Unable as reason:
        return known | {"skipped": str(reason)}
    except (RuntimeError, OSError, subprocess.SubprocessError, ValueError) as reason:
        record = known | {"failed": str(reason), "told": trial.told, "right": False, "same": False,
                          "invented": False}
    path = folder / f"run-{seed}.json"
    path.with_suffix(".new").write_text(json.dumps(record, indent=1), encoding="utf-8")
    path.with_suffix(".new").rename(path)
    return record


def kinds_by_turns(asked, dice):
    if asked.only:
        return [asked.only] * asked.runs
    faulty = [kind for kind in KINDS if kind != "none"]
    dice.shuffle(faulty)
    kinds = ["none"] * min(asked.healthy, asked.runs)
    kinds += [faulty[i % len(faulty)] for i in range(asked.runs - len(kinds))]
    dice.shuffle(kinds)
    return kinds


def plan(asked):
    """Kinds by turns, each with the writer that had the fewest runs before of those that can have it."""
    dice = random.Random(asked.seed)
    names = [asked.writer] if asked.writer else list(WRITERS)
    used = dict.fromkeys(names, 0)
    runs = []
    for number, kind in enumerate(kinds_by_turns(asked, dice)):
        fit = [name for name in names if not unfit(kind, WRITERS[name])]
        if not fit:
            raise SystemExit(f"{kind} cannot be had with {names[0]}: {unfit(kind, WRITERS[names[0]])}")
        writer = min(fit, key=lambda name: (used[name], dice.random()))
        used[writer] += 1
        runs.append((asked.seed * 1000 + number, kind, writer))
    return runs


def done_before(asked, folder, seed, kind, writer):
    """The record of this run; one of another plan is in the way."""
    path = folder / f"run-{seed}.json"
    if not path.exists():
        return None
    record = json.loads(path.read_text("utf-8"))
    if (record["kind"], record["writer"], record["beside"]) != (kind, writer, asked.beside):
        raise SystemExit(f"{path} is of other options: keep these runs in another folder")
    return record


def run_all(asked, folder):
    """Records of all runs that are there, done now or before."""
    records, left = [], asked.at_most
    for seed, kind, writer in plan(asked):
        record = done_before(asked, folder, seed, kind, writer)
        if record is None and left > 0:
            left -= 1
            lacks = WRITERS[writer].missing()
            record = ({"seed": seed, "kind": kind, "writer": writer, "skipped": lacks} if lacks else
                      one(asked, folder, seed, kind, writer))
            print(line_of(record), flush=True)
        if record and "skipped" not in record:
            records.append(record)
    return records


class BlindTrial(unittest.TestCase):
    def test_each_kind_once_and_healthy_runs(self):
        self.assertEqual(main(["--runs", str(len(KINDS) + 1), "--healthy", "2"]), 0)


def options(arguments):
    parser = argparse.ArgumentParser(description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program", type=pathlib.Path, nargs="?",
                        default=os.environ.get("RIGPROOF_PROGRAM"))
    parser.add_argument("--runs", type=int, default=60)
    parser.add_argument("--healthy", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=list(KINDS))
    parser.add_argument("--writer", choices=list(WRITERS))
    parser.add_argument("--beside", type=float, default=0.0, metavar="SHARE",
                        help="other load that takes this share of every CPU")
    parser.add_argument("--keep", type=pathlib.Path, metavar="FOLDER")
    parser.add_argument("--at-most", type=int, default=sys.maxsize, metavar="N",
                        help="do only the next N runs that are not there yet")
    asked = parser.parse_args(arguments)
    asked.program = pathlib.Path(asked.program).resolve()
    if asked.keep and set(str(asked.keep.resolve())) & set(" '\"!,{}"):
        parser.error("--keep: the writers take no such signs in a folder's name")
    return asked


def main(arguments=None):
    asked = options(arguments)
    folder = (asked.keep or pathlib.Path(tempfile.mkdtemp(prefix="rigproof-trial-"))).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o755)  # for a writer that is not root
    records = run_all(asked, folder)
    print_totals(records)
    print(f"results in {folder}")
    runs, right = len(records), sum(record["right"] for record in records)
    whole = all(record["same"] and not record["invented"] for record in records)
    return 0 if runs > 0 and right >= 0.9 * runs and whole else 1


if __name__ == "__main__":
    sys.exit(main())
