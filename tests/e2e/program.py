# SPDX-License-Identifier: Apache-2.0
"""Runs the built program and makes the profiles that the tests give it."""

import atexit
import functools
import json
import os
import pathlib
import signal
import subprocess
import tempfile
import time
import unittest

PROGRAM = os.environ["RIGPROOF_PROGRAM"]
FIXTURES = pathlib.Path(os.environ["RIGPROOF_BUILD"]) / "tests" / "fixtures"  # unpacked
# A shell starts what runs in its background with SIGINT ignored, nohup with SIGHUP, and so would be what is
# started here.
signal.signal(signal.SIGINT, signal.default_int_handler)
signal.signal(signal.SIGHUP, signal.SIG_DFL)
# One at a time loads a PC; tests run beside each other, and each has a lock of its own.
if "RIGPROOF_LOCK_FOLDER" not in os.environ:
    _locks = tempfile.TemporaryDirectory(prefix="rigproof-lock-")
    os.environ["RIGPROOF_LOCK_FOLDER"] = _locks.name
    atexit.register(_locks.cleanup)
VERDICTS = {"ready": 0, "tight": 3, "short": 4, "unproven": 5}


def run(*arguments, cwd=None, timeout=100):
    """The finished program with its output as text; standard input is empty."""
    return subprocess.run([PROGRAM, *map(str, arguments)], cwd=cwd, timeout=timeout, check=False,
                          stdin=subprocess.DEVNULL, capture_output=True,
                          encoding="utf-8", errors="surrogateescape")


def runs(pid):
    """Whether a process of this number runs; a zombie that nobody has buried yet does not."""
    try:
        with open(f"/proc/{pid}/stat", encoding="utf-8", errors="replace") as file:
            return file.read().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def wait_for(condition, every_s=0.01):
    """What the condition gives once it is true."""
    give_up = time.monotonic() + 100  # far above any machine's need; only a hang reaches it
    while not (got := condition()):
        if time.monotonic() > give_up:
            raise AssertionError("never came true")
        time.sleep(every_s)
    return got


@functools.cache
def shown_starter(name):
    shown = run("profiles", "--show", name)
    assert shown.returncode == 0, shown.stderr
    return shown.stdout


def starter(name="two-camera-talk"):
    """A starter profile as a value that a test may change."""
    return json.loads(shown_starter(name))


def small():
    """The starter with pictures that cost little: for tests of what happens around a load, not of the load."""
    profile = starter()
    for pictures in (profile["program"], *profile["sources"]):
        pictures["raster"] = "320x180"
    for output in profile["outputs"]:
        output |= {"bitrate_kbps": 500, "effort": "least", "encoder": "software"}
    profile["multiview"] = None
    return profile


class InFolder(unittest.TestCase):
    """A test with an empty folder of its own."""

    def setUp(self):
        made = tempfile.TemporaryDirectory(prefix="rigproof-e2e-")
        self.addCleanup(made.cleanup)
        self.folder = pathlib.Path(made.name)

    def write_profile(self, profile, name="show.json"):
        path = self.folder / name
        path.write_text(profile if isinstance(profile, str) else json.dumps(profile),
                        encoding="utf-8")
        return path

    def assert_refused(self, done, *parts):
        """Status 2, nothing on standard output, one line on standard error that has every part."""
        self.assertEqual(done.returncode, 2, done.stderr)
        self.assertEqual(done.stdout, "")
        self.assertRegex(done.stderr, r"\Arigproof: [^\n]+\n\Z")
        for part in parts:
            self.assertIn(part, done.stderr)
