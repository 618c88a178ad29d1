# SPDX-License-Identifier: Apache-2.0
"""Faults injected into this PC while a production is rehearsed on it, each with the cause that the
report has to name. They need root, control groups of version 1 or 2, FUSE and the iproute2 tools;
what this PC lacks raises Unable, and is said.

Every fault is what it claims to be: the CPU time, the disk or the network really is short. Steal by
a host and throttling by heat cannot be made from inside a PC and are tested with stored signs."""

import contextlib
import json
import os
import pathlib
import shutil
import signal
import socket
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).parent
PERIOD_US = 100_000


class Unable(Exception):
    """This PC cannot have the fault."""


def group_root(controller):
    """Where groups of a controller are made, and its version."""
    one = pathlib.Path("/sys/fs/cgroup") / controller
    if (one / "tasks").exists():
        return one, 1
    two = pathlib.Path("/sys/fs/cgroup")
    controllers = two / "cgroup.subtree_control"
    names = {"blkio": "io"}
    if controllers.exists() and names.get(controller, controller) in controllers.read_text("ascii"):
        return two, 2
    raise Unable(f"no control groups with the controller {controller}")


class Group:
    """A control group for the program under test, removed at the end."""

    def __init__(self, controller):
        root, self.version = group_root(controller)
        self.folder = root / f"rigproof-fault-{os.getpid()}"
        try:
            self.folder.mkdir(exist_ok=True)
        except OSError as reason:
            raise Unable(str(reason)) from reason

    def write(self, name, value):
        try:
            (self.folder / name).write_text(str(value), encoding="ascii")
        except OSError as reason:
            raise Unable(f"{name}: {reason}") from reason

    def entering(self):
        """What a command is started with, to be in the group from its first moment."""
        return ["sh", "-c", f'echo $$ > {self.folder}/cgroup.procs && exec "$@"', "sh"]

    def remove(self):
        for _ in range(50):
            try:
                self.folder.rmdir()
                return
            except OSError:
                time.sleep(0.1)  # its last process is just ending


def set_cpu_quota(group, cpus):
    if group.version == 1:
        group.write("cpu.cfs_period_us", PERIOD_US)
        group.write("cpu.cfs_quota_us", int(cpus * PERIOD_US))
    else:
        group.write("cpu.max", f"{int(cpus * PERIOD_US)} {PERIOD_US}")


def profile(folder=None, *, raster="1280x720", rate=25, content="talk", effort="least",
            record_kbps=6000, stream=None, stream_kbps=2500, cameras=2):
    """An invented production of one recording, and one stream if there is a URL."""
    outputs = [{"name": "Recording", "kind": "recording", "takes": "program", "codec": "h264",
                "bitrate_kbps": record_kbps, "encoder": "software", "effort": effort,
                "container": "mkv"}]
    if folder:
        outputs[0]["folder"] = str(folder)
    if stream:
        outputs.append({"name": "Stream", "kind": "stream", "takes": "program", "codec": "h264",
                        "bitrate_kbps": stream_kbps, "encoder": "software", "effort": effort,
                        "container": "flv", "url": stream})
    return {"format": "rigproof-profile", "version": 1, "name": "Invented fault trial",
            "duration_minutes": 10, "program": {"raster": raster, "rate": rate},
            "sources": [{"name": f"Camera {i + 1}", "arrives_by": "usb", "raster": raster,
                         "rate": rate, "pixel_format": "nv12", "content": content}
                        for i in range(cameras)],
            "outputs": outputs, "multiview": None, "displays": 1,
            "audio": {"channels": 2, "sample_rate_hz": 48000, "bitrate_kbps": 160}}


class Run:
    """One rehearsal of `asked` beside which a fault is injected."""

    def __init__(self, program, folder, asked, seconds, *, before=(), options=()):
        self.seconds = seconds
        self.path = folder / "fault.json"
        self.path.write_text(json.dumps(asked), encoding="utf-8")
        self.out = folder / "out.json"
        recordings = folder / "recordings"
        recordings.mkdir(exist_ok=True)
        command = [*before, str(program), "rehearse", str(self.path), "--seconds", str(seconds),
                   "--json", "--record-to", str(recordings), *options]
        self.errors = open(folder / "errors.txt", "w", encoding="utf-8")
        self.stdout = open(self.out, "w", encoding="utf-8")
        self.process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=self.stdout,
                                        stderr=self.errors)

    def pid(self):
        """Of the program itself, behind what it was started with."""
        ahead = [self.process.pid]
        while ahead:
            pid = ahead.pop()
            with contextlib.suppress(OSError):
                if pathlib.Path(f"/proc/{pid}/comm").read_text("ascii").startswith("rigproof"):
                    return pid
                children = pathlib.Path(f"/proc/{pid}/task/{pid}/children").read_text("ascii")
                ahead += [int(child) for child in children.split()]
        return self.process.pid

    def wait_for_cameras(self):
        """Until production time runs: the cameras' threads are there."""
        deadline = time.monotonic() + 120
        while time.monotonic() < deadline:
            if self.process.poll() is not None:
                break
            with contextlib.suppress(OSError):
                names = [(task / "comm").read_text("ascii")
                         for task in pathlib.Path(f"/proc/{self.pid()}/task").iterdir()]
                if any(name.startswith("cam:") for name in names):
                    return
            time.sleep(0.05)
        raise RuntimeError("the rehearsal did not begin: " + self.tail())

    def threads(self, prefix):
        found = []
        for task in pathlib.Path(f"/proc/{self.pid()}/task").iterdir():
            with contextlib.suppress(OSError):
                if (task / "comm").read_text("ascii").startswith(prefix):
                    found.append(int(task.name))
        return found

    def tail(self):
        return (self.path.parent / "errors.txt").read_text("utf-8")[-400:]

    def result(self):
        status = self.process.wait(timeout=self.seconds + 300)
        self.errors.close()
        self.stdout.close()
        if status in (1, 2):
            raise RuntimeError("the rehearsal failed: " + self.tail())
        return json.loads(self.out.read_text("utf-8"))


def python_with_fuse():
    """Debian's module belongs to Debian's Python, which may not be the one that runs this."""
    for python in (sys.executable, "/usr/bin/python3"):
        if subprocess.run([python, "-c", "import fusepy"], check=False,
                          stderr=subprocess.DEVNULL).returncode == 0:
            return python
    raise Unable("no python3-fusepy")


@contextlib.contextmanager
def slow_folder(folder, rate, *stalls):
    """A mounted FUSE folder of slow_folder.py."""
    backing, mount = folder / "backing", folder / "slow"
    backing.mkdir(exist_ok=True)
    mount.mkdir(exist_ok=True)
    if not os.path.exists("/dev/fuse") or not shutil.which("fusermount"):
        raise Unable("no FUSE")
    with subprocess.Popen([python_with_fuse(), "-B", str(HERE / "slow_folder.py"), str(backing),
                           str(mount), str(rate), *stalls], stderr=subprocess.PIPE) as server:
        try:
            for _ in range(100):
                if os.path.ismount(mount):
                    break
                if server.poll() is not None:
                    raise Unable("FUSE: " + server.stderr.read().decode()[-200:])
                time.sleep(0.1)
            yield mount
        finally:
            subprocess.run(["fusermount", "-u", "-z", str(mount)], check=False)
            server.terminate()


def quota_from_start(program, folder):
    group = Group("cpu")
    try:
        set_cpu_quota(group, os.cpu_count())  # painting is no part of the trial
        run = Run(program, folder, profile(), 14, before=group.entering())
        run.wait_for_cameras()
        set_cpu_quota(group, 0.12)
        return run.result()
    finally:
        group.remove()


def quota_falls(program, folder):
    group = Group("cpu")
    try:
        set_cpu_quota(group, os.cpu_count())
        run = Run(program, folder, profile(), 18, before=group.entering())
        run.wait_for_cameras()
        time.sleep(8)
        set_cpu_quota(group, 0.12)
        return run.result()
    finally:
        group.remove()


def thief(program, folder):
    """Others on every CPU for six seconds, whom the kernel's weights prefer to us meanwhile: we may
    have whatever they leave, and that is little."""
    group = Group("cpu")
    weight, low, normal = (("cpu.shares", 20, 65536) if group.version == 1 else
                           ("cpu.weight", 1, 10000))
    try:
        group.write(weight, normal)
        run = Run(program, folder, profile(content="busy", rate=50, effort="low"), 18,
                  before=group.entering())
        run.wait_for_cameras()
        time.sleep(7)
        group.write(weight, low)
        hogs = [subprocess.Popen(["sh", "-c", "while :; do :; done"])
                for _ in range(2 * os.cpu_count())]
        time.sleep(6)
        for hog in hogs:
            hog.kill()
            hog.wait()
        group.write(weight, normal)
        return run.result()
    finally:
        group.remove()


def slow_disk(program, folder):
    with slow_folder(folder, 600e3) as mount:
        return Run(program, folder, profile(mount, content="busy", record_kbps=20000), 20).result()


def disk_stall(program, folder):
    with slow_folder(folder, 0, "7:4") as mount:
        return Run(program, folder, profile(mount, content="busy", record_kbps=20000), 18).result()


def disk_limit(program, folder):
    """The block layer lets our group write little."""
    device = os.stat(folder).st_dev
    number = f"{os.major(device)}:{os.minor(device)}"
    group = Group("blkio")
    try:
        if group.version == 1:
            group.write("blkio.throttle.write_bps_device", f"{number} 400000")
        else:
            group.write("io.max", f"{number} wbps=400000")
        return Run(program, folder, profile(content="busy", record_kbps=40000), 30,
                   before=group.entering()).result()
    finally:
        group.remove()


def free_port():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


SMALL_BUFFERS = ("ip link set lo up && sysctl -qw net.ipv4.tcp_wmem='4096 65536 131072' "
                 "net.ipv4.tcp_rmem='4096 65536 131072'; ")


def stream_run(program, folder, setup, seconds, after_start):
    """A stream to a receiver of its own, both in a network namespace."""
    if not shutil.which("ffmpeg") or not shutil.which("unshare"):
        raise Unable("no ffmpeg or no unshare")
    port = free_port()
    url = f"rtmp://127.0.0.1:{port}/live/trial"
    receiver = f"ffmpeg -v error -listen 1 -f flv -i {url} -c copy -f null - & echo $! > " \
               f"{folder}/receiver; sleep 1; "
    asked = profile(stream=url, stream_kbps=4000, content="busy")
    run = Run(program, folder, asked, seconds, options=["--send-streams"],
              before=["unshare", "-n", "sh", "-c", SMALL_BUFFERS + setup + receiver + '"$@"; '
                      f"status=$?; kill -9 $(cat {folder}/receiver); exit $status", "sh"])
    run.wait_for_cameras()
    after_start(int((folder / "receiver").read_text("ascii")))
    return run.result()


def paused_receiver(program, folder):
    def pause(receiver):
        time.sleep(6)
        os.kill(receiver, signal.SIGSTOP)
        time.sleep(8)
        with contextlib.suppress(OSError):
            os.kill(receiver, signal.SIGCONT)
    return stream_run(program, folder, "", 20, pause)


def thin_network(program, folder):
    if not shutil.which("tc"):
        raise Unable("no tc")
    thin = "ip link set lo mtu 1500 && tc qdisc add dev lo root tbf rate 1mbit burst 10kb " \
           "latency 400ms; "
    return stream_run(program, folder, thin, 16, lambda receiver: None)


def memory_hog(program, folder):
    """Less memory for our group than we and a neighbour in it touch; pages go to swap."""
    swaps = pathlib.Path("/proc/swaps").read_text("ascii").splitlines()
    if len(swaps) < 2:
        raise Unable("no swap: a limit would end in a kill")
    group = Group("memory")
    limit = 80 << 20
    try:
        run = Run(program, folder, profile(), 20, before=group.entering())
        run.wait_for_cameras()
        time.sleep(5)
        group.write("memory.limit_in_bytes" if group.version == 1 else "memory.max", limit)
        hog = subprocess.Popen([*group.entering(), sys.executable, "-c",
                                "import time\nblock = bytearray(400 << 20)\nend = time.time() + 12\n"
                                "while time.time() < end:\n"
                                "  for i in range(0, len(block), 4096): block[i] = 1\n"])
        result = run.result()
        hog.kill()
        hog.wait()
        return result
    finally:
        group.remove()


def hot_thread(program, folder):
    """All of the encoder on one CPU, while the others have room."""
    if os.cpu_count() < 2:
        raise Unable("one CPU only")
    run = Run(program, folder, profile(content="busy", effort="high", rate=50), 18)
    run.wait_for_cameras()
    time.sleep(3)
    encoder = run.threads("enc:")
    for thread in encoder:
        with contextlib.suppress(OSError):
            os.sched_setaffinity(thread, {0})
    return run.result()


def saturated(program, folder):
    """More encoding than all CPUs can do."""
    return Run(program, folder,
               profile(raster="1920x1080", rate=50, content="busy", effort="high", record_kbps=20000),
               14).result()


def standstill(program, folder):
    run = Run(program, folder, profile(), 16)
    run.wait_for_cameras()
    time.sleep(7)
    os.kill(run.pid(), signal.SIGSTOP)
    time.sleep(2.5)
    os.kill(run.pid(), signal.SIGCONT)
    return run.result()


def healthy(program, folder):
    return Run(program, folder, profile(), 16).result()


# Fault -> what the report may name for it.
FAULTS = {
    "CPU quota from the start": (quota_from_start, ["CPU quota"]),
    "CPU quota that falls": (quota_falls, ["CPU quota"]),
    "another process": (thief, ["CPU taken by another process"]),
    "one CPU for the encoder": (hot_thread, ["one thread fills a CPU core"]),
    "too much encoding": (saturated, ["encoder saturated"]),
    "slow disk (FUSE)": (slow_disk, ["disk too slow"]),
    "disk limit (blkio)": (disk_limit, ["disk too slow"]),
    "disk stall (FUSE)": (disk_stall, ["disk stall"]),
    "receiver paused": (paused_receiver, ["network sink slow"]),
    "thin network": (thin_network, ["network sink slow"]),
    "memory hog": (memory_hog, ["memory pressure"]),
    "program stopped": (standstill, ["the whole program stood still"]),
}


def named(result):
    """The cause that most frames are charged to, and frames by cause."""
    causes = {cause["cause"]: cause["frames"] for cause in result["causes"]}
    if not causes:
        return "nothing lost", causes
    return max(causes, key=causes.get), causes
