# SPDX-License-Identifier: Apache-2.0
"""Faults injected into this PC while the ffmpeg program records from a camera that never waits, each
with the causes that explain may rank first. Moments, lengths and strengths come from a seeded random
generator. What this PC lacks raises Unable, and is said.

Every fault is what it claims to be, but one: the clock of a shared PC is not set; a library laid under
camera and watch tells both of them another wall clock. Steal by a host and throttling by heat cannot
be made from inside a PC."""

import contextlib
import mmap
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import time

import faults
from faults import Unable

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
    trial.output = "-f matroska - | dd of={file} oflag=direct iflag=fullblock bs=64k status=none"


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


def thin_network(trial):
    if not shutil.which("tc") or not shutil.which("nsenter"):
        raise Unable("no tc or no nsenter")
    room = subprocess.Popen(["unshare", "-n", "sleep", "600"])
    trial.stack.callback(room.wait)
    trial.stack.callback(room.kill)
    inside = ["nsenter", "-t", str(room.pid), "-n"]
    time.sleep(0.3)
    share = trial.random.uniform(0.25, 0.6)
    begin = trial.random.uniform(3, 7)
    rate = int(share * trial.bytes_per_second * 8)
    trial.told = f"{share:.2f} of the rate from {begin:.1f} s on"
    port = faults.free_port()
    setup = (faults.SMALL_BUFFERS + "ip link set lo mtu 1500 && tc qdisc add dev lo root tbf "
             f"rate 100mbit burst 100kb latency 400ms")
    if subprocess.run([*inside, "sh", "-c", setup], check=False).returncode != 0:
        raise Unable("no network of its own")
    taker = subprocess.Popen([*inside, sys.executable, "-c", (
        "import socket, sys\n"
        f"with socket.create_server(('127.0.0.1', {port})) as door:\n"
        "  taken, _ = door.accept()\n"
        "  with open(sys.argv[1], 'wb') as to:\n"
        "    while data := taken.recv(65536):\n"
        "      to.write(data)\n      to.flush()\n"), str(trial.folder / "out.mkv")])
    trial.stack.callback(taker.wait)
    trial.stack.callback(taker.kill)
    trial.finished = lambda: taker.wait(timeout=60)
    trial.before = inside
    trial.watch_before = inside
    trial.output = f"-f matroska tcp://127.0.0.1:{port}"
    trial.at(begin, lambda: subprocess.run(
        [*inside, "tc", "qdisc", "change", "dev", "lo", "root", "tbf", "rate", str(rate), "burst",
         "10kb", "latency", "400ms"], check=True))


HOG = """
import mmap, os, sys, time
with open(sys.argv[1], 'rb') as file, mmap.mmap(file.fileno(), 0, prot=mmap.PROT_READ) as block:
  end = time.time() + float(sys.argv[2])
  while time.time() < end:
    for at in range(0, len(block), 4096): block[at]
"""


def memory_hog(trial):
    """Less memory for the recorder's group than it and a neighbour in it touch. Without swap it is
    the program's own code that has to leave and come back, read from a copy that only we use."""
    group = trial.group("memory")
    begin, length = trial.random.uniform(5, 8), trial.random.uniform(5, 8)
    own = trial.folder / "own"
    own.mkdir()
    program = shutil.which("ffmpeg")
    needed = subprocess.run(["ldd", program], check=True, capture_output=True, text=True).stdout
    for line in needed.splitlines():
        words = line.split()
        if "=>" in words and any(name in words[0] for name in ("libav", "libx264", "libsw")):
            shutil.copy(words[2], own)
    big = trial.folder / "big"
    with open(big, "wb") as file:
        for _ in range(200):
            file.write(os.urandom(1 << 20))
        file.flush()
        os.fsync(file.fileno())
    for path in [*own.iterdir(), big]:
        with open(path, "rb+") as file:
            os.fsync(file.fileno())
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
    trial.ahead = f"export LD_LIBRARY_PATH={own}; "
    room = trial.random.uniform(2, 6)
    trial.told = f"{room:.0f} MB above its own pages from {begin:.1f} s for {length:.1f} s"
    limit = "memory.limit_in_bytes" if group.version == 1 else "memory.max"

    def come():
        stat = dict(line.split() for line in
                    (group.folder / "memory.stat").read_text("ascii").splitlines())
        anonymous = int(stat.get("total_rss", stat.get("anon", 0)))
        hog = subprocess.Popen([*group.entering(), sys.executable, "-c", HOG, str(big), str(length)])
        trial.stack.callback(hog.wait)
        trial.stack.callback(hog.kill)
        group.write(limit, anonymous + int(room * 1e6) + (12 << 20))
    trial.at(begin, come)
    trial.at(begin + length, lambda: group.write(limit, 4 << 30))


def encoder_stopped(trial):
    begin, length = trial.random.uniform(5, 12), trial.random.uniform(1, 3)
    trial.told = f"at {begin:.1f} s for {length:.1f} s"
    trial.at(begin, lambda: os.kill(trial.encoder(), signal.SIGSTOP))
    trial.at(begin + length, lambda: os.kill(trial.encoder(), signal.SIGCONT))


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


# Kind -> what makes it, and what explain may rank first.
KINDS = {
    "CPU quota": (cpu_quota, ["CPU quota"]),
    "CPU thief": (thief, ["CPU taken by another process"]),
    "falling quota": (quota_falls, ["CPU quota"]),
    "disk stall": (disk_stall, ["disk stall"]),
    "slow disk": (slow_disk, ["disk too slow"]),
    "direct-write limit": (direct_limit, ["disk too slow"]),
    "disk full": (disk_full, ["disk full"]),
    "file-size limit": (size_limit, ["file-size limit"]),
    "thin network": (thin_network, ["network sink slow"]),
    "memory hog": (memory_hog, ["memory pressure"]),
    "encoder stopped": (encoder_stopped, ["the recording program was stopped"]),
    "rate mismatch": (rate_mismatch, ["rate mismatch"]),
    "clock step": (clock_step, ["clock step"]),
    "none": (none, ["nothing lost", "not known"]),
}


class Trial:
    """One recording with what a kind asks for; undone at the end."""

    RASTER, RATE, KBPS = "960x540", 25, 3000
    SECONDS = 20

    def __init__(self, program, folder, random, need_cpus):
        self.program, self.folder, self.random, self.need_cpus = program, folder, random, need_cpus
        self.kept = folder
        self.bytes_per_second = self.KBPS * 125
        self.stack = contextlib.ExitStack()
        self.before, self.watch_before, self.under = [], [], {}
        self.ahead = ""
        self.output = "{file}"
        self.camera_options, self.planned = [], []
        self.told = ""
        self.finished = lambda: None
        self.recorder = None

    def group(self, controller):
        group = faults.Group(controller)
        self.stack.callback(group.remove)
        self.before = group.entering()
        return group

    def at(self, second, what):
        self.planned.append((second, what))

    def file(self):
        return self.folder / "out.mkv"

    def encoder(self):
        """The ffmpeg below the recorder."""
        ahead = [self.recorder.pid]
        while ahead:
            pid = ahead.pop()
            with contextlib.suppress(OSError):
                if pathlib.Path(f"/proc/{pid}/comm").read_text("ascii").strip() == "ffmpeg":
                    return pid
                ahead += map(int, pathlib.Path(f"/proc/{pid}/task/{pid}/children").read_text(
                    "ascii").split())
        raise RuntimeError("the recorder ended")

    def encoder_options(self):
        return ["-c:v", "libx264", "-preset", "faster", "-bf", "0", "-g", "50", "-threads", "2", "-b:v",
                f"{self.KBPS}k", "-maxrate", f"{self.KBPS}k", "-bufsize", f"{self.KBPS // 2}k"]

    def pictures(self):
        ring = self.kept.parent / f"pictures-{self.RASTER}.i420"
        if not ring.exists():
            subprocess.run(["ffmpeg", "-v", "error", "-f", "lavfi", "-i",
                            f"testsrc2=size={self.RASTER}:rate=25", "-vf",
                            "noise=alls=12:allf=t,format=yuv420p", "-frames:v", "50", "-f",
                            "rawvideo", str(ring)], check=True)
        return ring

    def record(self):
        """Watch, camera and recorder; gives when the recorder had ended."""
        shell = self.kept / "recorder"
        shell.symlink_to(shutil.which("dash") or shutil.which("sh"))
        environment = {**os.environ, **self.under}
        watch = subprocess.Popen([*self.watch_before, str(self.program), "watch", "--into",
                                  str(self.kept / "log"), "--program", "recorder", "--quiet"],
                                 stdout=subprocess.DEVNULL, env=environment)
        self.stack.callback(watch.wait)
        self.stack.callback(watch.kill)
        time.sleep(3 + self.random.uniform(0, 2))
        take, give = os.pipe()
        camera = subprocess.Popen(
            [sys.executable, str(faults.HERE / "camera.py"), str(self.pictures()), self.RASTER,
             str(self.RATE), str(self.SECONDS), str(self.kept / "ledger.json"),
             *self.camera_options], stdout=give, stdin=subprocess.DEVNULL, env=environment,
            preexec_fn=lambda: os.nice(-15))
        os.close(give)
        script = (self.ahead + "ffmpeg -nostdin -v error -y -f matroska -i pipe:0 -fps_mode "
                  f"passthrough {' '.join(self.encoder_options())} -flush_packets 1 "
                  + self.output.format(file=self.file()) + "; true")
        with open(self.kept / "errors.txt", "wb") as errors:
            self.recorder = subprocess.Popen([*self.before, str(shell), "-c", script], stdin=take,
                                             stdout=subprocess.DEVNULL, stderr=errors)
        os.close(take)
        self.stack.callback(self.recorder.kill)
        began = time.monotonic()
        for second, what in sorted(self.planned, key=lambda one: one[0]):
            time.sleep(max(0.0, began + second - time.monotonic()))
            with contextlib.suppress(ProcessLookupError, RuntimeError):
                what()
        self.recorder.wait(timeout=150)
        self.finished()
        camera.wait(timeout=90)
        time.sleep(2)
        watch.send_signal(signal.SIGINT)
        watch.wait(timeout=30)
