#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What watching and a rehearsal's telemetry cost beside 300 sleeping processes, ten samples a second.

    scripts/compare_watch.py build/release/cli/rigproof [OTHER ...] [--seconds 60] [--rounds 1]
        [--processes 300] [--hz 10] [--telemetry build/release/tests/scenario/telemetry_cost OTHER ...]

Several programs take turns, each round in the other order. Prints for each the CPU time of the watch
in percent of one core (the kernel's count of nanoseconds over all its threads, /proc/PID/task/TID/schedstat,
over the wall time; start-up left out), its most resident memory (VmHWM of /proc/PID/status), and what
the log takes an hour; medians of the rounds, and the ratio to the first. An encode of the ffmpeg
program, where there is one, is what is watched, so that its threads and files are looked at too; with
--without-program nothing is. --telemetry takes the programs telemetry_cost, which tell the CPU time of
one sample: in percent of one core at --hz samples a second.
"""

import argparse
import json
import os
import pathlib
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time


def cpu_seconds(pid):
    tasks = pathlib.Path(f"/proc/{pid}/task")
    return sum(int((task / "schedstat").read_text(encoding="ascii").split()[0])
               for task in tasks.iterdir()) / 1e9


def most_memory_mib(pid):
    for line in pathlib.Path(f"/proc/{pid}/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmHWM:"):
            return int(line.split()[1]) / 1024
    raise ValueError("no VmHWM")


def start_program(folder, seconds):
    """A real-time encode at a tenth of a core or so."""
    return subprocess.Popen(  # pylint: disable=consider-using-with
        ["ffmpeg", "-nostdin", "-v", "error", "-re", "-f", "lavfi", "-i",
         "testsrc2=size=320x180:rate=30", "-t", str(seconds), "-c:v", "libx264", "-preset",
         "ultrafast", "-y", str(folder / "take.mkv")])


def end(process):
    if process.poll() is None:
        process.kill()
    process.wait()


def watch_once(program, options):
    """Percent of a core, MiB resident, MB of log an hour."""
    started = []
    with tempfile.TemporaryDirectory(prefix="rigproof-watch-") as name:
        folder = pathlib.Path(name)
        log = folder / "log"
        arguments = []
        try:
            if shutil.which("ffmpeg") and not options.without_program:
                started.append(start_program(folder, options.seconds + 30))
                arguments = ["--program", str(started[0].pid)]
            watch = subprocess.Popen(  # pylint: disable=consider-using-with
                [program, "watch", "--into", log, "--hz", str(options.hz), "--quiet", *arguments],
                stdout=subprocess.DEVNULL)
            started.append(watch)
            while not log.is_dir() or not any(part.stat().st_size > 1000 for part in log.iterdir()):
                if watch.poll() is not None:
                    sys.exit("the watch ended by itself")
                time.sleep(0.1)
            began, used = time.monotonic(), cpu_seconds(watch.pid)
            size = sum(part.stat().st_size for part in log.iterdir())
            time.sleep(options.seconds)
            seconds = time.monotonic() - began
            percent = 100 * (cpu_seconds(watch.pid) - used) / seconds
            memory = most_memory_mib(watch.pid)
            grown = sum(part.stat().st_size for part in log.iterdir()) - size
            watch.send_signal(signal.SIGINT)
            watch.wait(timeout=60)
            return percent, memory, grown / seconds * 3600 / 1e6
        finally:
            for process in reversed(started):
                end(process)


def telemetry_once(program, options):
    """Percent of a core."""
    told = subprocess.run([program, "--benchmark_format=json", "--benchmark_min_time=1"],
                          stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=True)
    return (json.loads(told.stdout)["benchmarks"][0]["cpu_time"] / 1e6 * options.hz * 100,)


def by_turns(measure, programs, options):
    """The rounds of each program."""
    measured = [[] for _ in programs]
    for turn in range(options.rounds):
        order = range(len(programs)) if turn % 2 == 0 else reversed(range(len(programs)))
        for each in order:
            measured[each].append(measure(programs[each], options))
    return measured


def show(what, programs, measured):
    first = None
    for program, rounds in zip(programs, measured):
        percents = [each[0] for each in rounds]
        middle = statistics.median(percents)
        first = first or middle
        rest = [statistics.median(values) for values in list(zip(*rounds))[1:]]
        print(f"{what}, {program}: CPU {middle:.3f} % of one core ({min(percents):.3f} to "
              f"{max(percents):.3f}), {middle / first:.2f} of the first" +
              (f", VmHWM {rest[0]:.1f} MiB, log {rest[1]:.2f} MB an hour" if rest else ""),
              flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("programs", type=pathlib.Path, nargs="*")
    parser.add_argument("--telemetry", type=pathlib.Path, nargs="+", default=[])
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--rounds", type=int, default=1)
    parser.add_argument("--processes", type=int, default=300)
    parser.add_argument("--hz", type=float, default=10)
    parser.add_argument("--without-program", action="store_true")
    options = parser.parse_args()
    sleepers = [subprocess.Popen(["sleep", "100000"]) for _ in range(options.processes)]
    try:
        there = sum(entry.name.isdigit() for entry in pathlib.Path("/proc").iterdir())
        print(f"{there} processes, {options.hz:g} Hz, {options.rounds} rounds of "
              f"{options.seconds:g} s, {os.cpu_count()} CPUs, load {os.getloadavg()[0]:.1f}")
        show("telemetry", options.telemetry, by_turns(telemetry_once, options.telemetry, options))
        show("watch", options.programs, by_turns(watch_once, options.programs, options))
    finally:
        for sleeper in sleepers:
            end(sleeper)


if __name__ == "__main__":
    main()
