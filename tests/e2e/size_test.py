# SPDX-License-Identifier: Apache-2.0
"""Room asked of a stored rehearsal: sums, remedies, what is not proven, and a check by rehearsal."""

import json
import unittest

from program import VERDICTS, InFolder, run

SMALL = {
    "format": "rigproof-profile", "version": 1, "name": "Small hall",
    "note": "Invented production.", "duration_minutes": 10,
    "program": {"raster": "320x180", "rate": 25},
    "sources": [{"name": "Door", "count": 2, "arrives_by": "usb", "raster": "320x180", "rate": 25,
                 "pixel_format": "nv12", "content": "talk"}],
    "outputs": [{"name": "Program", "kind": "recording", "takes": "program", "codec": "h264",
                 "bitrate_kbps": 500, "encoder": "software", "effort": "low",
                 "container": "mkv"}],
    "audio": None, "multiview": None, "displays": 1,
}


class Size(InFolder):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.stored = None

    def setUp(self):
        super().setUp()
        takes = self.folder / "takes"
        takes.mkdir()
        if Size.stored is None:
            profile = self.write_profile(SMALL)
            done = run("rehearse", profile, "--seconds", "5", "--record-to", takes, "--json")
            Size.stored = done.stdout
        self.result = self.folder / "result.json"
        self.result.write_text(Size.stored)
        self.takes = takes

    def sized(self, *arguments):
        done = run("size", self.result, *arguments, "--json")
        sizing = json.loads(done.stdout)
        self.assertEqual(done.returncode, VERDICTS[sizing["verdict"]], done.stderr)
        return sizing

    def cpu(self, sizing):
        return next(row for row in sizing["resources"] if row["resource"] == "cpu")

    def test_nothing_is_run_and_more_asks_for_more(self):
        one = self.cpu(self.sized("--add", "like:Door 1"))
        three = self.cpu(self.sized("--add", "3x like:Door 1"))
        self.assertGreater(one["asked"], one["now"])
        self.assertAlmostEqual(three["asked"] - three["now"], 3 * (one["asked"] - one["now"]),
                               places=6)
        self.assertLessEqual(one["lowest_percent"], one["headroom_percent"])
        self.assertEqual(list(self.takes.iterdir()), [])

    def test_a_file_and_a_short_form_say_the_same(self):
        added = self.folder / "added.json"
        added.write_text(json.dumps({"sources": [{
            "name": "Added", "arrives_by": "usb", "raster": "640x360", "rate": 25,
            "pixel_format": "nv12", "content": "talk"}]}))
        by_file = self.sized("--add", added)
        by_words = self.sized("--add", "640x360 25 usb nv12")
        self.assertEqual(by_file["resources"], by_words["resources"])

    def test_what_does_not_fit_says_what_to_change_or_buy(self):
        sizing = self.sized("--add", "12x 1920x1080 60 usb nv12 iso=8000")
        self.assertEqual(sizing["verdict"], "short")
        self.assertTrue(sizing["remedies"] or sizing["purchases"])
        if not any(remedy["sufficient"] for remedy in sizing["remedies"]):
            speed = next(one for one in sizing["purchases"] if one["what"] == "encode speed")
            self.assertGreater(speed["amount"], 1)
            self.assertTrue(speed["from"])

    def test_a_remedy_gives_what_it_says(self):
        sizing = self.sized("--add", "12x 1920x1080 60 usb nv12 iso=8000")
        for remedy in sizing["remedies"][:3]:
            changes = [part for change in remedy["changes"] for part in ("--change", change)]
            self.assertEqual(self.sized("--add", "12x 1920x1080 60 usb nv12 iso=8000",
                                        *changes)["verdict"], remedy["verdict"])

    def test_a_survey_proves_nothing_and_says_what_would(self):
        profile = self.write_profile(SMALL)
        into = self.folder / "survey"
        run("survey", profile, "--into", into, "--record-to", self.takes)
        done = run("size", into, "--add", "like:Door 1")
        self.assertEqual(done.returncode, 5, done.stderr)
        self.assertIn("rigproof rehearse", done.stdout)

    def test_it_is_checked_by_rehearsal(self):
        done = run("size", self.result, "--add", "like:Door 1", "--confirm", "--seconds", "4",
                   "--record-to", self.takes, "--json")
        sizing = json.loads(done.stdout)
        check = sizing["check"]
        self.assertGreater(check["due"], 0)
        self.assertGreater(check["measured_cpus"], 0)
        self.assertEqual(done.returncode, VERDICTS[check["verdict"]], done.stderr)
        self.assertIn("never run one during a live event", done.stderr)
        self.assertEqual(list(self.takes.iterdir()), [], "recordings are gone")

    def test_another_pc_is_not_rehearsed(self):
        other = json.loads(Size.stored)
        other["machine"]["cpu"]["model"] = "Invented CPU"
        self.result.write_text(json.dumps(other))
        self.assert_refused(run("size", self.result, "--add", "like:Door 1", "--confirm"),
                            "not of this PC", "Invented CPU")

    def test_wrong_use_is_one_line(self):
        for arguments, parts in (
                ((), ("--add",)),
                (("--add", "1920x1080 50 usb"), ("--add", "found 3 words")),
                (("--add", "like:Window"), ("Door 1",)),
                (("--add", self.folder / "none.json"), ("does not exist",)),
                (("--change", "isos.effort=lazy"), ("--change", "isos")),
                (("--change", "Program.effort=lazy"), ("least",)),
                (("--change", "Program.folder=second-disk", "--confirm"), ("second disk",)),
                (("--add", "16x 1280x720 25 usb nv12"), ("sources",))):
            with self.subTest(arguments=arguments):
                self.assert_refused(run("size", self.result, *arguments), *parts)
        self.result.write_text(Size.stored[:-500])
        self.assert_refused(run("size", self.result, "--add", "like:Door 1"), "result.json")


if __name__ == "__main__":
    unittest.main()
