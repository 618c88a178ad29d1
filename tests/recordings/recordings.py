#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Makes recordings with writers of others, truth first, and holds `rigproof examine` against the truth.

Writes FOLDER/truth/NAME.json before the recording FOLDER/made/NAME.*, asks the program, counts for
every question: right, refused with a reason, wrong. Recordings of wrong answers stay in FOLDER/wrong
with truth and answer beside them; the others are removed.

Usage: tests/recordings/recordings.py PROGRAM [--folder FOLDER] [--seed N] [--quick] [--only TEXT]
       [--keep | --again] [--report FILE]
"""

import argparse
import collections
import json
import pathlib
import shutil
import subprocess
import sys
import time

import cases
import judge
import writers
from bases import Bases, Worker, python_with_gstreamer
from damage import harm

NEEDED = ("mkvmerge", "ffmpeg", "ffprobe")


def absent(player):
    """What is needed and not here."""
    gone = [name for name in NEEDED if shutil.which(name) is None]
    if python_with_gstreamer() is None:
        gone.append("GStreamer for Python (python3-gi, gir1.2-gst-plugins-base-1.0)")
    if player and shutil.which("cvlc") is None:
        gone.append("cvlc")
    return gone


class Trial:
    def __init__(self, program, folder, keep=False, reuse=False):
        self.program, self.folder, self.keep, self.reuse = program, folder, keep or reuse, reuse
        self.worker = Worker()
        for part in ("truth", "made", "wrong"):
            (folder / part).mkdir(parents=True, exist_ok=True)
        self.writers = writers.Writers(Bases(folder / "bases", self.worker), self.worker,
                                       folder / "made")
        self.rows, self.wrong, self.not_made = [], [], []

    def run(self, plan, say=lambda text: None):
        for case in plan:
            self.one(case)
            if len(self.rows) % 50 == 0:
                say(f"{len(self.rows)} of {len(plan)}")
        self.worker.close()

    def one(self, case):
        try:
            case, files = self.again(case) if self.reuse else self.made(case)
        except (writers.NotMade, RuntimeError) as reason:
            self.not_made.append((case["name"], str(reason)))
            return
        try:
            answers = judge.judge(case, said := judge.examine(self.program, files))
        except subprocess.TimeoutExpired:
            said, answers = None, {"answers": (judge.WRONG, "no answer within a minute", "an answer")}
        self.rows.append((case, answers))
        bad = {question: answer for question, answer in answers.items() if answer[0] == judge.WRONG}
        if bad:
            self.wrong.append((case, bad))
            self.store(case, files, said, bad)
        if not self.keep:
            for path in self.writers.folder.glob(f"{case['name']}*"):
                path.unlink()

    def made(self, case):
        """Truth first, then its files; what an independent reader finds in a harmed file comes after."""
        truth_file = self.folder / "truth" / f"{case['name']}.json"
        self.writers.tracks(case)  # trims the truth to what the base can give whole
        truth_file.write_text(json.dumps(case, indent=1), encoding="utf-8")
        files = self.writers.make(case)
        if case["damage"]:
            self.damage(case, files[0])
        if case["writer"].startswith("vlc"):
            count_again(case, files[0])
        case["files"] = [path.name for path in files]
        truth_file.write_text(json.dumps(case, indent=1), encoding="utf-8")
        return case, files

    def again(self, case):
        """The files of a run before that kept them."""
        if "files" not in case:
            raise writers.NotMade("not made in the run before")
        return case, [self.folder / "made" / name for name in case["files"]]

    def damage(self, case, path):
        written = case["programmes"][0]["pictures"]["kept"]

        def later():
            again = json.loads(json.dumps(case)) | {"name": case["name"] + "-later",
                                                    "lead_s": case["damage"].get("lead_s", 0)}
            more = self.writers.make(again)[0]
            data = more.read_bytes()
            more.unlink()
            return data

        if case["damage"]["kind"] in ("appended", "later part"):
            written *= 2
        harm(case, path, later)
        case["damage"].update(written=written, readable=readable(path))

    def store(self, case, files, said, bad):
        into = self.folder / "wrong"
        into.mkdir(exist_ok=True)
        for path in files:
            shutil.copy(path, into)
        told = {"truth": case, "wrong": bad, "said": said.first if said else None}
        (into / f"{case['name']}.json").write_text(json.dumps(told, indent=1), encoding="utf-8")


def readable(path):
    """How many pictures the ffprobe program finds."""
    done = subprocess.run(["ffprobe", "-v", "error", "-select_streams", "v:0", "-show_entries",
                           "packet=size", "-of", "csv=p=0", path], check=False, capture_output=True,
                          timeout=60)
    return len(done.stdout.split())


def count_again(case, path):
    """The player leaves pictures out and moves stamps by itself: ffprobe's stamps are counted."""
    told = case["programmes"][0]["pictures"]
    if told["variable"] or case["writer"] == "vlc-avi":  # the one has no grid, the other no stamps
        return
    done = subprocess.run(["ffprobe", "-v", "error", "-select_streams", "v:0", "-show_entries",
                           "packet=pts_time,dts_time", "-of", "csv=p=0", path], check=False, text=True,
                          capture_output=True, timeout=60)
    stamps = sorted(float(each[0] if each[0] != "N/A" else each[1])  # ASF has decoding times alone
                    for each in (line.split(",") for line in done.stdout.split()) if each != ["N/A", "N/A"])
    rate = float(cases.truth.Fraction(told["true_rate"]))
    places = [(at - stamps[0]) * rate for at in stamps]
    if len(stamps) < 2 or max(abs(place - round(place)) for place in places) > 0.2:
        raise writers.NotMade("the player moved the stamps off the beat that it was given")
    slots = [round(place) for place in places]
    told["given"] = {name: told[name] for name in ("missing", "removed", "kept", "slots")}
    told["missing"] = slots[-1] + 1 - len(set(slots))
    told["removed"] = [[before + 1, after - before - 1] for before, after in zip(slots, slots[1:])
                       if after - before > 1]
    told["unclear"] = len(slots) - len(set(slots))  # its first two pictures often have one stamp
    told["kept"], told["slots"] = len(stamps), slots[-1] + 1


def table(rows, key):
    """Lines: right, refused, wrong for each value of the key, over all questions and for each of them."""
    counts = collections.defaultdict(collections.Counter)
    for case, answers in rows:
        for question, (standing, *_) in answers.items():
            counts[key(case, question)][standing] += 1
    lines = []
    for name in sorted(counts):
        count = counts[name]
        every = sum(count.values())
        good = count[judge.RIGHT] + count[judge.REFUSED]
        lines.append(f"{name:24} {count[judge.RIGHT]:6} {count[judge.REFUSED]:8} {count[judge.WRONG]:6} "
                     f"{100 * good / every:8.1f} %")
    return lines


def shares(rows):
    """What must hold, as figures."""
    asked = collections.Counter()
    good = collections.Counter()
    silent, invented = [], []
    for case, answers in rows:
        for question, (standing, said, _) in answers.items():
            group = {"places": "missing", "repeated": "missing", "order": "missing"}.get(question, question)
            asked[group] += 1
            good[group] += standing != judge.WRONG
            if isinstance(said, str) and said.startswith("SILENT"):
                silent.append(case["name"])
            if isinstance(said, str) and said.startswith("INVENTED"):
                invented.append(case["name"])
        if case["family"] == "hour" and abs(case["programmes"][0]["sound"]["ppm"]) >= 50:
            asked["drift of an hour"] += 1
            good["drift of an hour"] += answers["drift"][0] == judge.RIGHT
    return {group: good[group] / asked[group] for group in asked}, silent, invented


def report(trial, seconds):
    rows = trial.rows
    head = f"{'':24} {'right':>6} {'refused':>8} {'wrong':>6} {'not wrong':>10}"
    lines = [f"{len(rows)} recordings, {len(trial.not_made)} not made, {seconds:.0f} s", "", head]
    lines += table(rows, lambda case, question: question) + ["", head]
    lines += table(rows, lambda case, question: case["writer"]) + ["", head]
    lines += table(rows, lambda case, question: case["family"]) + [""]
    held, silent, invented = shares(rows)
    lines += [f"{group}: {share * 100:.1f} %" for group, share in sorted(held.items())]
    lines += [f"'nothing missing' where something is: {len(silent)}",
              f"certain drift that is not there: {len(invented)}", ""]
    for case, bad in trial.wrong:
        for question, (_, said, true) in bad.items():
            lines.append(f"{case['name']}: {question}: said {said}; true {true}")
    lines += [f"not made: {name}: {reason[:160]}" for name, reason in trial.not_made]
    return "\n".join(lines)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("program", type=pathlib.Path)
    parser.add_argument("--folder", type=pathlib.Path, default=pathlib.Path("recordings-trial"))
    parser.add_argument("--seed", type=int, default=20)
    parser.add_argument("--quick", action="store_true", help="some 60 recordings of every family")
    parser.add_argument("--only", default="", help="only recordings whose name has this text")
    parser.add_argument("--keep", action="store_true", help="keep all recordings")
    parser.add_argument("--again", action="store_true", help="judge what --keep kept, make nothing")
    parser.add_argument("--report", type=pathlib.Path, help="also write the report into this file")
    told = parser.parse_args()
    if gone := absent(player=not told.quick):
        sys.exit(f"recordings: not here: {', '.join(gone)}")
    plan = cases.quick_plan(told.seed) if told.quick else cases.whole_plan(told.seed)
    if told.again:  # what lies there, whatever the plan of today is
        plan = [json.loads(path.read_text(encoding="utf-8"))
                for path in sorted((told.folder / "truth").glob("*.json"))]
    plan = [case for case in plan if told.only in case["name"]]
    begun = time.monotonic()
    trial = Trial(told.program.resolve(), told.folder.resolve(), told.keep, told.again)
    trial.run(plan, lambda text: print(text, file=sys.stderr, flush=True))
    text = report(trial, time.monotonic() - begun)
    print(text)
    if told.report:
        told.report.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
