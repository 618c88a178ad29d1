#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Wall time of `rigproof inventory` against lspci -vv, lsusb -v, lsblk and lstopo together, on this
PC, taking turns in one run.

Prints each turn, the median ratio, and what each part took. A tool that is not installed is named
and ends the run: without it there is nothing to compare with.

Usage: scripts/compare_inventory.py PROGRAM [TURNS]
"""

import argparse
import json
import pathlib
import shutil
import statistics
import subprocess
import sys
import time

TOOLS = [["lspci", "-vv"], ["lsusb", "-v"], ["lsblk"], ["lstopo-no-graphics"]]
PACKAGES = {"lspci": "pciutils", "lsusb": "usbutils", "lsblk": "util-linux",
            "lstopo-no-graphics": "hwloc"}


def end_where_tools_are_missing():
    missing = [f"{tool} (Debian package {package})" for tool, package in PACKAGES.items()
               if shutil.which(tool) is None]
    if missing:
        sys.exit("\n".join(f"compare_inventory: missing: {each}" for each in missing))


def seconds_of(command):
    began = time.monotonic()
    done = subprocess.run(command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.DEVNULL, check=False)
    return time.monotonic() - began, done


def time_tools():
    return [seconds_of(tool)[0] for tool in TOOLS]


def time_inventory(program):
    """Seconds in all, and the probes with theirs."""
    taken, done = seconds_of([program, "inventory", "--json", "--quiet"])
    if done.returncode != 0:
        sys.exit(f"compare_inventory: {program} inventory ended with status {done.returncode}")
    return taken, json.loads(done.stdout)["runs"]


def take_turns(program, turns):
    time_inventory(program)  # the first one pays for reading the program from the disk
    rows = []
    for turn in range(turns):
        if turn % 2:
            theirs, own = time_tools(), time_inventory(program)
        else:
            own, theirs = time_inventory(program), time_tools()
        rows.append((own, theirs))
    return rows


def tell_of_this_pc():
    usb, pci = (len(list(pathlib.Path(f"/sys/bus/{bus}/devices").glob("*")))
                for bus in ("usb", "pci"))
    print(f"this PC: {usb} entries in /sys/bus/usb/devices, {pci} PCI devices")
    for tool in TOOLS:
        status = seconds_of(tool)[1].returncode
        if status != 0:
            print(f"{' '.join(tool)} ended with status {status}: it has nothing to show here")


def tell_turns(rows):
    names = [" ".join(tool) for tool in TOOLS]
    print("turn  inventory ms  " + "  ".join(f"{name} ms" for name in names)
          + "  together ms")
    for number, ((own, _), theirs) in enumerate(rows, 1):
        each = "  ".join(f"{1e3 * t:>{len(name) + 3}.1f}" for t, name in zip(theirs, names))
        print(f"{number:>4}  {1e3 * own:>12.1f}  {each}  {1e3 * sum(theirs):>11.1f}")


def tell_ratios(rows):
    ratios = sorted(own / sum(theirs) for (own, _), theirs in rows)
    print(f"inventory / the four together: median {statistics.median(ratios):.2f}, "
          f"from {ratios[0]:.2f} to {ratios[-1]:.2f}, {len(rows)} turns (at most 0.50 is wanted)")
    parts = sorted(rows[-1][0][1], key=lambda run: -run["seconds"])
    print("parts of the last inventory, ms: "
          + ", ".join(f"{run['probe']} {1e3 * run['seconds']:.1f}" for run in parts))


def main():
    parser = argparse.ArgumentParser(description="time of inventory beside that of general tools")
    parser.add_argument("program")
    parser.add_argument("turns", nargs="?", type=int, default=11)
    asked = parser.parse_args()
    if asked.turns < 1:
        parser.error("turns: at least one")
    end_where_tools_are_missing()
    tell_of_this_pc()
    rows = take_turns(asked.program, asked.turns)
    tell_turns(rows)
    tell_ratios(rows)


if __name__ == "__main__":
    main()
