# SPDX-License-Identifier: Apache-2.0
"""Faults injected into this PC while a writer records from a camera that never waits, each with the
causes that explain may rank first, and the writers that cannot have it. Moments, lengths and strengths
come from a seeded random generator. What this PC lacks raises Unable, and is said.

Every fault is what it claims to be, but one: the clock of a shared PC is not set; a library laid under
camera and watch tells both of them another wall clock. Steal by a host and throttling by heat cannot
be made from inside a PC."""

import dataclasses
import mmap
import os
import shutil
import signal
import subprocess
import sys
import time

import faults
from faults import Unable
from memory_fault import memory_hog
from recording_trial import Sink

WALL_CLOCK = r"""
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>
static long ahead_ms(void) {
  static volatile long *shared;
  if (!shared) {
    int file = open(getenv("WALL_AHEAD"), O_RDONLY);
    shared = mmap(0, sizeof(long), PROT_READ, MAP_SHARED, file, 0);
    close(file);
  }
  return *shared;
}
int clock_gettime(clockid_t clock, struct timespec *time) {
  static int (*real)(clockid_t, struct timespec *);
  if (!real) real = (int (*)(clockid_t, struct timespec *))dlsym(RTLD_NEXT, "clock_gettime");
  int done = real(clock, time);
  if (done == 0 && clock == CLOCK_REALTIME) time->tv_sec += ahead_ms() / 1000;
  return done;
}
"""


def cpu_quota(trial):
    group = trial.group("cpu")
    faults.set_cpu_quota(group, os.cpu_count())
    share = trial.random.uniform(0.3, 0.6)
    trial.told = f"quota {share:.2f} of the need"
    trial.at(0.5, lambda: faults.set_cpu_quota(group, share * trial.need_cpus))


def quota_falls(trial):
    group = trial.group("cpu")
    faults.set_cpu_quota(group, os.cpu_count())
    first = trial.random.uniform(4, 7)
    last = trial.random.uniform(0.25, 0.5)
    trial.told = f"from {first:.1f} s on down to {last:.2f} of the need"
    for step in range(5):
        share = 1 + (last - 1) * step / 4
        trial.at(first + 2 * step,
                 lambda share=share: faults.set_cpu_quota(group, share * trial.need_cpus))


def thief(trial):
    group = trial.group("cpu")
    weight, low, normal = (("cpu.shares", 20, 65536) if group.version == 1 else
                           ("cpu.weight", 1, 10000))
    group.write(weight, normal)
    begin, length = trial.random.uniform(5, 9), trial.random.uniform(4, 7)
    many = trial.random.randint(2, 4) * os.cpu_count()
    trial.told = f"{many} others from {begin:.1f} s for {length:.1f} s"
    hogs = []

    def come():
        group.write(weight, low)
        hogs.extend(subprocess.Popen(["sh", "-c", "while :; do :; done"]) for _ in range(many))

    def go():
        group.write(weight, normal)
        for hog in hogs:
            hog.kill()
            hog.wait()
        hogs.clear()
    trial.at(begin, come)
    trial.at(begin + length, go)
    trial.stack.callback(go)


def disk_stall(trial):
    begin, length = trial.random.uniform(5, 10), trial.random.uniform(2, 5)
    trial.told = f"at {begin:.1f} s for {length:.1f} s"
    trial.folder = trial.stack.enter_context(
        faults.slow_folder(trial.folder, 0, f"{begin:.2f}:{length:.2f}"))


def slow_disk(trial):
    share = trial.random.uniform(0.25, 0.6)
    trial.told = f"{share:.2f} of the rate"
    trial.folder = trial.stack.enter_context(
        faults.slow_folder(trial.folder, share * trial.bytes_per_second))


def direct_limit(trial):
    """The block layer lets our group write little, and the recorder writes past the cache."""
    device = os.stat(trial.folder).st_dev
    number = f"{os.major(device)}:{os.minor(device)}"
    group = trial.group("blkio")
    share = trial.random.uniform(0.25, 0.6)
    rate = int(share * trial.bytes_per_second)
    trial.told = f"{share:.2f} of the rate"
    if group.version == 1:
        group.write("blkio.throttle.write_bps_device", f"{number} {rate}")
    else:
        group.write("io.max", f"{number} wbps={rate}")
    trial.sink = Sink("pipe", taker="dd of={file} oflag=direct iflag=fullblock bs=64k status=none")


def disk_full(trial):
    seconds = trial.random.uniform(7, 13)
    size = int(seconds * trial.bytes_per_second) // 4096 * 4096
    trial.told = f"after {size / 1e6:.1f} MB"
    small = trial.folder / "small"
    small.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(small)],
                      check=False, stderr=subprocess.DEVNULL).returncode != 0:
        raise Unable("no file system may be mounted")
    trial.stack.callback(lambda: subprocess.run(["umount", "-l", str(small)], check=False))
    trial.folder = small


def size_limit(trial):
    blocks = int(trial.random.uniform(7, 13) * trial.bytes_per_second) // (1 << 20) * 1024
    blocks = max(1024, blocks)
    trial.told = f"{blocks // 1024} MiB"
    # The shell counts in blocks of 512 bytes.
    trial.ahead = f"ulimit -f {2 * blocks}; "


TAKER = """
import socket, sys
with socket.create_server(('127.0.0.1', int(sys.argv[1]))) as door:
  taken, _ = door.accept()
with open(sys.argv[2], 'wb') as to:
  while data := taken.recv(65536):
    to.write(data)
    to.flush()
"""


def receiver(trial):
    """A network of its own, in which a receiver writes the recording that the writer sends; gives what a
    command there is started with, and the receiver."""
    if not shutil.which("tc") or not shutil.which("nsenter"):
        raise Unable("no tc or no nsenter")
    room = subprocess.Popen(["unshare", "-n", "sleep", "600"])
    trial.stack.callback(room.wait)
    trial.stack.callback(room.kill)
    inside = ["nsenter", "-t", str(room.pid), "-n"]
    time.sleep(0.3)
    setup = (faults.SMALL_BUFFERS + "ip link set lo mtu 1500 && tc qdisc add dev lo root tbf "
             "rate 100mbit burst 100kb latency 400ms")
    if subprocess.run([*inside, "sh", "-c", setup], check=False).returncode != 0:
        raise Unable("no network of its own")
    port = faults.free_port()
    taker = subprocess.Popen([*inside, sys.executable, "-c", TAKER, str(port), str(trial.file())])
    trial.stack.callback(taker.wait)
    trial.stack.callback(taker.kill)
    trial.finished = lambda: taker.wait(timeout=60)
    trial.before = [*inside, *trial.before]
    trial.watch_before = inside
    trial.sink = Sink("tcp", port=port)
    return inside, taker


def thin_network(trial):
    inside, _ = receiver(trial)
    share = trial.random.uniform(0.25, 0.6)
    begin = trial.random.uniform(3, 7)
    rate = int(share * trial.bytes_per_second * 8)
    trial.told = f"{share:.2f} of the rate from {begin:.1f} s on"
    trial.at(begin, lambda: subprocess.run(
        [*inside, "tc", "qdisc", "change", "dev", "lo", "root", "tbf", "rate", str(rate), "burst",
         "10kb", "latency", "400ms"], check=True))


def stalled_receiver(trial):
    _, taker = receiver(trial)
    begin, length = trial.random.uniform(4, 9), trial.random.uniform(3, 7)
    trial.told = f"takes nothing at {begin:.1f} s for {length:.1f} s"
    trial.at(begin, lambda: taker.send_signal(signal.SIGSTOP))
    trial.at(begin + length, lambda: taker.send_signal(signal.SIGCONT))


def stop(trial, length):
    begin = trial.random.uniform(5, 12)
    trial.told = f"at {begin:.1f} s for {length:.2f} s"
    trial.at(begin, lambda: os.kill(trial.encoder(), signal.SIGSTOP))
    trial.at(begin + length, lambda: os.kill(trial.encoder(), signal.SIGCONT))


def encoder_stopped(trial):
    stop(trial, trial.random.uniform(1, 3))


def short_stop(trial):
    stop(trial, trial.random.uniform(0.4, 0.9))


def killed(trial):
    begin = trial.random.uniform(7, 14)
    trial.told = f"at {begin:.1f} s"
    trial.at(begin, lambda: os.kill(trial.encoder(), signal.SIGKILL))


def rate_mismatch(trial):
    rate = trial.random.choice(["24", "24000/1001"])
    trial.told = f"{rate} taken at 25"
    trial.camera_options = ["--source-rate", rate]


def clock_step(trial):
    library, ahead = trial.folder / "wall.so", trial.folder / "ahead"
    source = trial.folder / "wall.c"
    source.write_text(WALL_CLOCK, encoding="ascii")
    if subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", str(library), str(source), "-ldl"],
                      check=False).returncode != 0:
        raise Unable("no C compiler")
    ahead.write_bytes(bytes(8))
    begin, step_s = trial.random.uniform(5, 12), trial.random.randint(1, 4)
    trial.told = f"{step_s} s at {begin:.1f} s"
    trial.under = {"LD_PRELOAD": str(library), "WALL_AHEAD": str(ahead)}
    trial.camera_options = ["--wall"]

    def step():
        with open(ahead, "r+b") as file, mmap.mmap(file.fileno(), 8) as shared:
            shared[:8] = (1000 * step_s).to_bytes(8, "little")
    trial.at(begin, step)

    def date_the_file():
        now = time.time() + step_s
        os.utime(trial.file(), (now, now))
    trial.finished = date_the_file


def none(_trial):
    pass


@dataclasses.dataclass(frozen=True)
class Kind:
    """`causes` may be ranked first where pictures were lost. With `ends_early` the file ends before the
    camera does: that may be named where the camera lost nothing. `needs` of a writer: see UNFIT."""
    inject: object
    causes: tuple
    needs: str = ""
    ends_early: bool = False
    names_without_loss: bool = False


# What a kind needs of a writer -> whether a writer has it, and what is said of one that has not.
UNFIT = {
    "": (lambda _: True, ""),
    "streams": (lambda writer: writer.streams and writer.program != "vlc",
                "it seeks in its file, or has no client for TCP"),
    "pipe": (lambda writer: writer.streams, "it seeks in its file"),
    "unfinished": (lambda writer: writer.readable_unfinished,
                   "nothing can be read of its file without the end"),
    "small": (lambda writer: writer.readable_unfinished and writer.program != "vlc",
              "the same, or it writes larger files of its own when it starts"),
}

KINDS = {
    "CPU quota": Kind(cpu_quota, ("CPU quota",)),
    "CPU thief": Kind(thief, ("CPU taken by another process",)),
    "falling quota": Kind(quota_falls, ("CPU quota",)),
    "disk stall": Kind(disk_stall, ("disk stall",)),
    "slow disk": Kind(slow_disk, ("disk too slow",)),
    "direct-write limit": Kind(direct_limit, ("disk too slow",), "pipe"),
    "disk full": Kind(disk_full, ("disk full",), "unfinished", ends_early=True, names_without_loss=True),
    "file-size limit": Kind(size_limit, ("file-size limit",), "small", ends_early=True,
                            names_without_loss=True),
    "thin network": Kind(thin_network, ("network sink slow",), "streams"),
    "stalled receiver": Kind(stalled_receiver, ("network sink slow",), "streams"),
    "memory hog": Kind(memory_hog, ("memory pressure",)),
    "encoder stopped": Kind(encoder_stopped, ("the recording program was stopped",)),
    "short stop": Kind(short_stop, ("the recording program was stopped",)),
    "killed": Kind(killed, ("the recording program ended", "nothing lost", "not known"), ends_early=True,
                   names_without_loss=True),
    "rate mismatch": Kind(rate_mismatch, ("rate mismatch",)),
    "clock step": Kind(clock_step, ("clock step",), names_without_loss=True),
    "none": Kind(none, ("nothing lost", "not known")),
}


def unfit(kind, writer):
    """Why this writer cannot have this fault; nothing where it can."""
    fits, reason = UNFIT[KINDS[kind].needs]
    return "" if fits(writer) else reason
