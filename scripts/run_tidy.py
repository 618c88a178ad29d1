#!/usr/bin/env python3
"""Runs clang-tidy over our sources, leaving out those that passed before unchanged.

A source's key is the hash of clang-tidy's version, .clang-tidy, its compile command, and the text
of the source and of every header of ours below it; a source that passed leaves a stamp of that name.

Usage: scripts/run_tidy.py BUILD_FOLDER [SOURCE...]
"""
import concurrent.futures
import hashlib
import json
import os
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
INCLUDE = re.compile(rb'^\s*#include "([^"]+)"', re.MULTILINE)


def closure(path: pathlib.Path, seen: set[pathlib.Path]) -> None:
    """Adds path and the headers of ours that it includes, at any depth, to seen."""
    if path in seen or not path.is_file():
        return
    seen.add(path)
    for name in INCLUDE.findall(path.read_bytes()):
        for folder in (ROOT, path.parent):
            closure(folder / os.fsdecode(name), seen)


def key_of(entry: dict, version: bytes) -> str:
    files: set[pathlib.Path] = set()
    closure(pathlib.Path(entry["file"]), files)
    digest = hashlib.sha256(version)
    digest.update((ROOT / ".clang-tidy").read_bytes())
    digest.update(entry.get("command", "").replace(str(ROOT), "").encode())
    for file in sorted(files):
        digest.update(b"\0" + os.fsencode(file.relative_to(ROOT)) + b"\0" + file.read_bytes())
    return digest.hexdigest()


def tidy(build: pathlib.Path, source: str) -> tuple[bool, str]:
    done = subprocess.run(["clang-tidy", "-p", str(build), "--quiet", source],
                          stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
    return done.returncode == 0, done.stdout + (done.stderr if done.returncode else "")


def main() -> int:
    if len(sys.argv) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    build = pathlib.Path(sys.argv[1]).resolve()
    only = {str(pathlib.Path(name).resolve()) for name in sys.argv[2:]}
    stamps = pathlib.Path(os.environ.get("RIGPROOF_TIDY_STAMPS", build.parent / "tidy"))
    stamps.mkdir(parents=True, exist_ok=True)
    version = subprocess.run(["clang-tidy", "--version"], capture_output=True, check=True).stdout

    entries = json.loads((build / "compile_commands.json").read_text(encoding="utf-8"))
    entries = [e for e in entries if pathlib.Path(e["file"]).is_relative_to(ROOT)
               and not pathlib.Path(e["file"]).is_relative_to(build)
               and (not only or e["file"] in only)]
    keys = {entry["file"]: key_of(entry, version) for entry in entries}
    todo = sorted(source for source, key in keys.items() if not (stamps / key).exists())
    print(f"clang-tidy: {len(keys)} sources, {len(keys) - len(todo)} unchanged since they passed")

    failures = 0
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        for source, (passed, text) in zip(todo, pool.map(lambda s: tidy(build, s), todo)):
            if passed:
                (stamps / keys[source]).touch()
            else:
                failures += 1
                print(text, flush=True)
    print(f"clang-tidy: {failures} sources with complaints")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
