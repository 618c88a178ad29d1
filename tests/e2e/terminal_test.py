# SPDX-License-Identifier: Apache-2.0
"""What a person sees on a terminal, and what a pipe gets."""

import os
import pty
import subprocess
import unittest

from program import PROGRAM, InFolder, run


def run_on_terminal(*arguments, **environment):
    """Exit status and everything written to a pseudo-terminal."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(  # pylint: disable=consider-using-with
        [PROGRAM, *arguments], stdin=subprocess.DEVNULL, stdout=theirs, stderr=theirs,
        env={"PATH": os.environ["PATH"], **environment})
    os.close(theirs)
    written = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # Linux's way of saying that the far end is closed
            break
        if not piece:
            break
        written += piece
    os.close(ours)
    return process.wait(), written.decode("utf-8")


class Terminal(InFolder):
    def test_a_pipe_gets_no_control_sequences(self):
        done = run("inventory")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertNotIn("\x1b", done.stdout + done.stderr)
        self.assertNotIn("\r", done.stdout + done.stderr)
        self.assertIn("inventory", done.stderr, "progress in plain lines")

    def test_a_terminal_gets_a_line_that_is_redrawn(self):
        status, written = run_on_terminal("inventory", TERM="xterm")
        self.assertEqual(status, 0)
        self.assertIn("\r\x1b[K", written)

    def test_a_terminal_that_cannot_move_its_cursor_gets_lines(self):
        for environment in ({}, {"TERM": "dumb"}):
            status, written = run_on_terminal("inventory", **environment)
            self.assertEqual(status, 0)
            self.assertNotIn("\x1b", written)

    def test_no_color_is_respected(self):
        _, plain = run_on_terminal("survey", "two-camera-talk", TERM="xterm", NO_COLOR="1")
        self.assertNotIn("\x1b[", plain)
        _, coloured = run_on_terminal("survey", "two-camera-talk", TERM="xterm")
        self.assertIn("\x1b[", coloured)

    def test_quiet_says_nothing_on_standard_error(self):
        done = run("inventory", "--quiet")
        self.assertEqual(done.stderr, "")

    def test_a_closed_pipe_ends_it_without_a_crash(self):
        with subprocess.Popen([PROGRAM, "profiles", "--schema"], stdin=subprocess.DEVNULL,
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
            process.stdout.close()
            self.assertEqual(process.wait(timeout=30), 0)
            self.assertEqual(process.stderr.read(), b"")

    def test_help_has_an_example_for_every_command(self):
        top = run("--help")
        self.assertEqual(top.returncode, 0)
        for command in ("inventory", "demand", "survey", "rehearse", "qualify", "capture-machine",
                        "profiles"):
            self.assertIn(command, top.stdout)
            shown = run(command, "--help")
            self.assertEqual(shown.returncode, 0)
            self.assertIn(f"rigproof {command}", shown.stdout.split("Example:")[1])

    def test_version_names_the_libraries(self):
        shown = run("--version").stdout
        self.assertRegex(shown, r"\Arigproof \d+\.\d+\.\d+\nFFmpeg .+\nhwloc API \d")


if __name__ == "__main__":
    unittest.main()
