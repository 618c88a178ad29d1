#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Fails when a file includes a room that it may not, when a room is too full or shows too many headers,
when a header or a path of one platform stands outside that platform's files, when a file is longer than
the limit, or lacks the line of its licence.

Usage: scripts/check_layers.py [--counts] [ROOT]
--counts prints, for each room, how many of its headers are seen outside, and how many may be.
"""
import argparse
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
MAX_SEEN = 4  # headers of a room that are used outside it
# Rooms that show more, as many as on the day of the count: a number here only ever goes down.
SEEN = {
    "base": 8, "base/stats": 5, "base/system": 8, "profiles/demand": 10, "profiles/text": 10,
    "probes/data": 11, "probes/procfs": 8, "probes/cpu": 6, "probes/recording/containers": 8,
    "probes/line": 5, "probes/storage": 7, "bench/plan": 5, "bench/stages": 10, "bench/feeds": 10,
    "bench/runs": 7, "report/data": 9, "report/fields": 14, "report/cpu": 6, "report/loads": 21,
    "report/headroom": 6, "report/explain": 5, "report/show/rows": 16, "cli/options": 5, "cli/system": 15,
    "cli/runs": 7,
}
LICENCE = "// SPDX-License-Identifier: Apache-2.0"
INCLUDE = re.compile(r'^\s*#include "([^"]+)"')
# Headers that only a POSIX system or only Windows has.
PLATFORM = re.compile(r"^\s*#\s*include\s*<(unistd|fcntl|poll|signal|pwd|grp|termios|netdb|ifaddrs|dirent|sched|"
                      r"semaphore|dlfcn|spawn|glob|fnmatch|ftw|syslog|mntent|pthread|(sys|linux|asm|arpa|netinet|net|"
                      r"scsi|sound)/[\w/]+|windows|winsock2|ws2tcpip|setupapi|cfgmgr32|winioctl|winreg)\.h>")
PLATFORM_FILE = re.compile(r"_(linux|windows)\.(h|cc)$")
# A path of Linux: "/sys/class/net", "/proc", or relative to a machine's root, "sys/class".
PLATFORM_PATH = re.compile(r"(?<![\w.])/(proc|sys|etc|dev)(?![\w-])|^(proc|sys|etc|dev)(/|$)")
# Comments, which may name any path, and literals, raw ones first.
COMMENT_OR_LITERAL = re.compile(r'//[^\n]*|/\*.*?\*/|R"(?P<end>[^(\s]*)\((?P<raw>.*?)\)(?P=end)"|'
                                r'"(?P<text>(?:\\.|[^"\\\n])*)"|(?<![0-9a-fA-F])\'(?:\\.|[^\'\\\n])+\'', re.DOTALL)

# Sources that may name such paths: why, and which. What was captured on Linux is parsed on every platform,
# so these read a tree that lies below a machine root, wherever it came from, and call no system.
TREE_READERS = {
    "follows the links of a captured tree inside it, and knows one by its sys/": """
        base/system/machine_root.cc
    """,
    "the inventory of a machine, this one or a captured one": """
        probes/audio/sound.cc probes/board/board.cc probes/cpu/cgroup.cc probes/cpu/cpu.cc
        probes/cpu/hwloc_topology.cc probes/cpu/idle.cc probes/cpu/throttle_counters.cc probes/cpu/topology.cc
        probes/cpu/topology_lists.cc probes/network/network.cc probes/network/routes.cc probes/pci_gpu/display.cc
        probes/pci_gpu/pci.cc probes/settings/file_watchers.cc probes/settings/settings.cc
        probes/settings/sleep_settings.cc probes/settings/unit_files.cc probes/settings/work_timers.cc
        probes/storage/block_layers.cc probes/storage/disks.cc probes/storage/storage.cc
        probes/storage/swap_areas.cc probes/usb/tree_read.cc
    """,
    "parsers of texts that a kernel wrote, which say in an error whose text it was": """
        probes/procfs/process_texts.cc probes/procfs/system_texts.cc
    """,
    "what of a tree may leave in an archive, and what is made nameless in it": """
        probes/captured/capture_admission.cc probes/captured/capture_admission.h
        probes/captured/capture_contents.cc probes/captured/capture_list.cc probes/captured/capture_machine.cc
        probes/captured/capture_mounts.cc probes/captured/private_paths.cc
    """,
}
# Sources that ought not to: they follow what lives, or word for people what only Linux has. This list
# only ever gets shorter: the path moves into a *_linux source, the words into a table for each platform.
NOT_YET = {
    "words for people": """
        cli/options/option_table.cc report/headroom/cpu.cc report/line_check/findings.cc
        report/rules/storage.cc report/rules/unattended.cc report/rules/usb_devices.cc
    """,
}


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


def platform_paths(text: str) -> list[tuple[int, str]]:
    """Line and text of each literal in a source that names a path of one platform."""
    found = []
    for match in COMMENT_OR_LITERAL.finditer(text):
        literal = match["raw"] or match["text"] or ""
        line = text.count("\n", 0, match.start()) + 1
        if PLATFORM_PATH.search(literal) and not INCLUDE.match(text.splitlines()[line - 1]):
            found.append((line, " ".join(literal.split())))
    return found


def listed(table: dict[str, str]) -> set[str]:
    return {name for names in table.values() for name in names.split()}


def check_platform(rel: str, text: str) -> list[str]:
    if PLATFORM_FILE.search(rel):
        return []
    found = [f"{rel}:{number}: headers of one platform stand in *_linux and *_windows only"
             for number, line in enumerate(text.splitlines(), 1) if PLATFORM.match(line)]
    paths = platform_paths(text)
    known = rel in listed(TREE_READERS) | listed(NOT_YET)
    if known and not paths:
        found.append(f"{rel}: names no path of one platform any more: take it off the list in scripts/check_layers.py")
    if not known:
        found += [f'{rel}:{line}: "{literal}" is a path of one platform: those stand in *_linux and *_windows, and in '
                  "readers of a machine's tree that scripts/check_layers.py lists" for line, literal in paths]
    return found


def check(path: pathlib.Path, root: pathlib.Path) -> list[str]:
    rel = path.relative_to(root).as_posix()
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines()
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
    return found + check_platform(rel, text)


def sources(root: pathlib.Path, areas: list[str]) -> list[pathlib.Path]:
    return [path for area in areas for path in sorted((root / area).rglob("*")) if path.suffix in {".h", ".cc"}]


def seen_outside(root: pathlib.Path) -> dict[str, set[str]]:
    """room -> its headers that other rooms include; tests may include any."""
    seen = {room: set() for room in ROOMS}
    for path in sources(root, [*SEES]):
        mine = room_of(path.relative_to(root).as_posix())
        for line in path.read_text(encoding="utf-8").splitlines():
            if (match := INCLUDE.match(line)) and (theirs := room_of(match[1])) != mine and theirs in seen:
                seen[theirs].add(match[1])
    return seen


def check_seen(seen: dict[str, set[str]]) -> list[str]:
    found = []
    for room, headers in seen.items():
        allowed = SEEN.get(room, MAX_SEEN)
        if len(headers) > allowed:
            found.append(f"{room}/: {len(headers)} headers are used outside, limit {allowed}: "
                         + " ".join(sorted(headers)))
        elif room in SEEN and len(headers) < allowed:
            found.append(f"{room}/: only {len(headers)} headers are used outside: lower its number in "
                         "scripts/check_layers.py")
    return found


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--counts", action="store_true")
    arguments.add_argument("root", nargs="?", default=".", type=pathlib.Path)
    asked = arguments.parse_args()
    root = asked.root.resolve()
    seen = seen_outside(root)
    if asked.counts:
        for room, headers in seen.items():
            print(f"{len(headers):3} of {SEEN.get(room, MAX_SEEN):2}  {room}")
    found = []
    sizes = collections.Counter()
    for path in sources(root, [*SEES, "tests"]):
        rel = path.relative_to(root).as_posix()
        found += check(path, root)
        sizes[room_of(rel)] += not rel.startswith("tests/")
    found += [f"{room}/: {files} sources, limit {MAX_FILES}"
              for room, files in sizes.items() if files > MAX_FILES]
    found += check_seen(seen)
    found += [f"{rel}: listed in scripts/check_layers.py and not there"
              for rel in sorted(listed(TREE_READERS) | listed(NOT_YET)) if not (root / rel).exists()]
    print("\n".join(found) or "layers: ok")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
