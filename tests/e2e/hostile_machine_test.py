# SPDX-License-Identifier: Apache-2.0
"""Captured machines whose files are made to stop the program: what they hit becomes unknown, with
the reason, the other probes go on, and nothing that was unpacked stays behind."""

import json
import os
import pathlib
import resource
import shutil
import signal
import subprocess
import tarfile
import unittest

from program import FIXTURES, PROGRAM, InFolder, run, wait_for

FIXTURE = FIXTURES / "machines" / "2xhci-2capture-hub-disk"
READER = pathlib.Path(os.environ["RIGPROOF_BUILD"]) / "probes" / "rigproof-topology"
HANGS_AFTER_S = 60  # far above any machine's need; only a hang reaches it
CPU = "sys/devices/system/cpu/"
NODE = "sys/devices/system/node/"


class HostileMachine(InFolder):
    def machine(self):
        root = self.folder / "machine"
        shutil.rmtree(root, ignore_errors=True)
        shutil.copytree(FIXTURE, root, symlinks=True)
        return root

    def assert_rest_goes_on(self, root, *parts):
        """The topology is unknown for a reason that has every part; all else is as it was."""
        done = run("inventory", "--machine", root, "--json", timeout=HANGS_AFTER_S)
        self.assertEqual(done.returncode, 0, done.stderr)
        told = json.loads(done.stdout)
        cpu = told["cpu"]
        why = cpu["threads"]["unknown"]
        for part in parts:
            self.assertIn(part, why)
        self.assertNotIn("unknown", str(cpu["model"]))
        self.assertTrue(told["usb"]["devices"])

    def test_lists_that_hwloc_cannot_take(self):
        for path, text in ((CPU + "online", "1-0"), (CPU + "possible", "0-99999999"),
                           (NODE + "online", "1-0"), (NODE + "online", "0-99999999"),
                           (NODE + "possible", "0-99999999"), (NODE + "node0/cpumap", "nonsense"),
                           (CPU + "cpu0/topology/core_cpus", "1" * 100_000)):
            with self.subTest(path=path, text=text[:20]):
                root = self.machine()
                (root / path).parent.mkdir(parents=True, exist_ok=True)
                (root / path).write_text(text + "\n", encoding="ascii")
                self.assert_rest_goes_on(root, "/" + path)

    def test_a_file_that_never_answers(self):
        root = self.machine()
        path = root / CPU / "cpu0/topology/physical_package_id"
        path.unlink(missing_ok=True)
        os.mkfifo(path)
        self.assert_rest_goes_on(root, "took longer than it may")

    def test_the_reader_alone_bears_what_is_not_looked_at(self):
        """What the lists may not hold, given to hwloc: it ends its own process, or gets through
        within its limits."""
        statuses = []
        for text in ("1-0", "0-99999999", "0-4294967294"):
            root = self.machine()
            (root / NODE / "online").write_text(text + "\n", encoding="ascii")
            statuses.append(subprocess.run(
                [READER, root], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL, check=False, timeout=HANGS_AFTER_S).returncode)
        self.assertEqual(statuses[0], -signal.SIGABRT)  # an assertion of hwloc 2.9
        most_kib = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
        self.assertLessEqual(most_kib, 1 << 20)

    def test_a_user_with_lower_limits_is_told_all_the_same(self):
        done = subprocess.run(["prlimit", "--as=200000000", "--cpu=2", READER, FIXTURE],
                              stdin=subprocess.DEVNULL, capture_output=True, text=True,
                              check=False, timeout=HANGS_AFTER_S)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertIn("threads 2\n", done.stdout)

    def test_nothing_unpacked_is_left_by_a_killed_program(self):
        archive = self.folder / "rig.tar.gz"
        with tarfile.open(archive, "w:gz", compresslevel=1) as tar:
            tar.add(FIXTURE, arcname="rig")
        unpacked = self.folder / "unpacked"
        unpacked.mkdir()
        environment = os.environ | {"TMPDIR": str(unpacked)}
        seen = 0
        for sent in (signal.SIGKILL, signal.SIGTERM, signal.SIGINT):
            for files in (0, 1, 100, 300):  # that are unpacked when it is ended
                process = subprocess.Popen(
                    [PROGRAM, "inventory", "--machine", archive], env=environment,
                    stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
                while process.poll() is None and not self.holds(unpacked, files):
                    os.sched_yield()
                seen += process.poll() is None
                process.send_signal(sent)
                process.communicate(timeout=HANGS_AFTER_S)  # nobody else holds its output
                wait_for(lambda: not os.listdir(unpacked))
        self.assertGreater(seen, 0)

    @staticmethod
    def holds(folder, files):
        """Whether so many files lie below the one folder in it."""
        if not os.listdir(folder):
            return False
        count = 0
        for _, _, names in os.walk(folder):
            count += len(names)
            if count >= files:
                return True
        return False


if __name__ == "__main__":
    unittest.main()
