#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Holds the engine against the ffmpeg program, and against the copies it must make.

The same clip, encoder settings, threads and container on both sides, run in turns in one go; prints
the table that stands in bench/RESULTS.md. Build first: cmake --build build/release --target engine_run

Usage: scripts/compare_engine.py BUILD_FOLDER [RECORDINGS [ROUNDS]]
"""

import json
import os
import pathlib
import re
import statistics
import subprocess
import sys
import tempfile
import time

SECONDS = 30
RATE = 25
RASTER = "1280x720"
CLIP_FRAMES = 12  # no more than the engine's ring takes, so that both encode the same pictures
KBPS = 4000
PRESET = {"least": "ultrafast", "low": "superfast"}


def timed(command):
    """Wall and CPU seconds of a finished command, and its output."""
    begun = time.monotonic()
    with subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True) as process:
        output = process.stdout.read()
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    wall = time.monotonic() - begun
    if process.returncode != 0:
        sys.exit(f"{command[0]} failed:\n{output}")
    return wall, usage.ru_utime + usage.ru_stime, output


def make_clip(path):
    subprocess.run(["ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i",
                    f"testsrc2=size={RASTER}:rate={RATE}", "-vf", "noise=alls=12:allf=t",
                    "-frames:v", str(CLIP_FRAMES), "-pix_fmt", "yuv420p", str(path)], check=True)


def profile(recordings, effort, clip):
    names = [f"Camera {i + 1}" for i in range(recordings)]
    return {
        "format": "rigproof-profile", "version": 1, "name": "Engine comparison",
        "note": "Invented production: recordings only.", "duration_minutes": 1,
        # The program is composed in any production; as small and slow as it goes, it costs nothing.
        "program": {"raster": "64x64", "rate": 1},
        "sources": [{"name": n, "arrives_by": "usb", "raster": RASTER, "rate": RATE,
                     "pixel_format": "yuv420p", "content": {"clip": str(clip)}} for n in names],
        "outputs": [{"name": f"Iso {n}", "kind": "iso", "takes": n, "codec": "h264",
                     "bitrate_kbps": KBPS, "encoder": "software", "effort": effort,
                     "container": "mkv"} for n in names],
        "audio": None, "multiview": None, "displays": 0}


def run_ffmpeg(recordings, effort, threads, clip, folder):
    command = ["ffmpeg", "-v", "error", "-nostdin", "-y"]
    for _ in range(recordings):
        command += ["-stream_loop", "-1", "-i", str(clip)]
    for i in range(recordings):
        command += ["-map", f"{i}:v", "-frames:v", str(SECONDS * RATE), "-c:v", "libx264",
                    "-preset", PRESET[effort], "-b:v", f"{KBPS}k", "-maxrate", f"{KBPS}k",
                    "-bufsize", f"{KBPS}k", "-g", str(2 * RATE), "-threads", str(threads),
                    str(folder / f"ffmpeg-{i}.mkv")]
    return timed(command)


def engine(build, mode, profile_path, folder):
    _, _, output = timed([str(build / "bench/engine_run"), str(profile_path), str(folder), mode,
                          str(SECONDS)])
    return {key: float(value) for key, value in re.findall(r"(\w+)=([0-9.]+)", output)}


def compare_encoding(build, recordings, effort, rounds, folder):
    clip, path = folder / "clip.y4m", folder / "profile.json"
    path.write_text(json.dumps(profile(recordings, effort, clip)), encoding="utf-8")
    threads = max(1, -(-2 * os.cpu_count() // recordings))
    cpu, speed = [], []
    for _ in range(rounds):
        ours = engine(build, "flat", path, folder)
        wall, cpu_s, _ = run_ffmpeg(recordings, effort, min(threads, os.cpu_count()), clip, folder)
        cpu.append(ours["cpu_s"] / cpu_s)
        speed.append(wall / ours["wall_s"])
    print(f"| {recordings} recordings {RASTER}, effort {effort} | {statistics.median(cpu):.3f} "
          f"({min(cpu):.3f} to {max(cpu):.3f}) | {statistics.median(speed):.3f} "
          f"({min(speed):.3f} to {max(speed):.3f}) |", flush=True)


def compare_copies(build, recordings, rounds, folder):
    path = folder / "copies.json"
    value = profile(recordings, "least", folder / "clip.y4m")
    value["program"] = {"raster": RASTER, "rate": RATE}
    value["multiview"] = {"raster": "640x360", "rate": RATE}
    for source in value["sources"]:
        source |= {"pixel_format": "nv12", "content": "talk"}
    path.write_text(json.dumps(value), encoding="utf-8")
    ratios = [engine(build, "null", path, folder)["wall_s"]
              / engine(build, "copies", path, folder)["copies_s"] for _ in range(rounds)]
    print(f"| {recordings} sources nv12 {RASTER}, program, multiview | "
          f"{statistics.median(ratios):.3f} ({min(ratios):.3f} to {max(ratios):.3f}) |", flush=True)


def main():
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    build = pathlib.Path(sys.argv[1]).resolve()
    most = int(sys.argv[2]) if len(sys.argv) > 2 else 4
    rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 5
    with tempfile.TemporaryDirectory(prefix="rigproof-compare-") as name:
        folder = pathlib.Path(name)
        make_clip(folder / "clip.y4m")
        print(f"{rounds} rounds in turns of {SECONDS} s of production; median (least to most); "
              f"load average before: {os.getloadavg()[0]:.1f}\n")
        print("| encode | CPU seconds, engine / ffmpeg | frame rate, engine / ffmpeg |\n|---|---|---|")
        for recordings in sorted({1, most}):
            for effort in PRESET:
                compare_encoding(build, recordings, effort, rounds, folder)
        print("\n| without encoders | time, engine / copies alone |\n|---|---|")
        compare_copies(build, most, rounds, folder)


if __name__ == "__main__":
    main()
