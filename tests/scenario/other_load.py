# SPDX-License-Identifier: Apache-2.0
"""Load that takes a share of every CPU beside a trial: on each, a process of normal priority that works
so much of every 50 ms."""

import contextlib
import os
import subprocess
import sys

PERIOD_S = 0.05

WORK = """
import os, sys, time
os.sched_setaffinity(0, {int(sys.argv[1])})
work, period = float(sys.argv[2]), float(sys.argv[3])
due = time.monotonic()
while os.getppid() == int(sys.argv[4]):
  end = time.thread_time() + work
  while time.thread_time() < end and time.monotonic() < due + period: pass
  due = max(due + period, time.monotonic())
  time.sleep(max(0.0, due - time.monotonic()))
"""


@contextlib.contextmanager
def beside(share):
    workers = [subprocess.Popen([sys.executable, "-c", WORK, str(cpu), str(share * PERIOD_S),
                                 str(PERIOD_S), str(os.getpid())])
               for cpu in (sorted(os.sched_getaffinity(0)) if share > 0 else [])]
    try:
        yield
    finally:
        for worker in workers:
            worker.kill()
            worker.wait()
