#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Fails when a file includes a room that it may not, when a room is too full, when a header of one
platform stands outside that platform's files, when a file is longer than the limit, or lacks the line
of its licence.

Usage: scripts/check_layers.py [ROOT]
"""
import collections
import pathlib
import re
import sys

# A room sees itself and the rooms above it in this list, as far as SEES lets its area.
ROOMS = """
base base/media base/stats base/system
profiles profiles/demand profiles/text
probes/data probes/board probes/procfs probes/cpu
probes/recording/bytes probes/recording/codecs probes/recording/times probes/recording/iso
probes/recording/matroska probes/recording/containers probes/recording
probes/sysfs probes/audio probes/line probes/network probes/pci_gpu probes/storage probes/settings
probes/usb probes probes/captured probes/watch_log probes/sampling
bench/data bench/disk bench/plan bench/stages bench/feeds bench/pipeline bench/runs bench/ballast
bench/compare bench/costs
report/data report/fields report/words report/cpu report/loads report/compare report/headroom
report/line_check report/recordings report/explain report/rules report/moves report/show
report/predict report/assess report/show/rows report/show/terminal report/what_if report/stored report/show/html
cli/http cli/options cli/man cli/system cli/runs cli/local_page cli/commands cli
""".split()
# area -> areas that it may include beside its own
SEES = {
    "base": set(),
    "profiles": {"base"},
    "probes": {"base"},
    "bench": {"base", "profiles"},
    "report": {"base", "profiles", "probes", "bench"},
    "cli": {"base", "profiles", "probes", "bench", "report"},
}
# What report/ may take from the two areas that touch the machine: plain data.
REPORT_SEES = {"probes/data", "bench/data"}
MAX_LINES = 600
MAX_FILES = 44  # in a room
LICENCE = "// SPDX-License-Identifier: Apache-2.0"
INCLUDE = re.compile(r'^\s*#include "([^"]+)"')
# Headers that only a POSIX system or only Windows has.
PLATFORM = re.compile(r"^\s*#include <(unistd|fcntl|poll|signal|pwd|termios|netdb|ifaddrs|dirent|sched|dlfcn|spawn|"
                      r"pthread|sys/\w+|linux/\w+|arpa/\w+|netinet/\w+|net/\w+|windows|winsock2|ws2tcpip|setupapi|"
                      r"cfgmgr32|winioctl)\.h>")
PLATFORM_FILE = re.compile(r"_(linux|windows)\.(h|cc)$")


def room_of(path: str) -> str:
    return path.rsplit("/", 1)[0]


def wrong_include(mine: str, header: str) -> str | None:
    """Why a file of the room `mine` may not include `header`; None where it may."""
    theirs = room_of(header)
    area, other = mine.split("/")[0], theirs.split("/")[0]
    if other not in {*SEES, "tests"} or theirs == mine:
        return None
    if area != other and other not in SEES[area]:
        return f"{area}/ may not include {header}"
    if area == "report" and other in {"probes", "bench"} and theirs not in REPORT_SEES:
        return f"report/ sees only data headers, not {header}"
    if area == other and (theirs not in ROOMS or mine not in ROOMS):
        return None  # what is generated, or a room that is told of already
    if area == other and ROOMS.index(theirs) > ROOMS.index(mine):
        return f"{mine}/ stands above {theirs}/ in the list of rooms and may not include {header}"
    return None


def check(path: pathlib.Path, root: pathlib.Path) -> list[str]:
    rel = path.relative_to(root).as_posix()
    lines = path.read_text(encoding="utf-8").splitlines()
    found = []
    if lines[:1] != [LICENCE]:
        found.append(f"{rel}:1: the first line is not {LICENCE!r}")
    if len(lines) > MAX_LINES:
        found.append(f"{rel}: {len(lines)} lines, limit {MAX_LINES}")
    if rel.startswith("tests/"):
        return found
    if room_of(rel) not in ROOMS:
        found.append(f"{rel}: no room of that name in scripts/check_layers.py")
    for number, line in enumerate(lines, 1):
        if (match := INCLUDE.match(line)) and (why := wrong_include(room_of(rel), match[1])):
            found.append(f"{rel}:{number}: {why}")
        if PLATFORM.match(line) and not PLATFORM_FILE.search(rel):
            found.append(f"{rel}:{number}: headers of one platform stand in *_linux and *_windows only")
    return found


def main() -> int:
    root = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else ".").resolve()
    found = []
    sizes = collections.Counter()
    for area in [*SEES, "tests"]:
        for path in sorted((root / area).rglob("*")):
            if path.suffix in {".h", ".cc"}:
                found += check(path, root)
                sizes[room_of(path.relative_to(root).as_posix())] += area != "tests"
    found += [f"{room}/: {files} sources, limit {MAX_FILES}"
              for room, files in sizes.items() if files > MAX_FILES]
    print("\n".join(found) or "layers: ok")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
