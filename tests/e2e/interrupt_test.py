# SPDX-License-Identifier: Apache-2.0
"""Ctrl-C keeps what was measured, says that it is incomplete, and leaves no files behind."""

import json
import os
import pathlib
import pty
import shutil
import signal
import subprocess
import unittest

from program import PROGRAM, InFolder, runs, small, wait_for

HANGS_AFTER_S = 60  # far above any machine's need; only a hang reaches it


def start(*arguments):
    return subprocess.Popen(  # pylint: disable=consider-using-with
        [PROGRAM, *map(str, arguments)], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True)


def read_until(process, text):
    """Everything on standard error up to the line that holds text."""
    seen = []
    for line in process.stderr:
        seen.append(line)
        if text in line:
            return seen
    raise AssertionError(f"ended without saying {text!r}: {seen}")


def recorded_bytes(process, folder):
    """What the program's open files below folder hold; the files have no name any more."""
    size = 0
    for link in pathlib.Path(f"/proc/{process.pid}/fd").iterdir():
        try:
            if os.readlink(link).startswith(str(folder)):
                size += link.stat().st_size
        except OSError:  # closed since it was listed
            continue
    return size


def counter(process, file, name):
    """A number that the kernel tells of the program."""
    text = pathlib.Path(f"/proc/{process.pid}/{file}").read_text(encoding="ascii")
    return next(int(line.split()[1]) for line in text.splitlines() if line.startswith(name))


def children_of(process):
    """Their numbers; the kernel tells of them by thread."""
    return [child for task in pathlib.Path(f"/proc/{process.pid}/task").iterdir()
            for child in (task / "children").read_text(encoding="ascii").split()]


def sent_and_waiting(process):
    """Whether a signal that was sent to the program has not reached its handler yet."""
    status = pathlib.Path(f"/proc/{process.pid}/status").read_text(encoding="ascii")
    pending, = (line for line in status.splitlines() if line.startswith("ShdPnd:"))
    return int(pending.split()[1], 16) != 0


class Interrupt(InFolder):
    def end(self, process, sent):
        process.send_signal(sent)
        try:
            out, _ = process.communicate(timeout=HANGS_AFTER_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
            self.fail("still running after the signal")
        return out

    def until_read(self, process, count):
        """Until the program has read so many bytes."""
        def has_read():
            self.assertIsNone(process.poll())
            return counter(process, "io", "rchar:") >= count
        wait_for(has_read)

    def test_rehearse_keeps_its_ledger_and_removes_its_files(self):
        profile = self.write_profile(small())
        recordings = self.folder / "recordings"
        recordings.mkdir()
        for sent in (signal.SIGINT, signal.SIGTERM):
            with self.subTest(signal=sent.name):
                process = start("rehearse", profile, "--seconds", 3600, "--json",
                                "--record-to", recordings)
                read_until(process, "rehearsal, about")
                wait_for(lambda: process.poll() is not None or recorded_bytes(process, recordings))
                result = json.loads(self.end(process, sent))
                self.assertFalse(result["complete"])
                self.assertEqual(process.returncode, {"short": 4, "unproven": 5}[result["verdict"]])
                self.assertLess(result["rehearsal"]["seconds"], 3600)
                for output in result["rehearsal"]["outputs"]:
                    self.assertEqual(output["due"], output["delivered"] + output["dropped"])
                self.assertEqual(list(recordings.iterdir()), [])

    def test_several_signals_for_one_reason_lose_nothing(self):
        """timeout(1) sends one to the program and one to its group."""
        profile = self.write_profile(small())
        for sent in (signal.SIGTERM, signal.SIGINT):
            with self.subTest(signal=sent.name):
                process = start("rehearse", profile, "--seconds", 3600, "--json",
                                "--record-to", self.folder)
                read_until(process, "rehearsal, about")
                process.send_signal(sent)
                while sent_and_waiting(process):  # two that are pending would be one
                    os.sched_yield()
                result = json.loads(self.end(process, sent))
                self.assertFalse(result["complete"])
                self.assertGreaterEqual(result["rehearsal"]["seconds"], 0)

    def test_a_folder_that_is_removed_meanwhile_is_made_again(self):
        into = self.folder / "shows" / "result"
        process = start("qualify", self.write_profile(small()), "--into", into)
        read_until(process, "disk, about")
        shutil.rmtree(self.folder / "shows")
        self.end(process, signal.SIGINT)
        self.assertFalse(json.loads((into / "result.json").read_text())["complete"])
        self.assertIn("<html", (into / "report.html").read_text())

    def test_measuring_programs_end_with_a_killed_one(self):
        process = start("qualify", self.write_profile(small()), "--into", self.folder / "result")
        read_until(process, "cost of each stage")
        children = wait_for(lambda: children_of(process))
        process.kill()
        process.communicate()
        wait_for(lambda: not any(runs(child) for child in children))

    def test_a_closed_terminal_keeps_what_was_measured(self):
        into = self.folder / "result"
        profile = self.write_profile(small())
        program, terminal = pty.fork()
        if program == 0:
            os.execv(PROGRAM, [PROGRAM, "qualify", str(profile), "--into", str(into)])
        told = b""
        while b"cost of each stage" not in told:
            told += os.read(terminal, 4096)
            if told.endswith(b"[y/N] "):  # other tests run beside, and it asks whether to go on
                os.write(terminal, b"y\n")
        os.close(terminal)
        os.waitpid(program, 0)
        self.assertFalse(json.loads((into / "result.json").read_text())["complete"])

    def test_a_raw_stream_that_never_ends_takes_little_memory(self):
        recording = self.folder / "endless.h264"
        subprocess.run(["ffmpeg", "-loglevel", "error", "-nostdin", "-f", "lavfi", "-i",
                        "testsrc2=size=64x36:rate=10", "-t", "2", recording], check=True)
        os.truncate(recording, 1 << 40)
        process = start("examine", recording, "--json")
        read_until(process, "reading")
        self.until_read(process, 1 << 30)
        most_kib = counter(process, "status", "VmHWM:")
        told, = json.loads(self.end(process, signal.SIGINT))["recordings"]
        self.assertIn("stopped on request", " ".join(told["remarks"]))
        self.assertLess(most_kib, 768 << 10)

    def test_a_recording_that_never_ends_is_left(self):
        recording = self.folder / "endless.avi"
        subprocess.run(["ffmpeg", "-loglevel", "error", "-nostdin", "-f", "lavfi", "-i",
                        "testsrc2=size=64x36:rate=10", "-t", "2", "-c:v", "mpeg4", recording],
                       check=True)
        os.truncate(recording, 1 << 40)
        process = start("examine", recording, "--json")
        read_until(process, "reading")
        self.until_read(process, 1 << 27)  # past its beginning
        told, = json.loads(self.end(process, signal.SIGINT))["recordings"]
        self.assertIn("stopped on request", " ".join(told["remarks"]))

    def test_qualify_still_writes_its_report(self):
        into = self.folder / "result"
        process = start("qualify", self.write_profile(small()), "--into", into)
        read_until(process, "disk, about")
        self.end(process, signal.SIGINT)
        self.assertEqual(process.returncode, 5)
        self.assertFalse(json.loads((into / "result.json").read_text())["complete"])
        self.assertIn("<html", (into / "report.html").read_text())
        self.assertEqual({path.name for path in into.iterdir()}, {"result.json", "report.html"})

    def test_ballast_ends_and_the_rehearsal_before_it_stays(self):
        profile = self.folder / "profile.json"
        profile.write_text(json.dumps({
            "format": "rigproof-profile", "version": 1, "name": "Invented: one small camera",
            "duration_minutes": 1, "program": {"raster": "320x180", "rate": 10},
            "sources": [{"name": "Camera", "arrives_by": "usb", "raster": "320x180", "rate": 10,
                         "pixel_format": "nv12", "content": "plain"}],
            "outputs": [{"name": "Recording", "kind": "recording", "takes": "program",
                         "codec": "h264", "bitrate_kbps": 500, "encoder": "software",
                         "effort": "least", "container": "mkv"}],
            "audio": None, "multiview": None, "displays": 0}))
        recordings = self.folder / "recordings"
        recordings.mkdir()
        process = start("rehearse", profile, "--seconds", 20, "--json", "--record-to", recordings)
        read_until(process, "extra load, about")
        result = json.loads(self.end(process, signal.SIGINT))
        self.assertFalse(result["complete"])
        self.assertAlmostEqual(result["rehearsal"]["seconds"], 20, delta=1)
        self.assertEqual(list(recordings.iterdir()), [])


if __name__ == "__main__":
    unittest.main()
