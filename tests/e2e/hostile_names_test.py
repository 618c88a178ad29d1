# SPDX-License-Identifier: Apache-2.0
"""Names made by strangers are shown as text, on every way out."""

import json
import unittest

from program import InFolder, run, starter

HOSTILE = "\x1b]0;owned\x07<script>alert(1)</script>\u202edrawkcab"


class HostileNames(InFolder):
    def assert_plain(self, text):
        for character in text:
            self.assertTrue(character in "\n\t" or ord(character) >= 0x20, repr(character))
            self.assertNotEqual(character, "\u202e")

    def profile_with_hostile_name(self):
        profile = starter()
        profile["name"] = HOSTILE
        return self.write_profile(profile)

    def test_profile_name(self):
        for command in ("demand", "survey"):
            with self.subTest(command=command):
                done = run(command, self.profile_with_hostile_name())
                self.assert_plain(done.stdout + done.stderr)

    def test_profile_name_in_json_is_still_json(self):
        done = run("demand", self.profile_with_hostile_name(), "--json")
        if done.returncode == 0:
            json.loads(done.stdout)
        self.assert_plain(done.stdout + done.stderr)

    def test_file_name_and_argument(self):
        for arguments in (("demand", "no\x1b[31m\nsuch.json"), ("\x1b[31mqualify",),
                          ("survey", "two-camera-talk", "--record\x07", "x")):
            done = run(*arguments)
            self.assert_refused(done)
            self.assert_plain(done.stderr)

    def test_bytes_that_are_no_utf8(self):
        done = run("demand", "no-\udcff\udcfe.json")
        self.assert_refused(done, "\\xFF")


if __name__ == "__main__":
    unittest.main()
