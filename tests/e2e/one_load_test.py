# SPDX-License-Identifier: Apache-2.0
"""One at a time loads this PC: who is second is told by whom, and nobody can keep everybody out."""

import fcntl
import json
import os
import pathlib
import tempfile
import unittest

from local_page import LocalPage
from program import VERDICTS, InFolder, run, starter


class OneLoad(InFolder):
    def setUp(self):
        super().setUp()
        self.locks = self.folder / "locks"
        self.locks.mkdir()
        self.lock = self.locks / "rigproof-load"
        before = os.environ["RIGPROOF_LOCK_FOLDER"]
        os.environ["RIGPROOF_LOCK_FOLDER"] = str(self.locks)
        self.addCleanup(os.environ.__setitem__, "RIGPROOF_LOCK_FOLDER", before)

    def hold(self):
        """As another program that loads this PC would."""
        held = open(self.lock, "w", encoding="ascii")  # pylint: disable=consider-using-with
        self.addCleanup(held.close)
        fcntl.flock(held, fcntl.LOCK_EX)
        return held

    def test_whatever_loads_the_pc_is_refused_meanwhile(self):
        surveyed = self.folder / "surveyed"
        done = run("survey", "two-camera-talk", "--into", surveyed, "--quiet")
        self.assertIn(done.returncode, VERDICTS.values(), done.stderr)
        self.hold()
        into = self.folder / "into"
        for command in (("qualify", "two-camera-talk", "--into", into),
                        ("rehearse", "two-camera-talk", "--seconds", "3"),
                        ("line-check",),
                        ("size", surveyed, "--change", "production.duration_minutes=1", "--confirm")):
            with self.subTest(command=command[0]):
                self.assert_refused(run(*command), "this PC: is loaded by", "two at once",
                                    f"(process {os.getpid()}, since 20")
        self.assertFalse(into.exists())
        # What loads nothing goes on.
        self.assertIn(run("survey", "two-camera-talk").returncode, VERDICTS.values())
        self.assertEqual(run("demand", "two-camera-talk").returncode, 0)

    def test_the_page_says_so_in_words(self):
        held = self.hold()
        page = LocalPage(self.folder / "shows")
        self.addCleanup(page.end)
        page.post("/api/profile", starter(), name="friday")
        order = {"profile": "friday", "length": "quick", "understood": True,
                 "record_to": "/no/such/folder"}
        refused = page.post("/api/run", order)
        self.assertEqual(refused.status, 409)
        self.assertIn("two at once", refused.json()["error"]["detail"])
        self.assertIn(f"(process {os.getpid()}, since 20", refused.json()["error"]["detail"])
        busy = page.post("/api/check", {"profile_text": json.dumps(starter()), "survey": True})
        self.assertIn("is loaded by", busy.json()["survey_error"]["detail"])
        self.assertEqual(page.get("/compare", result=["a", "b"]).status, 409)
        held.close()
        self.assertEqual(page.post("/api/run", order).status, 202)

    def checked(self):
        """A line-check: it says within a moment whether it may run."""
        return run("line-check", "--seconds", "3")

    def test_a_file_that_is_left_behind_stops_nobody(self):
        self.lock.write_text("")
        self.assertIn(self.checked().returncode, VERDICTS.values())
        self.assertEqual(self.lock.read_text(), "")
        self.lock.unlink()
        self.assertIn(self.checked().returncode, VERDICTS.values())
        self.assertEqual(self.lock.stat().st_mode & 0o777, 0o444)  # others may lock it, too

    def test_what_is_put_in_the_way_is_told_and_left_alone(self):
        private = self.folder / "private"
        private.write_text("mine")

        def link():
            self.lock.symlink_to(private)

        def pipe():
            os.mkfifo(self.lock)

        for make in (link, pipe, self.lock.mkdir):
            with self.subTest(make=getattr(make, "__name__", "")):
                make()
                done = self.checked()
                self.assertIn(done.returncode, VERDICTS.values(), done.stderr)
                self.assertIn("cannot tell whether another run loads this PC", done.stderr)
                (self.lock.rmdir if self.lock.is_dir() else self.lock.unlink)()
        self.assertEqual(private.read_text(), "mine")


class OtherUsers(unittest.TestCase):
    """In a folder with a sticky bit, as /tmp, that two users share."""

    def test_one_user_meets_the_lock_of_another(self):
        if os.geteuid() != 0:
            self.skipTest("SKIPPED: only root may become another user")
        with tempfile.TemporaryDirectory(prefix="rigproof-e2e-") as name:
            folder = pathlib.Path(name)
            folder.chmod(0o1777)
            before = os.environ["RIGPROOF_LOCK_FOLDER"]
            os.environ["RIGPROOF_LOCK_FOLDER"] = name
            self.addCleanup(os.environ.__setitem__, "RIGPROOF_LOCK_FOLDER", before)
            child = os.fork()
            if child == 0:  # leaves a file behind that is not root's
                os.setuid(65534)
                os.close(os.open(folder / "rigproof-load", os.O_CREAT | os.O_RDONLY, 0o444))
                os._exit(0)
            os.waitpid(child, 0)
            self.assertIn(run("line-check", "--seconds", "3").returncode, VERDICTS.values())
            held = os.open(folder / "rigproof-load", os.O_RDONLY)
            fcntl.flock(held, fcntl.LOCK_EX)
            refused = run("line-check")
            os.close(held)
            self.assertEqual(refused.returncode, 2)
            self.assertIn("two at once", refused.stderr)


if __name__ == "__main__":
    unittest.main()
