#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Holds rehearsals against productions that the ffmpeg program carries by itself.

A production is one ffmpeg process for each camera, which reads a clip in real time (-re) and encodes
it as the rehearsal does: same clip, raster, rate, encoder, effort, bit rate and threads, in the same
control group. It drops when a camera falls behind its pictures by its own count. How far a case
lies from the boundary is told by the same processes without -re, before and after: their speed in
times real time. A case counts where both lie on one side of it, and neither nearer than 10 %.
Needs root and cgroups; those of version 2 must pass cpu and io on to what is below the root. Prints
the tables that stand in bench/RESULTS.md.

Usage: scripts/compare_productions.py PROGRAM [--seconds S] [--only cpu|disk|ramp]
           [--effort least|low|medium] (of the cpu cases; all of them otherwise) [--feeds N]
"""

import argparse
import contextlib
import dataclasses
import itertools
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import threading
import time

sys.path.append(str(pathlib.Path(__file__).parent.parent / "tests" / "scenario"))
import faults  # noqa: E402  pylint: disable=wrong-import-position

RATE = 25
RASTER = "640x360"
THREADS = 1  # of an encoder, as the rehearsal takes for pictures this small
CLIP_FRAMES = 12  # no more than a feed's ring takes, so that both encode the same pictures
KBPS = 3000
PRESET = {"least": "ultrafast", "low": "superfast", "medium": "veryfast"}
LATE_S = 0.4  # a camera that is this much later at its end than early on has fallen behind
RECORDER_QUEUE_S = 4  # what waits for a disk; the ffmpeg program has no such queue and waits itself
PERIOD_US = 100_000  # of a CPU quota
MOST_SOURCES = 16  # of a profile
SEARCH_SECONDS = 20  # of each whole rehearsal of a quick search, and of what capacity is held against
DISK_SECONDS = 24  # a recorder's queue of four seconds has to fill before anything is lost
NEAR = 0.10   # of the boundary: such cases are shown, and not counted
QUOTAS = (0.3, 0.4, 0.5, 0.6, 0.75, 0.9, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0)
LOADS = (0.6, 0.8, 1.25, 1.6)  # of the quota that a case should have, in turns


@dataclasses.dataclass
class Case:
    feeds: int
    effort: str
    quota: float = 0          # CPUs; 0: no limit
    disk_bytes_s: float = 0   # 0: no limit
    fuse: bool = False        # by a slow filesystem instead of a control group

    def name(self):
        limit = f"{self.quota * 100:.0f} % of a CPU" if self.quota else "no CPU limit"
        if self.disk_bytes_s:
            kind = "FUSE" if self.fuse else "disk"
            limit += f", {kind} {self.disk_bytes_s / 1e6:.2f} MB/s"
        return f"{self.feeds} x {RASTER}, {self.effort}, {limit}"


@contextlib.contextmanager
def limited(case, folder):
    """A function that puts the calling process under the limits of the case."""
    groups = []
    made = pathlib.Path("/sys/fs/cgroup")
    name = f"rigproof-compare-{os.getpid()}"
    one_tree = (made / "cgroup.controllers").exists()  # version 2
    device = os.stat(folder).st_dev
    disk = f"{os.major(device)}:{os.minor(device)}"

    def limit(controller, values):
        group = made / name if one_tree else made / controller / name
        group.mkdir()
        groups.append(group)
        for file, value in values.items():
            (group / file).write_text(value, encoding="ascii")

    quota_us, bytes_s = int(case.quota * PERIOD_US), int(case.disk_bytes_s)
    if case.quota:
        limit("cpu", {"cpu.max": f"{quota_us} {PERIOD_US}"} if one_tree else
              {"cpu.cfs_period_us": str(PERIOD_US), "cpu.cfs_quota_us": str(quota_us)})
    if case.disk_bytes_s and not case.fuse:
        limit("blkio", {"io.max": f"{disk} wbps={bytes_s}"} if one_tree else
              {"blkio.throttle.write_bps_device": f"{disk} {bytes_s}"})

    def enter():
        for group in groups:
            (group / "cgroup.procs").write_text(str(os.getpid()), encoding="ascii")
    try:
        yield enter
    finally:
        for group in groups:
            for _ in range(50):  # a process that just ended may still be counted
                with contextlib.suppress(OSError):
                    group.rmdir()
                    break
                time.sleep(0.1)


@contextlib.contextmanager
def place(case, folder):
    """Where the case records to."""
    if case.fuse:
        with faults.slow_folder(folder, case.disk_bytes_s) as mount:
            yield mount
    else:
        yield folder


def make_clip(path):
    subprocess.run(["ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i",
                    f"testsrc2=size={RASTER}:rate={RATE}", "-vf", "noise=alls=12:allf=t",
                    "-frames:v", str(CLIP_FRAMES), "-pix_fmt", "yuv420p", str(path)], check=True)


def profile(case, clip):
    names = [f"Camera {i + 1}" for i in range(case.feeds)]
    return {
        "format": "rigproof-profile", "version": 1, "name": "Independent productions",
        "note": "Invented production: recordings only.", "duration_minutes": 1,
        # The program is composed in any production; as small and slow as it goes, it costs nothing.
        "program": {"raster": "64x64", "rate": 1},
        "sources": [{"name": n, "arrives_by": "usb", "raster": RASTER, "rate": RATE,
                     "pixel_format": "yuv420p", "content": {"clip": str(clip)}} for n in names],
        "outputs": [{"name": f"Iso {n}", "kind": "iso", "takes": n, "codec": "h264",
                     "bitrate_kbps": KBPS, "encoder": "software", "effort": case.effort,
                     "container": "mkv"} for n in names],
        "audio": None, "multiview": None, "displays": 0}


def rehearse(program, case, clip, folder, seconds, *more):
    path = folder / "profile.json"
    path.write_text(json.dumps(profile(case, clip)), encoding="utf-8")
    with place(case, folder) as to, limited(case, folder) as enter:
        done = subprocess.run(  # pylint: disable=subprocess-popen-preexec-fn
            [program, "rehearse", str(path), "--seconds", str(seconds), "--json", "--quiet",
             "--record-to", str(to), *more], stdin=subprocess.DEVNULL, capture_output=True,
            text=True, preexec_fn=enter, check=False)
    if done.returncode in (1, 2):
        sys.exit(f"rehearse failed: {done.stderr}")
    return json.loads(done.stdout)


def camera_command(case, clip, seconds, paced, target, progress):
    encode = ["ffmpeg", "-v", "error", "-nostdin", "-y", "-progress", f"pipe:{progress}",
              "-stats_period", "0.25", *(["-re"] if paced else []),
              "-stream_loop", "-1", "-i", str(clip), "-frames:v", str(seconds * RATE),
              "-c:v", "libx264", "-preset", PRESET[case.effort], "-b:v", f"{KBPS}k", "-maxrate",
              f"{KBPS}k", "-bufsize", f"{KBPS}k", "-g", str(2 * RATE), "-threads", str(THREADS),
              "-f", "matroska"]
    if not case.disk_bytes_s or case.fuse:
        return [*encode, str(target)]
    # The limit holds direct writes alone.
    return ["sh", "-c", 'out=$1; shift; "$@" pipe:1 | dd of="$out" oflag=direct iflag=fullblock '
            'bs=64k status=none', "sh", str(target), *encode]


class Camera:
    """One ffmpeg process, and what it says of its own progress: moments, and seconds made by then."""

    def __init__(self, case, clip, seconds, paced, target, enter):
        reader, writer = os.pipe()
        self.process = subprocess.Popen(  # pylint: disable=subprocess-popen-preexec-fn,consider-using-with
            camera_command(case, clip, seconds, paced, target, writer),
            stdin=subprocess.DEVNULL, preexec_fn=enter, pass_fds=[writer])
        os.close(writer)
        self.points = []
        self.listener = threading.Thread(target=self.listen, args=(reader,))
        self.listener.start()

    def listen(self, reader):
        with os.fdopen(reader, encoding="ascii", errors="replace") as lines:
            for line in lines:
                if line.startswith("frame=") and int(line[6:]) > 0:
                    self.points.append((time.monotonic(), int(line[6:]) / RATE))

    def finish(self):
        if self.process.wait() != 0:
            sys.exit("ffmpeg failed")
        self.listener.join()

    def lag(self):
        """Seconds that it fell behind since its first third; starting is not falling behind."""
        behind = [at - made for at, made in self.points]
        return behind[-1] - min(behind[:max(1, len(behind) // 3)])

    def speed(self):
        (begun, first), (ended, last) = self.points[0], self.points[-1]
        return (last - first) / max(ended - begun, 1e-3)


def produce(case, clip, folder, seconds, paced):
    """The cameras' processes, ended, and bytes of their recordings."""
    with place(case, folder) as to, limited(case, folder) as enter:
        targets = [to / f"camera-{i}.mkv" for i in range(case.feeds)]
        cameras = [Camera(case, clip, seconds, paced, target, enter)
                   for target in targets]
        for camera in cameras:
            camera.finish()
        size = sum(target.stat().st_size for target in targets)
        for target in targets:
            target.unlink()
    return cameras, size


def cpu_of_one(effort, clip, folder):
    """CPU seconds that one camera takes for a second of production."""
    before = os.times()
    produce(Case(1, effort), clip, folder, 20, False)
    after = os.times()
    return (after.children_user + after.children_system - before.children_user
            - before.children_system) / 20


def cpu_cases(efforts, clip, folder):
    cost = {effort: cpu_of_one(effort, clip, folder) for effort in efforts}
    print("CPU seconds that one camera takes a second: "
          + ", ".join(f"{effort} {value:.3f}" for effort, value in cost.items()) + "\n")
    loads = itertools.cycle(LOADS)
    cases = []
    for effort in efforts:
        for feeds in (1, 2, 3, 4, 5, 6, 7, 8):
            wanted = feeds * cost[effort] / next(loads)
            quota = min(QUOTAS, key=lambda q, w=wanted: abs(q / w - 1))
            if abs(quota / wanted - 1) < 0.25:
                cases.append(Case(feeds, effort, quota))
            elif wanted < QUOTAS[0]:
                cases.append(Case(feeds, effort, QUOTAS[0]))
            else:
                cases.append(Case(feeds, effort, QUOTAS[-1]))
    if "medium" in efforts:  # the widest limit, which no load above asks for, under the most work
        cases.append(Case(8, "medium", QUOTAS[-1]))
    return cases


def disk_cases(clip, folder):
    cases = []
    for feeds, share, fuse in ((2, 0.6, False), (4, 1.7, False),
                               (2, 0.6, True), (2, 1.7, True)):
        _, size = produce(Case(feeds, "least"), clip, folder, 20, False)
        cases.append(Case(feeds, "least", 0, share * size / 20, fuse))
    return cases


def speed_of(case, clip, folder, seconds):
    """Of the slowest camera where none waits for its clip's time, in times real time."""
    # Long enough that starting is a small part of it.
    unpaced = seconds if case.disk_bytes_s else 2 * seconds
    cameras, _ = produce(case, clip, folder, unpaced, False)
    return min(camera.speed() for camera in cameras)


def judged_drops(outputs):
    """What counts on both sides: starting is neither falling behind nor a drop that the verdict judges."""
    return sum(output["dropped"] - output["warm_up_dropped"] for output in outputs)


def judge(program, case, clip, folder, seconds):
    """Both sides between two looks at the speed: a shared PC changes its own within a minute."""
    speeds = [speed_of(case, clip, folder, seconds)]
    result = rehearse(program, case, clip, folder, seconds)
    outputs = result["rehearsal"]["outputs"]
    others = {output["encoder_threads"] or THREADS for output in outputs} - {THREADS}
    if case.quota and others:  # with CPUs in plenty the disk decides alone
        sys.exit(f"{case.name()}: the rehearsal encodes with other threads than {THREADS}")
    dropped = judged_drops(outputs)
    warm_up = sum(output["dropped"] for output in outputs) - dropped
    lateness = max(camera.lag() for camera in produce(case, clip, folder, seconds, True)[0])
    speeds.append(speed_of(case, clip, folder, seconds))
    drops = lateness > (RECORDER_QUEUE_S if case.disk_bytes_s else LATE_S)
    return {"case": case.name(), "speeds": speeds, "lateness": lateness, "dropped": dropped,
            "warm_up": warm_up, "causes": [cause["cause"] for cause in result["causes"]],
            "verdict": result["verdict"], "agree": (dropped > 0) == drops,
            "near": min(speeds) <= 1 + NEAR and max(speeds) >= 1 - NEAR}


def compare_verdicts(program, cases, clip, folder, seconds):
    print("| case | ffmpeg unpaced before and after, x real time | ffmpeg -re falls behind by | rehearsal | agree |\n"
          "|---|---|---|---|---|")
    rows = []
    for case in cases:
        row = judge(program, case, clip, folder, seconds)
        rows.append(row)
        word = "near" if row["near"] else ("yes" if row["agree"] else "NO")
        speeds = ", ".join(f"{speed:.2f}" for speed in row["speeds"])
        causes = f" ({', '.join(row['causes'])})" if row["causes"] else ""
        starting = f" and {row['warm_up']} in the warm-up" if row["warm_up"] else ""
        print(f"| {row['case']} | {speeds} | {row['lateness']:.2f} s | "
              f"{row['dropped']} dropped{causes}{starting}, {row['verdict']} | {word} |", flush=True)
    counted = [row for row in rows if not row["near"]]
    right = sum(row["agree"] for row in counted)
    print(f"\n{len(rows)} cases, {len(counted)} more than {NEAR:.0%} from the boundary: "
          f"{right} agree ({right / max(1, len(counted)):.0%})\n")


def carries(program, case, clip, folder, seconds):
    """Whether the case is carried, and the seconds of its rehearsals alone. A loss of less than one
    frame in a hundred may be chance: as in the search, such a case is rehearsed again, best of three."""
    carried, lost, rehearsed_s = 0, 0, 0
    while max(carried, lost) < 2:
        result = rehearse(program, case, clip, folder, seconds)
        outputs = result["rehearsal"]["outputs"]
        dropped = judged_drops(outputs)
        rehearsed_s += result["rehearsal"]["seconds"]
        if result["verdict"] == "short":
            lost += 1
        else:
            carried += 1
        if carried + lost == 1 and (carried or dropped > 0.01 * sum(o["due"] for o in outputs)):
            break
    return carried > lost, rehearsed_s


def ramp(program, case, clip, folder, seconds):
    """Rehearsals with one camera more each, until one drops: the most that are carried, the
    seconds of the rehearsals alone, and those of the whole commands."""
    rehearsed_s, begun = 0, time.monotonic()
    for feeds in range(case.feeds + 1, MOST_SOURCES + 1):
        carried, each_s = carries(program, dataclasses.replace(case, feeds=feeds), clip, folder,
                                  seconds)
        rehearsed_s += each_s
        if not carried:
            return feeds - 1, rehearsed_s, time.monotonic() - begun
    return MOST_SOURCES, rehearsed_s, time.monotonic() - begun


def compare_ramp(program, clip, folder):
    """The search against a ramp; both begin once one camera was carried. Of the search counts all
    that it takes, of the ramp the seconds of the rehearsals alone, or both as whole commands."""
    print("| limits | search: carries | tried (+ carried) | in | one by one: carries | in | search / one by one "
          "| whole commands |\n|---|---|---|---|---|---|---|---|")
    for effort, quota in (("least", 0.5), ("low", 1.0)):
        case = Case(1, effort, quota)
        begun = time.monotonic()
        result = rehearse(program, case, clip, folder, SEARCH_SECONDS, "--search")
        whole_s = time.monotonic() - begun
        search = result["search"]
        if search["confirmed"] is None:
            sys.exit(f"{case.name()}: nothing confirmed: {search['stopped_because']}")
        carried, rehearsed_s, ramp_s = ramp(program, case, clip, folder, SEARCH_SECONDS)
        runs = " ".join(f"{case.feeds + run['added']}{'+' if run['carried'] else '-'}"
                        for run in search["runs"])
        print(f"| {case.name()} | {case.feeds + search['confirmed']} | {runs} | "
              f"{search['seconds']:.0f} s | {carried} | {rehearsed_s:.0f} s | "
              f"{search['seconds'] / rehearsed_s:.2f} | {whole_s / ramp_s:.2f} |", flush=True)


def main():
    parser = argparse.ArgumentParser(description="rehearsals against productions by ffmpeg")
    parser.add_argument("program")
    parser.add_argument("--seconds", type=int, default=12)
    parser.add_argument("--only", choices=("cpu", "disk", "ramp"))
    parser.add_argument("--effort", choices=tuple(PRESET))
    parser.add_argument("--feeds", type=int, help="of the cpu cases, those of so many cameras alone")
    parser.add_argument("--folder", default=None, help="where recordings go: a real disk")
    asked = parser.parse_args()
    program = str(pathlib.Path(asked.program).resolve())
    with tempfile.TemporaryDirectory(prefix="rigproof-compare-", dir=asked.folder) as name:
        folder = pathlib.Path(name)
        clip = folder / "clip.y4m"
        make_clip(clip)
        print(f"load average before: {os.getloadavg()[0]:.1f}; {asked.seconds} s each\n")
        efforts = (asked.effort,) if asked.effort else tuple(PRESET)
        if asked.only in (None, "cpu"):
            cases = [case for case in cpu_cases(efforts, clip, folder)
                     if asked.feeds in (None, case.feeds)]
            compare_verdicts(program, cases, clip, folder, asked.seconds)
        if asked.only in (None, "disk"):
            compare_verdicts(program, disk_cases(clip, folder), clip, folder,
                             max(asked.seconds, DISK_SECONDS))
        if asked.only in (None, "ramp"):
            compare_ramp(program, clip, folder)


if __name__ == "__main__":
    main()
