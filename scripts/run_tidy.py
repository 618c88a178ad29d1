#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Runs clang-tidy over our sources, leaving out those that passed before unchanged.

A source's key is the hash of clang-tidy's version, the .clang-tidy files above it, its compile command, and the text
of the source and of every header of ours below it; a source that passed leaves a stamp of that name.
Sources that changed last are run first. With a budget, no source is begun after that many seconds,
and those that are left for a later run are named.

Usage: scripts/run_tidy.py BUILD_FOLDER [--budget SECONDS] [SOURCE...]
"""
import argparse
import concurrent.futures
import hashlib
import json
import os
import pathlib
import re
import subprocess
import sys
import time

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


def files_below(source: str) -> list[pathlib.Path]:
    files: set[pathlib.Path] = set()
    closure(pathlib.Path(source), files)
    return sorted(files)


def key_of(entry: dict, version: bytes) -> str:
    digest = hashlib.sha256(version)
    for folder in pathlib.Path(entry["file"]).relative_to(ROOT).parents:
        settings = ROOT / folder / ".clang-tidy"
        if settings.is_file():
            digest.update(settings.read_bytes())
    digest.update(entry.get("command", "").replace(str(ROOT), "").encode())
    for file in files_below(entry["file"]):
        digest.update(b"\0" + os.fsencode(file.relative_to(ROOT)) + b"\0" + file.read_bytes())
    return digest.hexdigest()


def ages() -> dict[str, int]:
    """Place of each file in the list of changes, newest first; work not committed is newest."""
    listed: list[str] = []
    for command in (["git", "diff", "--name-only", "HEAD"],
                    ["git", "log", "--format=", "--name-only", "-n", "500"]):
        listed += subprocess.run(command, cwd=ROOT, capture_output=True, text=True,
                                 check=False).stdout.splitlines()
    return {name: place for place, name in reversed(list(enumerate(listed)))}


def without_precompiled(build: pathlib.Path, into: pathlib.Path) -> None:
    """Writes build's commands to `into` without precompiled headers: GCC's are not clang's, and a
    source must name what it uses by itself."""
    text = (build / "compile_commands.json").read_text(encoding="utf-8")
    text = re.sub(r" -Winvalid-pch| -fpch-preprocess| -include [^ \"]*cmake_pch\.hxx", "", text)
    (into / "compile_commands.json").write_text(text, encoding="utf-8")


def tidy(build: pathlib.Path, source: str) -> tuple[bool, str]:
    done = subprocess.run(["clang-tidy", "-p", str(build), "--quiet", source],
                          stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
    return done.returncode == 0, done.stdout + (done.stderr if done.returncode else "")


def chosen_entries(build: pathlib.Path, commands: pathlib.Path, only: list[str]) -> list[dict]:
    wanted = {str(pathlib.Path(name).resolve()) for name in only}
    entries = json.loads((commands / "compile_commands.json").read_text(encoding="utf-8"))
    return [entry for entry in entries
            if pathlib.Path(entry["file"]).is_relative_to(ROOT)
            and not pathlib.Path(entry["file"]).is_relative_to(build)
            and (not wanted or entry["file"] in wanted)]


def main() -> int:
    arguments = argparse.ArgumentParser(description="clang-tidy over what changed")
    arguments.add_argument("build", type=pathlib.Path)
    arguments.add_argument("--budget", type=float, default=float("inf"))
    arguments.add_argument("source", nargs="*")
    asked = arguments.parse_intermixed_args()
    build = asked.build.resolve()
    stamps = pathlib.Path(os.environ.get("RIGPROOF_TIDY_STAMPS", build.parent / "tidy"))
    stamps.mkdir(parents=True, exist_ok=True)
    without_precompiled(build, stamps)
    version = subprocess.run(["clang-tidy", "--version"], capture_output=True, check=True).stdout

    keys = {entry["file"]: key_of(entry, version) for entry in chosen_entries(build, stamps, asked.source)}
    age = ages()
    oldest = len(age)
    todo = sorted((source for source, key in keys.items() if not (stamps / key).exists()),
                  key=lambda source: min(age.get(str(file.relative_to(ROOT)), oldest)
                                         for file in files_below(source)))
    print(f"clang-tidy: {len(keys)} sources, {len(keys) - len(todo)} unchanged since they passed")

    ends = time.monotonic() + asked.budget
    failures, left = 0, []
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        for source, result in zip(todo, pool.map(
                lambda name: tidy(stamps, name) if time.monotonic() < ends else None, todo)):
            if result is None:
                left.append(str(pathlib.Path(source).relative_to(ROOT)))
            elif result[0]:
                (stamps / keys[source]).touch()
            else:
                failures += 1
                print(result[1], flush=True)
    if left:
        print(f"clang-tidy: NOT RUN within {asked.budget:.0f} s, left for a later run "
              f"({len(left)}): {' '.join(left)}")
    print(f"clang-tidy: {failures} sources with complaints, {len(todo) - failures - len(left)} clean")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
