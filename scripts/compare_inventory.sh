#!/usr/bin/env bash
# Wall time of `rigproof inventory` against lspci -vv, lsusb -v, lsblk and lstopo together, on this
# PC, taking turns in one run. Usage: compare_inventory.sh PROGRAM [TURNS]
# Prints each turn, the median ratio, and what each part took; both with and without the time in
# which inventory opens encoders and decoders, which none of the four does. A tool that is not
# installed is named and ends the run: without it there is nothing to compare with.
set -euo pipefail
program=${1:?usage: compare_inventory.sh PROGRAM [TURNS]}
turns=${2:-11}

declare -A package=([lspci]=pciutils [lsusb]=usbutils [lsblk]=util-linux [lstopo-no-graphics]=hwloc)
missing=()
for tool in lspci lsusb lsblk lstopo-no-graphics; do
  command -v "$tool" >/dev/null || missing+=("$tool (Debian package ${package[$tool]})")
done
if [ ${#missing[@]} -gt 0 ]; then
  printf 'compare_inventory: missing: %s\n' "${missing[@]}" >&2
  exit 1
fi

exec python3 - "$program" "$turns" <<'PY'
import json, pathlib, statistics, subprocess, sys, time

program, turns = sys.argv[1], int(sys.argv[2])
TOOLS = [["lspci", "-vv"], ["lsusb", "-v"], ["lsblk"], ["lstopo-no-graphics"]]


def seconds_of(command):
    began = time.monotonic()
    done = subprocess.run(command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.DEVNULL, check=False)
    return time.monotonic() - began, done


def tools():
    return [seconds_of(tool)[0] for tool in TOOLS]


def ours():
    """Seconds in all, and of those the seconds in which encoders and decoders were opened."""
    taken, done = seconds_of([program, "inventory", "--json", "--quiet"])
    if done.returncode != 0:
        sys.exit(f"compare_inventory: {program} inventory ended with status {done.returncode}")
    runs = json.loads(done.stdout)["runs"]
    return taken, sum(run["seconds"] for run in runs if run["probe"] == "codecs"), runs


usb = list(pathlib.Path("/sys/bus/usb/devices").glob("*"))
print(f"this PC: {len(usb)} entries in /sys/bus/usb/devices, "
      f"{len(list(pathlib.Path('/sys/bus/pci/devices').glob('*')))} PCI devices")
for tool in TOOLS:
    status = seconds_of(tool)[1].returncode
    if status != 0:
        print(f"{' '.join(tool)} ended with status {status}: it has nothing to show here")
ours()  # the first one pays for reading the program from the disk
rows = []
for turn in range(turns):
    if turn % 2:
        theirs, own = tools(), ours()
    else:
        own, theirs = ours(), tools()
    rows.append((own, theirs))
names = [" ".join(tool) for tool in TOOLS]
print("turn  inventory ms  of it codecs ms  " + "  ".join(f"{name} ms" for name in names)
      + "  together ms")
for number, ((own, codecs, _), theirs) in enumerate(rows, 1):
    each = "  ".join(f"{1e3 * t:>{len(name) + 3}.1f}" for t, name in zip(theirs, names))
    print(f"{number:>4}  {1e3 * own:>12.1f}  {1e3 * codecs:>15.1f}  {each}  {1e3 * sum(theirs):>11.1f}")
for what, ratios in (
        ("inventory", sorted(own / sum(theirs) for (own, _, _), theirs in rows)),
        ("inventory without codecs",
         sorted((own - codecs) / sum(theirs) for (own, codecs, _), theirs in rows))):
    print(f"{what} / the four together: median {statistics.median(ratios):.2f}, "
          f"from {ratios[0]:.2f} to {ratios[-1]:.2f}, {turns} turns (at most 0.50 is wanted)")
parts = sorted(rows[-1][0][2], key=lambda run: -run["seconds"])
print("parts of the last inventory, ms: "
      + ", ".join(f"{run['probe']} {1e3 * run['seconds']:.1f}" for run in parts))
PY
