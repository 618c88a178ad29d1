#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Holds `rigproof examine` against ffprobe's list of packets, on one long recording after another.

Makes a clip, repeats its packets with the ffmpeg program until the recording is as long as asked,
then takes turns: examine with the file out of memory (cold), examine, and `ffprobe -show_packets -of
csv` to nowhere. Prints wall time, the ratio, the most memory that examine held (VmHWM), and its
bytes a second against plain reading of the same file, out of memory, in blocks of 1 MiB.

Usage: scripts/compare_examine.py PROGRAM [--hours 10] [--kbps 200] [--raster 160x90] [--rate 60]
       [--turns 1] [--containers mkv,mp4,fmp4,ts,flv] [--folder FOLDER] [--read-mb MB]

--read-mb holds reading from the disk of the folder to so many MB/s (a control group v1, as root):
a virtual disk whose host has the file in memory has no speed of its own.
"""

import argparse
import contextlib
import json
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

CLIP_SECONDS = 60
FRAGMENTED = ["-movflags", "+frag_keyframe+empty_moov+default_base_moof", "-f", "mp4"]
BLOCK = 1 << 20


def run(command, output=subprocess.DEVNULL):
    """Wall seconds, peak resident bytes, status and output of a finished command."""
    begun = time.monotonic()
    with subprocess.Popen(list(map(str, command)), stdin=subprocess.DEVNULL, stdout=output,
                          stderr=subprocess.DEVNULL) as process:
        text = process.stdout.read() if output == subprocess.PIPE else b""
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    return time.monotonic() - begun, usage.ru_maxrss * 1024, process.returncode, text


def ffmpeg(*arguments):
    status = run(["ffmpeg", "-hide_banner", "-loglevel", "error", "-nostdin", "-y", *arguments])[2]
    if status != 0:
        sys.exit(f"compare_examine: ffmpeg ended with status {status}: {' '.join(map(str, arguments))}")


def out_of_memory(path):
    """Written to the disk, then forgotten by the page cache."""
    with open(path, "rb") as file:
        os.fsync(file.fileno())
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


@contextlib.contextmanager
def reading_held(folder, megabytes):
    """This program and what it starts read no faster from the disk that holds the folder."""
    if not megabytes:
        yield
        return
    root = pathlib.Path("/sys/fs/cgroup/blkio")
    group = root / f"rigproof-examine-{os.getpid()}"
    device = os.stat(folder).st_dev
    group.mkdir()
    try:
        (group / "blkio.throttle.read_bps_device").write_text(
            f"{os.major(device)}:{os.minor(device)} {round(megabytes * 1e6)}", encoding="ascii")
        (group / "cgroup.procs").write_text(str(os.getpid()), encoding="ascii")
        yield
    finally:
        (root / "cgroup.procs").write_text(str(os.getpid()), encoding="ascii")
        group.rmdir()


def disk_seconds(path):
    out_of_memory(path)
    begun = time.monotonic()
    with open(path, "rb", buffering=0) as file:
        while file.read(BLOCK):
            pass
    return time.monotonic() - begun


def examine(program, path):
    seconds, peak, status, text = run([program, "examine", path, "--json", "--quiet"],
                                      subprocess.PIPE)
    if status not in (0, 4, 5):
        sys.exit(f"compare_examine: examine ended with status {status}")
    return seconds, peak, json.loads(text)["recordings"][0]


def compare(program, path, turns):
    size = path.stat().st_size
    plain, cold, warm, listed, peaks = [], [], [], [], []
    for _ in range(turns):
        plain.append(disk_seconds(path))
        out_of_memory(path)
        seconds, peak, told = examine(program, path)
        cold.append(seconds)
        peaks.append(peak)
        seconds, peak, told = examine(program, path)
        warm.append(seconds)
        peaks.append(peak)
        listed.append(run(["ffprobe", "-v", "error", "-show_packets", "-of", "csv", path])[0])
    own, theirs = statistics.median(warm), statistics.median(listed)
    read, disk = size / statistics.median(cold), size / statistics.median(plain)
    packets = sum(track["present"] for track in told["tracks"])
    print(f"{path.name}: {told['length_s'] / 3600:.2f} h, {size / 1e9:.2f} GB, {packets} packets, "
          f"{told['verdict']}: {told['headline']}")
    print(f"  examine {own:.2f} s, ffprobe -show_packets -of csv {theirs:.2f} s: "
          f"{theirs / own:.1f} times as fast (20 is wanted)")
    print(f"  peak memory {max(peaks) / 2**20:.1f} MiB (below 64 is wanted)")
    print(f"  out of memory: {read / 1e6:.0f} MB/s, plain reading {disk / 1e6:.0f} MB/s: "
          f"{read / disk:.2f} of the disk's speed (0.5 is wanted)", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("program", type=pathlib.Path)
    parser.add_argument("--hours", type=float, default=10)
    parser.add_argument("--kbps", type=int, default=200)
    parser.add_argument("--raster", default="160x90")
    parser.add_argument("--rate", type=int, default=60)
    parser.add_argument("--turns", type=int, default=1)
    parser.add_argument("--containers", default="mkv,mp4,fmp4,ts,flv")
    parser.add_argument("--folder", type=pathlib.Path, default=None)
    parser.add_argument("--read-mb", type=float, default=0)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="rigproof-examine-", dir=asked.folder) as made:
        folder = pathlib.Path(made)
        clip = folder / "clip.mkv"
        ffmpeg("-f", "lavfi", "-i", f"testsrc2=size={asked.raster}:rate={asked.rate}", "-f", "lavfi", "-i",
               "sine=sample_rate=48000", "-t", CLIP_SECONDS, "-c:v", "libx264", "-preset",
               "ultrafast", "-bf", 2, "-b:v", f"{asked.kbps}k", "-c:a", "aac", "-b:a", "64k", clip)
        loops = round(asked.hours * 3600 / CLIP_SECONDS) - 1
        for container in asked.containers.split(","):
            path = folder / f"long.{container}"
            form = FRAGMENTED if container == "fmp4" else []
            ffmpeg("-stream_loop", loops, "-i", clip, "-c", "copy", *form, path)
            with reading_held(folder, asked.read_mb):
                compare(asked.program, path, asked.turns)
            path.unlink()


if __name__ == "__main__":
    main()
