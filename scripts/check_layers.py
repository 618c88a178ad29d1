#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Fails when a file includes a folder it may not, when a header is out of the
report's reach, when a file is longer than the limit, or lacks the line of its licence.

Usage: scripts/check_layers.py [ROOT]
"""
import pathlib
import re
import sys

# folder -> folders it may include (its own is always allowed)
MAY_INCLUDE = {
    "base": set(),
    "profiles": {"base"},
    "probes": {"base"},
    "bench": {"base", "profiles"},
    "report": {"base", "profiles", "probes", "bench"},
    "cli": {"base", "profiles", "probes", "bench", "report"},
    "tests": {"base", "profiles", "probes", "bench", "report", "cli"},
}
# the only headers report/ may take from the two folders that touch the machine: plain data
REPORT_SEES = "data/"
MAX_LINES = 600
LICENCE = "// SPDX-License-Identifier: Apache-2.0"
INCLUDE = re.compile(r'^\s*#include "([a-z]+)/([^"]+)"')


def check(path: pathlib.Path, root: pathlib.Path) -> list[str]:
    rel = path.relative_to(root).as_posix()
    folder = rel.split("/")[0]
    lines = path.read_text(encoding="utf-8").splitlines()
    found = []
    if lines[:1] != [LICENCE]:
        found.append(f"{rel}:1: the first line is not {LICENCE!r}")
    if len(lines) > MAX_LINES:
        found.append(f"{rel}: {len(lines)} lines, limit {MAX_LINES}")
    for number, line in enumerate(lines, 1):
        match = INCLUDE.match(line)
        if not match:
            continue
        target, name = match.groups()
        header = f"{target}/{name}"
        if target != folder and target not in MAY_INCLUDE[folder]:
            found.append(f"{rel}:{number}: {folder}/ may not include {header}")
        elif folder == "report" and target in {"probes", "bench"} and not name.startswith(REPORT_SEES):
            found.append(f"{rel}:{number}: report/ sees only data headers, not {header}")
    return found


def main() -> int:
    root = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else ".").resolve()
    found = []
    for folder in MAY_INCLUDE:
        for path in sorted((root / folder).rglob("*")):
            if path.suffix in {".h", ".cc"}:
                found += check(path, root)
    print("\n".join(found) or "layers: ok")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
