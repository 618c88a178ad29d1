# SPDX-License-Identifier: Apache-2.0
"""A program that keeps a CPU busy beside a rehearsal is named before it and in its verdict."""

import json
import os
import pathlib
import pty
import subprocess
import sys
import unittest

from program import PROGRAM, VERDICTS, InFolder, run, small, wait_for

BUSY = "while True: pass"
SECONDS = "3"  # as few as it takes


def light():
    """A show that takes little, so that what is busy is the other program."""
    profile = small()
    profile["sources"] = profile["sources"][:1]
    profile["outputs"] = profile["outputs"][:1]
    return profile


class BusyPc(InFolder):
    def setUp(self):
        super().setUp()
        name = self.folder / "busy-indexer"
        name.symlink_to(sys.executable)
        self.other = subprocess.Popen([str(name), "-c", BUSY])
        self.addCleanup(self.other.wait)
        self.addCleanup(self.other.kill)
        comm = pathlib.Path(f"/proc/{self.other.pid}/comm")
        wait_for(lambda: comm.read_text("ascii").strip() == "busy-indexer")

    def rehearse(self, *options):
        return run("rehearse", self.write_profile(light()), "--seconds", SECONDS, "--record-to",
                   self.folder, *options)

    def test_is_named_before_and_in_the_result(self):
        done = self.rehearse("--json")
        self.assertRegex(done.stderr, r"no fair test: other programs took .*busy-indexer")
        result = json.loads(done.stdout)
        fair = result["fair_test"]
        self.assertIs(fair["fair"], False)
        for when in ("before", "during"):
            use = fair[when]
            self.assertGreater(use["cpus"], 0.1, when)
            named = [one for one in use["programs"] if one["name"] == "busy-indexer"]
            self.assertEqual([one["pid"] for one in named], [self.other.pid], when)
        self.assertIn(result["verdict"], ("unproven", "short"))
        self.assertEqual(done.returncode, VERDICTS[result["verdict"]])
        self.assertIn("other programs took", result["headline"])
        self.assertIn("rigproof rehearse", fair["command"])
        self.assertIn("--seconds " + SECONDS, fair["command"])
        if result["verdict"] == "unproven":
            self.assertIn("not a fair test", result["headline"])
        else:
            self.assertTrue(fair["short_anyway"])
        kept = self.folder / "result.json"
        kept.write_text(done.stdout, encoding="utf-8")
        again = run("size", kept, "--add", "like:" + light()["sources"][0]["name"])
        self.assertNotIn(again.returncode, (1, 2), again.stderr)

    def test_the_quiet_run_says_nothing_and_its_page_does(self):
        done = self.rehearse("--quiet")
        self.assertEqual(done.stderr, "")
        self.assertRegex(done.stdout, r"other\s+programs\s+took")
        self.assertRegex(done.stdout, r"fair test +rigproof rehearse")

    def test_asks_at_a_terminal_and_runs_nothing_after_a_no(self):
        master, slave = pty.openpty()
        asked = subprocess.Popen(
            [PROGRAM, "rehearse", str(self.write_profile(light())), "--seconds", SECONDS,
             "--record-to", str(self.folder)],
            stdin=slave, stderr=slave, stdout=subprocess.PIPE, text=True)
        os.close(slave)
        shown = b""
        while b"[y/N]" not in shown:
            shown += os.read(master, 4096)
        self.assertIn(b"busy-indexer", shown)
        os.write(master, b"n\n")
        out, _ = asked.communicate(timeout=60)
        os.close(master)
        self.assertEqual((asked.returncode, out), (1, ""))


if __name__ == "__main__":
    unittest.main()
