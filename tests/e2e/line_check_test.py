# SPDX-License-Identifier: Apache-2.0
"""The check of real capture devices, on a PC that has none; one that has is tested in tests/machine."""

import json
import pathlib
import unittest

from program import InFolder, run, starter

HAS_DEVICES = pathlib.Path("/sys/class/video4linux").exists()


class LineCheck(InFolder):
    def setUp(self):
        super().setUp()
        if HAS_DEVICES:
            self.skipTest("this PC has video devices, which a test does not touch")

    def test_a_pc_without_devices_is_unproven(self):
        done = run("line-check")
        self.assertEqual(done.returncode, 5, done.stderr)
        self.assertIn("UNPROVEN", done.stdout)
        self.assertIn("no capture device", done.stdout)

    def test_sources_without_a_device_are_named(self):
        profile = starter()
        done = run("line-check", self.write_profile(profile), "--seconds", 3, "--json")
        self.assertEqual(done.returncode, 5, done.stderr)
        result = json.loads(done.stdout)
        self.assertEqual(result["format"], "rigproof-line-check")
        self.assertEqual(result["verdict"], "unproven")
        self.assertEqual(result["profile"], profile["name"])
        self.assertGreater(len(result["devices"]), 0)
        for device in result["devices"]:
            self.assertEqual(device["outcome"], "not there")
        self.assertEqual({finding["id"] for finding in result["findings"]} -
                         {"line-log-unread", "line-kernel-log"}, {"line-not-there"})

    def test_only_json_on_standard_output(self):
        done = run("line-check", "--json")
        self.assertEqual(json.loads(done.stdout)["devices"], [])
        self.assertEqual(done.stderr, "")

    def test_network_sources_alone_leave_nothing_to_check(self):
        profile = starter()
        profile["sources"] = [{"name": "Remote", "arrives_by": "network", "raster": "1280x720",
                               "rate": 25, "codec": "h264", "bitrate_kbps": 6000,
                               "content": "talk"}]
        profile["outputs"] = [each for each in profile["outputs"]
                              if each.get("takes") in ("program", "multiview")]
        done = run("line-check", self.write_profile(profile), "--json")
        self.assertEqual(done.returncode, 5, done.stderr)
        self.assertEqual(json.loads(done.stdout)["not_checked"], ["Remote"])


class BadInput(InFolder):
    def test_profile_that_is_not_there(self):
        self.assert_refused(run("line-check", self.folder / "none.json"), "none.json")

    def test_profile_that_is_no_profile(self):
        self.assert_refused(run("line-check", self.write_profile("{")), "show.json")

    def test_seconds_out_of_range(self):
        for value in ("2", "3601", "ten", "-5"):
            with self.subTest(seconds=value):
                self.assert_refused(run("line-check", "--seconds", value), "3 to 3600")

    def test_unknown_option(self):
        self.assert_refused(run("line-check", "--even-in-us"), "--even-in-use")


if __name__ == "__main__":
    unittest.main()
