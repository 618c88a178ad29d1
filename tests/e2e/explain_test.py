# SPDX-License-Identifier: Apache-2.0
"""A recording and a log made by the programs themselves, a fault beside them, and what explain says."""

import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import time
import unittest

from program import PROGRAM, InFolder, run

CAMERA = pathlib.Path(__file__).parent.parent / "scenario" / "camera.py"
RASTER = "160x90"


def ring(path):
    subprocess.run(["ffmpeg", "-v", "error", "-f", "lavfi", "-i", f"testsrc2=size={RASTER}:rate=25",
                    "-frames:v", "25", "-pix_fmt", "yuv420p", "-f", "rawvideo", str(path)],
                   check=True)
    return path


def child_named(pid, name):
    """The process of that name below `pid`, once it is there."""
    while True:
        for child in pathlib.Path(f"/proc/{pid}/task/{pid}/children").read_text("ascii").split():
            if pathlib.Path(f"/proc/{child}/comm").read_text("ascii").strip() == name:
                return int(child)
        time.sleep(0.02)


class Explain(InFolder):
    def record(self, seconds, disturb):
        """A watched recording of a camera that never waits; what the camera wrote down."""
        shell = self.folder / "recorder"
        shell.symlink_to(shutil.which("dash") or shutil.which("sh"))
        watch = subprocess.Popen([PROGRAM, "watch", "--into", str(self.folder / "log"), "--program",
                                  "recorder", "--quiet"], stdout=subprocess.DEVNULL)
        try:
            time.sleep(2)  # the log has to hold what was before the recording
            camera = subprocess.Popen(
                [sys.executable, "-B", str(CAMERA), str(ring(self.folder / "ring")), RASTER, "25",
                 str(seconds), str(self.folder / "ledger.json")], stdout=subprocess.PIPE)
            recorder = subprocess.Popen(
                [str(shell), "-c", "ffmpeg -nostdin -v error -f matroska -i pipe:0 -fps_mode "
                 f"passthrough -c:v mpeg4 -flush_packets 1 {self.folder}/show.mkv; true"],
                stdin=camera.stdout)
            camera.stdout.close()
            disturb(recorder.pid)
            recorder.wait(timeout=60)
            camera.wait(timeout=60)
            time.sleep(1.5)
        finally:
            watch.send_signal(signal.SIGINT)
            watch.wait(timeout=30)
        return json.loads((self.folder / "ledger.json").read_text("ascii"))

    def explain(self, *more):
        done = run("explain", self.folder / "show.mkv", "--json", "--quiet", *more)
        self.assertEqual(done.stderr, "")
        return done.returncode, json.loads(done.stdout)

    def test_an_encoder_that_was_stopped_is_told_with_every_picture(self):
        def stop(pid):
            encoder = child_named(pid, "ffmpeg")
            time.sleep(4)
            os.kill(encoder, signal.SIGSTOP)
            time.sleep(2)
            os.kill(encoder, signal.SIGCONT)
        ledger = self.record(9, stop)
        page = self.folder / "why.html"
        status, answer = self.explain("--log", self.folder / "log", "--page", page)
        self.assertEqual((status, answer["verdict"]), (4, "parts missing"))
        self.assertEqual(answer["first_cause"], "the recording program was stopped",
                         json.dumps([answer["recordings"][0]["place"], answer["moments"],
                                     answer["causes"]]))
        self.assertEqual(sum(each["missing"] for each in answer["moments"]), len(ledger["lost"]))
        self.assertGreaterEqual(len(answer["causes"][0]["evidence_for"]), 2)
        text = page.read_text("utf-8")
        self.assertIn("the recording program was stopped", text)
        self.assertNotIn("<script", text)

        # Not a word of blame without the log.
        status, alone = self.explain()
        self.assertEqual((status, alone["first_cause"]), (4, "not known"))
        self.assertIsNone(alone["log"])
        self.assertTrue(alone["pattern_says"])

        # Seconds before the stop there is nothing that explains the hole.
        _, elsewhere = self.explain("--log", self.folder / "log", "--begins",
                                    answer["recordings"][0]["place"]["at_s"] - 3.9)
        self.assertEqual(elsewhere["recordings"][0]["place"]["by"], "user")
        self.assertEqual(elsewhere["first_cause"], "not known")

    def test_what_is_wrong_with_files_is_said(self):
        ring(self.folder / "ring")
        (self.folder / "text").write_text("no log", encoding="ascii")
        show = self.folder / "show.mkv"
        subprocess.run(["ffmpeg", "-v", "error", "-f", "lavfi", "-i", "testsrc2=size=160x90:rate=25",
                        "-t", "2", "-c:v", "mpeg4", str(show)], check=True)
        self.assert_refused(run("explain", self.folder / "none.mkv", "--quiet"), "none.mkv")
        self.assert_refused(run("explain", show, "--log", self.folder / "nolog", "--quiet"), "nolog",
                            "no such log")
        self.assert_refused(run("explain", show, "--log", self.folder / "text", "--quiet"), "no log")
        self.assert_refused(run("explain", show, "--begins", "soon"), "--begins", "allowed")
        status, answer = self.explain()
        self.assertEqual((status, answer["first_cause"]), (0, None))


if __name__ == "__main__":
    unittest.main()
