#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What watching costs: `rigproof watch` at ten samples a second beside 300 sleeping processes.

    scripts/compare_watch.py build/release/cli/rigproof [--seconds 60] [--processes 300] [--hz 10]

Prints CPU time of the watch in percent of one core (its user and system time of /proc/PID/stat
over the wall time, start-up left out), its most resident memory (VmHWM of /proc/PID/status), and
what the log takes an hour. An encode of the ffmpeg program, where there is one, is what is watched,
so that its threads and files are looked at too; with --without-program nothing is.
"""

import argparse
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import tempfile
import time


def cpu_seconds(pid):
    fields = pathlib.Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


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


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program", type=pathlib.Path)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--processes", type=int, default=300)
    parser.add_argument("--hz", type=float, default=10)
    parser.add_argument("--without-program", action="store_true")
    options = parser.parse_args()
    sleepers = [subprocess.Popen(["sleep", "1000"]) for _ in range(options.processes)]
    started = list(sleepers)
    try:
        with tempfile.TemporaryDirectory(prefix="rigproof-watch-") as name:
            folder = pathlib.Path(name)
            arguments = []
            if shutil.which("ffmpeg") and not options.without_program:
                mixer = start_program(folder, options.seconds + 30)
                started.append(mixer)
                arguments = ["--program", str(mixer.pid)]
            watch = subprocess.Popen([options.program, "watch", "--into", folder / "log", "--hz",
                                      str(options.hz), "--quiet", *arguments],
                                     stdout=subprocess.PIPE, text=True)
            started.append(watch)
            log = folder / "log"
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
            print(watch.communicate(timeout=60)[0], end="")
            there = sum(entry.name.isdigit() for entry in pathlib.Path("/proc").iterdir())
            print(f"{there} processes, {options.hz:g} Hz, {seconds:.0f} s, {os.cpu_count()} CPUs")
            print(f"CPU {percent:.2f} % of one core, VmHWM {memory:.1f} MiB, "
                  f"log {grown / seconds * 3600 / 1e6:.2f} MB an hour")
    finally:
        for process in reversed(started):
            if process.poll() is None:
                process.kill()
            process.wait()


if __name__ == "__main__":
    main()
