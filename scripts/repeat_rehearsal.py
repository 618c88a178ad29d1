#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Rehearses one production again and again, and prints how far its verdict and headroom move.

The production is invented: four cameras of 640x360, a program with a recording, isos of each.

Usage: scripts/repeat_rehearsal.py PROGRAM [--times 10] [--seconds 20]
"""

import argparse
import json
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile


def profile():
    cameras = [f"Camera {i + 1}" for i in range(4)]
    encode = {"codec": "h264", "encoder": "software", "effort": "least", "container": "mkv"}
    return {
        "format": "rigproof-profile", "version": 1, "name": "Repeated rehearsal",
        "note": "Invented production.", "duration_minutes": 10,
        "program": {"raster": "640x360", "rate": 25},
        "sources": [{"name": name, "arrives_by": "usb", "raster": "640x360", "rate": 25,
                     "pixel_format": "nv12", "content": "talk"} for name in cameras],
        "outputs": [{"name": "Recording", "kind": "recording", "takes": "program",
                     "bitrate_kbps": 3000, **encode}]
        + [{"name": f"Iso {name}", "kind": "iso", "takes": name, "bitrate_kbps": 2000, **encode}
           for name in cameras],
        "audio": None, "multiview": None, "displays": 0}


def main():
    parser = argparse.ArgumentParser(description="verdict and headroom of repeated rehearsals")
    parser.add_argument("program")
    parser.add_argument("--times", type=int, default=10)
    parser.add_argument("--seconds", type=int, default=20)
    asked = parser.parse_args()
    rows = {}
    verdicts = []
    with tempfile.TemporaryDirectory(prefix="rigproof-repeat-") as folder:
        path = pathlib.Path(folder) / "profile.json"
        path.write_text(json.dumps(profile()), encoding="utf-8")
        for number in range(asked.times):
            load = os.getloadavg()[0]
            done = subprocess.run(
                [asked.program, "rehearse", str(path), "--seconds", str(asked.seconds), "--json",
                 "--quiet", "--record-to", folder], capture_output=True, text=True, check=False)
            if done.returncode in (1, 2):
                sys.exit(done.stderr)
            result = json.loads(done.stdout)
            verdicts.append(result["verdict"])
            measured = {row["resource"]: row["headroom_percent"] for row in result["headroom"]
                        if row["headroom_percent"] is not None and row["basis"] == "measured"}
            for resource, percent in measured.items():
                rows.setdefault(resource, []).append(percent)
            print(f"run {number + 1}: {result['verdict']}, "
                  + ", ".join(f"{name} {percent:.1f} %" for name, percent in measured.items())
                  + f" (load average before {load:.1f})", flush=True)
    print(f"\nverdicts: {', '.join(sorted(set(verdicts)))}\n\n"
          "| headroom of | lowest | median | highest | apart |\n|---|---|---|---|---|")
    for name, values in rows.items():
        print(f"| {name} | {min(values):.1f} % | {statistics.median(values):.1f} % | "
              f"{max(values):.1f} % | {max(values) - min(values):.1f} points |")


if __name__ == "__main__":
    main()
