# SPDX-License-Identifier: Apache-2.0
"""Overload is seen: under a CPU quota that the production cannot fit it is short, and the quota
is named; without the quota the same PC carries it. Needs root and a cgroup CPU controller."""

import json
import os
import pathlib
import subprocess
import unittest

from program import PROGRAM, InFolder

PERIOD_US = 100_000
# The production needs about a third of a CPU; no PC of today fits it into an eighth.
QUOTA_US = 12_500


class QuotaGroup:
    """A control group with a CPU quota; version 1 or 2, whichever this PC has."""

    def __init__(self):
        name = f"rigproof-test-{os.getpid()}"
        one, two = pathlib.Path("/sys/fs/cgroup/cpu"), pathlib.Path("/sys/fs/cgroup")
        if (one / "cpu.cfs_quota_us").exists():
            self.folder, self.members = one / name, "tasks"
            limits = {"cpu.cfs_period_us": PERIOD_US, "cpu.cfs_quota_us": QUOTA_US}
        elif (two / "cgroup.controllers").exists():
            self.folder, self.members = two / name, "cgroup.procs"
            limits = {"cpu.max": f"{QUOTA_US} {PERIOD_US}"}
        else:
            raise OSError("no CPU controller of control groups here")
        self.folder.mkdir()
        try:
            for file, value in limits.items():
                (self.folder / file).write_text(str(value), encoding="ascii")
        except OSError:
            self.folder.rmdir()
            raise

    def enter(self):
        (self.folder / self.members).write_text(str(os.getpid()), encoding="ascii")

    def remove(self):
        self.folder.rmdir()


class CpuQuota(InFolder):
    def rehearse(self, before=None):
        done = subprocess.run(  # pylint: disable=subprocess-popen-preexec-fn
            [PROGRAM, "rehearse", "two-camera-talk", "--seconds", "12", "--json",
             "--record-to", str(self.folder)],
            stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=400,
            preexec_fn=before, check=False)
        self.assertNotIn(done.returncode, (1, 2), done.stderr)
        return json.loads(done.stdout)

    def test_the_quota_makes_it_short_and_is_named(self):
        try:
            group = QuotaGroup()
        except OSError as reason:
            print(f"SKIPPED: no CPU quota can be set here: {reason}")
            self.skipTest(str(reason))
        self.addCleanup(group.remove)

        free = self.rehearse()
        # Beside other programs' load it would be no fair test.
        fits = ("ready", "tight") if free["fair_test"]["fair"] else ("ready", "tight", "unproven")
        self.assertIn(free["verdict"], fits, free["headline"])
        self.assertEqual(sum(o["dropped"] for o in free["rehearsal"]["outputs"]), 0)

        memory = free["rehearsal"]["peak_resident_bytes"]
        self.assertAlmostEqual(free["rehearsal"]["predicted_resident_bytes"], memory,
                               delta=0.2 * memory, msg="the memory demand is a prediction")

        held = self.rehearse(group.enter)
        self.assertEqual(held["verdict"], "short", held["headline"])
        outputs = held["rehearsal"]["outputs"]
        for output in outputs:
            self.assertEqual(output["due"], output["delivered"] + output["dropped"])
        dropped = sum(o["dropped"] for o in outputs)
        self.assertGreater(dropped, 0)
        # Which stage runs out first, composing or encoding, is the kernel's choice.
        drops = held["rehearsal"]["drops"]
        working = sum(d["frames"] for d in drops if d["stage"] in ("compose", "encode"))
        self.assertGreater(working, 0.8 * dropped, drops[:20])
        by_quota = sum(d["frames"] for d in drops if d["cause"] == "CPU quota")
        self.assertGreater(by_quota, 0.8 * dropped, drops[:20])


if __name__ == "__main__":
    unittest.main()
