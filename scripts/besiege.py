#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Measures what slow and greedy connections do to the two servers of rigproof: how long its owner
waits for an answer, most memory that was resident, and how long Ctrl-C takes, all during the siege.

Usage: scripts/besiege.py PROGRAM [CONNECTIONS] [SECONDS]
"""

import os
import pathlib
import re
import resource
import signal
import subprocess
import sys
import tempfile
import time
import urllib.request

PROGRAM = os.path.abspath(sys.argv[1])
CONNECTIONS = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
SECONDS = float(sys.argv[3]) if len(sys.argv) > 3 else 20
os.environ["RIGPROOF_PROGRAM"] = PROGRAM
sys.path.append(str(pathlib.Path(__file__).resolve().parent.parent / "tests" / "e2e"))
from local_page import LocalPage  # noqa: E402  pylint: disable=wrong-import-position
from siege import Siege, asked_again, most_resident_mib  # noqa: E402  pylint: disable=wrong-import-position


def seconds_of(action):
    before = time.monotonic()
    action()
    return time.monotonic() - before


def measure(name, host, port, process, ask):
    waits = []
    again = []
    with Siege(host, port, CONNECTIONS):
        until = time.monotonic() + SECONDS
        while time.monotonic() < until:
            waits.append(seconds_of(lambda: again.append(asked_again(ask)[1])))
            time.sleep(0.1)
        memory = most_resident_mib(process.pid)
        process.send_signal(signal.SIGINT)
        end = seconds_of(lambda: process.communicate(timeout=60))
    waits.sort()
    print(f"{name}: {CONNECTIONS} connections for {SECONDS:g} s; owner's answer median "
          f"{waits[len(waits) // 2] * 1e3:.0f} ms, longest of {len(waits)} {waits[-1] * 1e3:.0f} ms, "
          f"{sum(again)} asked again; "
          f"most resident {memory:.1f} MiB; Ctrl-C {end:.2f} s", flush=True)


def besiege_page(folder):
    page = LocalPage(folder / "shows")

    def ask():
        answer = page.get("/api/state")
        assert answer.status == 200, answer.status
    try:
        measure("open", page.host, page.port, page.process, ask)
    finally:
        page.process.kill()


def besiege_metrics(folder):
    with subprocess.Popen(
            [PROGRAM, "watch", "--into", str(folder / "log"), "--metrics", "127.0.0.1:0"],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            text=True) as process:
        url = next(found.group(0) for found in (
            re.search(r"http://127\.0\.0\.1:\d+/metrics", line) for line in process.stderr) if found)

        def ask():
            with urllib.request.urlopen(url, timeout=60) as answer:
                assert answer.read().endswith(b"# EOF\n")
        try:
            measure("watch --metrics", "127.0.0.1", int(url.split(":")[2].split("/")[0]), process,
                    ask)
        finally:
            process.kill()


def main():
    _, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, most))
    with tempfile.TemporaryDirectory(prefix="rigproof-siege-") as name:
        besiege_page(pathlib.Path(name))
        besiege_metrics(pathlib.Path(name))


if __name__ == "__main__":
    main()
