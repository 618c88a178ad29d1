#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Holds the predicted room for more cameras against recorders that the ffmpeg program runs.

A case is a set of CPUs with one codec, effort, raster and rate. Its truth: the most ffmpeg processes,
one a camera, that keep up in real time (-re) with a raw clip in memory, and one more does not. The
prediction: `rigproof rehearse` of one camera on the same CPUs, nothing confirmed. Before and after both,
the recorders run without -re: where their speed changed by more than a tenth, so did the PC, and the
case is shown and not counted. Cases on disjoint CPUs run side by side, so the PC should do nothing
else. Needs root and control groups for CPU sets, which encoders that choose CPUs by themselves cannot
leave. Prints the table that stands in bench/RESULTS.md; a case is right within one camera or a tenth.

Usage: scripts/compare_capacity.py PROGRAM [--cases RANGE] [--seconds S] [--length quick|standard]
           [--keep FILE] [--ffmpeg CMD]
"""

import argparse
import contextlib
import concurrent.futures
import dataclasses
import json
import os
import pathlib
import shlex
import subprocess
import sys
import tempfile
import threading
import time

CLIP_FRAMES = 12  # no more than a feed's ring takes, so that both encode the same pictures
PRESET = {"least": "ultrafast", "low": "superfast", "medium": "veryfast"}
RASTER = {360: "640x360", 720: "1280x720", 1080: "1920x1080", 2160: "3840x2160"}
KBPS = {360: 2000, 720: 5000, 1080: 9000, 2160: 24000}
LATE_S = 0.4  # a camera that is this much later at its end than early on has fallen behind
MOST_SOURCES = 16  # of a profile
CHANGED = 0.10  # of the recorders' speed without -re, from before to after
UNPACED_S = 6

# Codec, effort, lines, rate, CPUs. The order mixes them, so that any stretch of it has all sorts.
GRID = (
    ("h264", "least", 1080, 25, 4), ("hevc", "least", 720, 30, 4), ("h264", "low", 720, 25, 2),
    ("h264", "medium", 360, 25, 1), ("hevc", "low", 360, 25, 2), ("h264", "least", 720, 50, 2),
    ("h264", "low", 1080, 25, 8), ("h264", "least", 360, 50, 1), ("hevc", "medium", 360, 25, 4),
    ("h264", "medium", 720, 25, 4), ("hevc", "least", 360, 25, 1), ("h264", "least", 2160, 25, 8),
    ("h264", "low", 1080, 30, 4), ("hevc", "least", 1080, 25, 8), ("h264", "least", 2160, 30, 16),
    ("h264", "low", 360, 25, 1), ("h264", "medium", 1080, 25, 8), ("hevc", "low", 720, 25, 4),
    ("h264", "least", 720, 25, 1), ("h264", "medium", 720, 25, 2), ("hevc", "medium", 720, 25, 8),
    ("h264", "least", 1080, 50, 8), ("h264", "low", 720, 25, 1), ("hevc", "least", 360, 25, 4),
    ("h264", "least", 2160, 25, 4), ("h264", "medium", 360, 50, 2), ("hevc", "least", 360, 25, 2),
    ("h264", "low", 2160, 25, 16),
)


@dataclasses.dataclass
class Case:
    codec: str
    effort: str
    lines: int
    rate: int
    cpus: int

    def name(self):
        return f"{self.codec} {self.effort}, {RASTER[self.lines]} at {self.rate}, {self.cpus} CPUs"


class Cpus:
    """CPUs of this PC, given out by whole cores: who shares a core is not alone."""

    def __init__(self):
        allowed = os.sched_getaffinity(0)
        cores = {}
        for cpu in sorted(allowed):
            path = pathlib.Path(f"/sys/devices/system/cpu/cpu{cpu}/topology/thread_siblings_list")
            cores.setdefault(path.read_text(encoding="ascii") if path.exists() else cpu, []).append(cpu)
        self.free = list(cores.values())
        self.changed = threading.Condition()

    def total(self):
        return sum(len(core) for core in self.free)

    def take(self, count):
        with self.changed:
            while self.total() < count:
                self.changed.wait()
            taken = []
            while sum(len(core) for core in taken) < count:
                taken.append(self.free.pop())
            return taken

    def give(self, taken):
        with self.changed:
            self.free.extend(taken)
            self.changed.notify_all()


@contextlib.contextmanager
def cpu_set(cpus):
    """A function that puts the calling process on these CPUs for good."""
    root = pathlib.Path("/sys/fs/cgroup")
    if (root / "cgroup.controllers").exists():  # version 2
        (root / "cgroup.subtree_control").write_text("+cpuset", encoding="ascii")
    else:
        root = root / "cpuset"
    group = root / f"rigproof-{os.getpid()}-{cpus[0]}"
    group.mkdir()
    try:
        (group / "cpuset.mems").write_text("0", encoding="ascii")
        (group / "cpuset.cpus").write_text(",".join(map(str, cpus)), encoding="ascii")
        yield lambda: (group / "cgroup.procs").write_text(str(os.getpid()), encoding="ascii")
    finally:
        group.rmdir()


class Trial:
    """One case on its CPUs."""

    def __init__(self, case, enter, asked, folder):
        self.case, self.enter, self.asked = case, enter, asked
        self.folder = folder
        self.clip = folder.parent / f"{case.lines}-{case.rate}.y4m"

    def run(self, command, **more):
        return subprocess.Popen(  # pylint: disable=subprocess-popen-preexec-fn,consider-using-with
            command, stdin=subprocess.DEVNULL, preexec_fn=self.enter, **more)

    def recorder(self, seconds, paced, number, progress):
        case = self.case
        kbps = f"{KBPS[case.lines]}k"
        encode = (["-c:v", "libx264"] if case.codec == "h264" else
                  # Of its own accord it counts the CPUs of the whole PC, not those that it may use.
                  ["-c:v", "libx265", "-x265-params", f"log-level=none:pools={case.cpus}"])
        return [*shlex.split(self.asked.ffmpeg), "-v", "error", "-nostdin", "-y", "-progress",
                f"pipe:{progress}", "-stats_period", "0.25", *(["-re"] if paced else []),
                "-stream_loop", "-1", "-i", str(self.clip),
                *(["-frames:v", str(seconds * case.rate)] if paced else ["-t", "100000"]), *encode,
                "-preset", PRESET[case.effort], "-b:v", kbps, "-maxrate", kbps, "-bufsize", kbps,
                "-g", str(2 * case.rate), "-f", "matroska", str(self.folder / f"{number}.mkv")]

    def produce(self, cameras, seconds, paced):
        """Each recorder's moments and the seconds that it had made by then."""
        points = [[] for _ in range(cameras)]
        listeners, processes = [], []
        for number in range(cameras):
            reader, writer = os.pipe()
            processes.append(self.run(self.recorder(seconds, paced, number, writer),
                                      pass_fds=[writer]))
            os.close(writer)
            listeners.append(threading.Thread(target=self.listen, args=(reader, points[number])))
            listeners[-1].start()
        if not paced:
            time.sleep(seconds)
            for process in processes:
                process.terminate()
        for process in processes:
            if process.wait() != 0 and paced:
                sys.exit(f"{self.case.name()}: ffmpeg failed")
        for listener in listeners:
            listener.join()
        for number in range(cameras):
            (self.folder / f"{number}.mkv").unlink()
        return points

    def listen(self, reader, points):
        with os.fdopen(reader, encoding="ascii", errors="replace") as lines:
            for line in lines:
                if line.startswith("frame=") and int(line[6:]) > 0:
                    points.append((time.monotonic(), int(line[6:]) / self.case.rate))

    def speed(self):
        """Seconds of one camera's pictures that as many recorders as CPUs make in a second."""
        made = 0
        for points in self.produce(max(2, self.case.cpus), UNPACED_S, False):
            if len(points) > 1:
                (begun, first), (ended, last) = points[0], points[-1]
                made += (last - first) / max(ended - begun, 1e-3)
        return made

    def carries(self, cameras):
        late = 0
        for points in self.produce(cameras, self.asked.seconds, True):
            behind = [at - made for at, made in points]
            late = max(late, behind[-1] - min(behind[:max(1, len(behind) // 3)]))
        return late <= LATE_S

    def truth(self, speed):
        carried, dropped = 0, MOST_SOURCES + 1
        trying = min(MOST_SOURCES, max(1, int(speed)))
        while dropped - carried > 1:
            if self.carries(trying):
                carried = trying
                trying += 1
            else:
                dropped = trying
                trying -= 1
        return carried

    def profile(self):
        case = self.case
        return {
            "format": "rigproof-profile", "version": 1, "name": "Independent recorders",
            "note": "Invented production: one camera and its recording.", "duration_minutes": 1,
            # The program is composed in any production; as small as it goes, it costs nothing. At a
            # slower rate it would be what the speed of all is counted by, in whole seconds.
            "program": {"raster": "64x64", "rate": case.rate},
            "sources": [{"name": "Camera", "arrives_by": "usb", "raster": RASTER[case.lines],
                         "rate": case.rate, "pixel_format": "yuv420p",
                         "content": {"clip": str(self.clip)}}],
            "outputs": [{"name": "Iso", "kind": "iso", "takes": "Camera", "codec": case.codec,
                         "bitrate_kbps": KBPS[case.lines], "encoder": "software",
                         "effort": case.effort, "container": "mkv"}],
            "audio": None, "multiview": None, "displays": 0}

    def rehearse(self):
        path = self.folder / "profile.json"
        path.write_text(json.dumps(self.profile()), encoding="utf-8")
        environment = {**os.environ, "RIGPROOF_LOCK_FOLDER": str(self.folder)}
        process = self.run(
            [*shlex.split(self.asked.program), "rehearse", str(path), "--length", self.asked.length,
             "--seconds", str(self.asked.seconds), "--json", "--quiet", "--record-to", str(self.folder)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment, text=True)
        out, err = process.communicate()
        if process.returncode not in (0, 3, 4, 5):
            sys.exit(f"{self.case.name()}: rehearse failed: {err}")
        return json.loads(out)

    def row(self):
        before = self.speed()
        result = self.rehearse()
        truth = self.truth(before)
        return {"case": dataclasses.asdict(self.case), "result": result, "truth": truth,
                "speeds": [before, self.speed()]}


def make_clips(cases, ffmpeg, folder):
    for lines, rate in {(case.lines, case.rate) for case in cases}:
        subprocess.run([*shlex.split(ffmpeg), "-v", "error", "-y", "-f", "lavfi", "-i",
                        f"testsrc2=size={RASTER[lines]}:rate={rate}", "-vf",
                        "noise=alls=12:allf=t", "-frames:v", str(CLIP_FRAMES), "-pix_fmt", "yuv420p",
                        str(folder / f"{lines}-{rate}.y4m")], check=True)


def line_of(row):
    """The table's line, and whether the prediction is right; None where the PC changed meanwhile."""
    before, after = row["speeds"]
    name, truth = Case(**row["case"]).name(), row["truth"]
    line = f"| {name} | {before:.1f}, {after:.1f} | {truth} |"
    capacity = row["result"]["capacity"]
    if abs(after / before - 1) > CHANGED:
        right, word = None, "the PC changed"
    elif capacity is None:
        right, word = False, "NO"
    else:
        predicted = 1 + capacity["added_sources_predicted"]
        right = abs(predicted - truth) <= max(1, 0.1 * truth)
        word = "yes" if right else "NO"
    if capacity is None:
        return f"{line} nothing | | {word} |", right
    low, high = (1 + end for end in capacity["interval"])
    inside = "" if low <= truth <= high else ", outside"
    return f"{line} {1 + capacity['added_sources_predicted']} | {low} to {high}{inside} | {word} |", right


def main():
    parser = argparse.ArgumentParser(description="predicted room against recorders by ffmpeg")
    parser.add_argument("program")
    parser.add_argument("--ffmpeg", default="ffmpeg")
    parser.add_argument("--cases", default=":", help="of the grid, as a slice: 0:12")
    parser.add_argument("--seconds", type=int, default=12)
    parser.add_argument("--length", choices=("quick", "standard"), default="quick")
    parser.add_argument("--keep", help="file that takes all results")
    asked = parser.parse_args()
    begin, end = (int(part) if part else None for part in asked.cases.split(":"))
    cpus = Cpus()
    cases = [Case(*one) for one in GRID[begin:end] if one[4] <= cpus.total()]
    cases.sort(key=lambda case: -case.cpus)
    print(f"load average before: {os.getloadavg()[0]:.1f}; {asked.seconds} s each\n")
    print("| case | ffmpeg unpaced before and after, x real time | carries | predicted | interval | "
          "within one or 10 % |\n|---|---|---|---|---|---|", flush=True)
    rows, right = [], []
    with tempfile.TemporaryDirectory(prefix="rigproof-compare-", dir="/dev/shm") as name:
        folder = pathlib.Path(name)
        make_clips(cases, asked.ffmpeg, folder)

        def one(number, case, taken):
            try:
                place = folder / str(number)
                place.mkdir()
                with cpu_set([cpu for core in taken for cpu in core][:case.cpus]) as enter:
                    return Trial(case, enter, asked, place).row()
            finally:
                cpus.give(taken)

        with concurrent.futures.ThreadPoolExecutor(len(cases)) as pool:
            running = [pool.submit(one, number, case, cpus.take(case.cpus))
                       for number, case in enumerate(cases)]
            for done in concurrent.futures.as_completed(running):
                row = done.result()
                text, near = line_of(row)
                rows.append(row)
                right.extend([near] if near is not None else [])
                print(text, flush=True)
                if asked.keep:
                    pathlib.Path(asked.keep).write_text(json.dumps(rows), encoding="utf-8")
    print(f"\n{len(rows)} cases, {len(right)} on a steady PC: {sum(right)} right "
          f"({sum(right) / max(1, len(right)):.0%})")


if __name__ == "__main__":
    main()
