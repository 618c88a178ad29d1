# SPDX-License-Identifier: Apache-2.0
"""Too little memory for the recorder: a group that a hog shares with it, and swap on a loop device, so
that the recorder's own pages leave and have to come back from a disk."""

import contextlib
import pathlib
import subprocess
import sys
import time

from faults import Unable

SWAP_MB = 1024

HOG = """
import mmap, sys, time
block = mmap.mmap(-1, int(sys.argv[1]) << 20)
end = time.monotonic() + float(sys.argv[2])
while time.monotonic() < end:
  for at in range(0, len(block), 4096): block[at] = 1
"""


def ran(*command):
    done = subprocess.run(list(map(str, command)), check=False, capture_output=True, text=True)
    if done.returncode != 0:
        raise Unable(f"{command[0]}: {done.stderr.strip()[-100:]}")
    return done.stdout.strip()


def swap_device(trial):
    """A swap on a file of our own, past the page cache; gone at the end of the trial."""
    file = trial.kept / "swap"
    trial.stack.callback(file.unlink, missing_ok=True)
    with open(file, "wb") as empty:
        for _ in range(SWAP_MB // 16):
            empty.write(bytes(16 << 20))
    file.chmod(0o600)
    device = ran("losetup", "--find", "--show", "--direct-io=on", file)
    trial.stack.callback(subprocess.run, ["losetup", "-d", device], check=False)
    ran("mkswap", device)
    ran("swapon", device)
    trial.stack.callback(subprocess.run, ["swapoff", device], check=False)
    return device


def major_faults(pid):
    """Pages of a process that had to come from a disk."""
    return int(pathlib.Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()[9])


def memory_hog(trial):
    """The group may keep a share of what the recorder alone needs, while a neighbour in it touches more."""
    swap_device(trial)
    group = trial.group("memory")
    begin, length = trial.random.uniform(4, 7), trial.random.uniform(6, 9)
    share = trial.random.uniform(0.3, 0.5)
    limit = "memory.limit_in_bytes" if group.version == 1 else "memory.max"
    trial.told = f"{share:.2f} of its memory from {begin:.1f} s for {length:.1f} s"
    before = []

    def come():
        encoder = trial.encoder()
        before.append(major_faults(encoder))
        own = int(pathlib.Path(f"/proc/{encoder}/statm").read_text("ascii").split()[1]) * 4096
        hog = subprocess.Popen([*group.entering(), sys.executable, "-c", HOG, "300", str(length)])
        trial.stack.callback(hog.wait)
        trial.stack.callback(hog.kill)
        room = int(share * own) + (16 << 20)
        for _ in range(20):  # the kernel refuses while it cannot make room
            with contextlib.suppress(Unable):
                group.write(limit, room)
                return
            time.sleep(0.1)
        raise Unable("the group's memory could not be limited")

    def go():
        group.write(limit, 8 << 30)
        with contextlib.suppress(OSError, RuntimeError):
            trial.told += f", {major_faults(trial.encoder()) - before[0]} major faults"
    trial.at(begin, come)
    trial.at(begin + length, go)
