# SPDX-License-Identifier: Apache-2.0
"""One recording with a watch beside it: a camera that never waits, a writer,
and what a fault asks of them."""

import contextlib
import dataclasses
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import time

import faults
from recording_writers import KBPS


@dataclasses.dataclass
class Sink:
    """Where a writer writes to: "file", "pipe" with a command that takes what comes, or "tcp"."""
    kind: str = "file"
    path: pathlib.Path = None
    taker: str = ""
    port: int = 0


class Trial:
    """One recording with what a kind asks for; undone at the end."""

    RASTER, RATE = "960x540", 25
    SECONDS = 20

    def __init__(self, program, folder, random, writer, need):
        self.program, self.folder, self.random, self.writer = program, folder, random, writer
        self.need = need
        self.kept = folder
        self.bytes_per_second = KBPS * 125
        self.stack = contextlib.ExitStack()
        self.before, self.watch_before, self.under = [], [], {}
        self.ahead = ""
        self.sink = Sink()
        self.camera_options, self.planned = [], []
        self.told = ""
        self.finished = lambda: None
        self.recorder = None

    @property
    def need_cpus(self):
        """CPUs that the writer uses where nothing is short; measured when a fault asks."""
        return self.need(self.writer)

    def group(self, controller):
        group = faults.Group(controller)
        self.stack.callback(group.remove)
        self.before = [*self.before, *group.entering()]
        return group

    def at(self, second, what):
        self.planned.append((second, what))

    def file(self):
        return self.folder / f"out.{self.writer.end}"

    def encoder(self):
        """The writer's process below the recorder."""
        ahead = [self.recorder.pid]
        while ahead:
            pid = ahead.pop()
            with contextlib.suppress(OSError):
                if pathlib.Path(f"/proc/{pid}/comm").read_text("ascii").strip() == self.writer.program:
                    return pid
                ahead += map(int, pathlib.Path(f"/proc/{pid}/task/{pid}/children").read_text(
                    "ascii").split())
        raise RuntimeError("the recorder ended")

    def pictures(self):
        ring = self.kept.parent / f"pictures-{self.RASTER}.i420"
        if not ring.exists():
            subprocess.run(["ffmpeg", "-v", "error", "-f", "lavfi", "-i",
                            f"testsrc2=size={self.RASTER}:rate=25", "-vf",
                            "noise=alls=12:allf=t,format=yuv420p", "-frames:v", "50", "-f",
                            "rawvideo", str(ring)], check=True)
        return ring

    def script(self):
        """The recorder's command line for the shell."""
        self.sink.path = self.file()
        self.sink.taker = self.sink.taker.format(file=self.file())
        return self.ahead + self.writer.line(self.writer, self.sink, self.kept) + "; true"

    def begin_watch(self, environment):
        watch = subprocess.Popen([*self.watch_before, str(self.program), "watch", "--into",
                                  str(self.kept / "log"), "--program", "recorder", "--quiet"],
                                 stdout=subprocess.DEVNULL, env=environment)
        self.stack.callback(watch.wait)
        self.stack.callback(watch.kill)
        return watch

    def begin_camera(self, give, environment):
        return subprocess.Popen(
            [sys.executable, str(faults.HERE / "camera.py"), str(self.pictures()), self.RASTER,
             str(self.RATE), str(self.SECONDS), str(self.kept / "ledger.json"),
             *self.camera_options], stdout=give, stdin=subprocess.DEVNULL, env=environment,
            preexec_fn=lambda: os.nice(-15))

    def begin_recorder(self, take):
        """What the writer tells is kept by a process outside of every group."""
        shell = self.kept / "recorder"
        shell.symlink_to(shutil.which("dash") or shutil.which("sh"))
        with open(self.kept / "passed.txt", "wb") as told:
            listener = subprocess.Popen(["cat"], stdin=subprocess.PIPE, stdout=told)
        with open(self.kept / "errors.txt", "wb") as errors:
            self.recorder = subprocess.Popen([*self.before, str(shell), "-c", self.script()], stdin=take,
                                             stdout=listener.stdin, stderr=errors)
        listener.stdin.close()
        self.stack.callback(listener.wait)
        self.stack.callback(self.recorder.wait)
        self.stack.callback(self.recorder.kill)
        return listener

    def let_others_in(self):
        """A writer that is not root has to reach its file."""
        self.kept.chmod(0o777)

    def record(self):
        """Watch, camera and recorder, to the end of all."""
        environment = {**os.environ, **self.under}
        self.let_others_in()
        watch = self.begin_watch(environment)
        time.sleep(3 + self.random.uniform(0, 2))
        take, give = os.pipe()
        camera = self.begin_camera(give, environment)
        os.close(give)
        listener = self.begin_recorder(take)
        os.close(take)
        began = time.monotonic()
        for second, what in sorted(self.planned, key=lambda one: one[0]):
            time.sleep(max(0.0, began + second - time.monotonic()))
            with contextlib.suppress(ProcessLookupError, RuntimeError):
                what()
        self.recorder.wait(timeout=150)
        listener.wait(timeout=30)
        self.finished()
        camera.wait(timeout=90)
        time.sleep(2)
        watch.send_signal(signal.SIGINT)
        watch.wait(timeout=30)
