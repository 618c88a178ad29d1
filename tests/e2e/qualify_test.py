# SPDX-License-Identifier: Apache-2.0
"""One qualification from start to end: result, report, status, and what the ledger adds up to."""

import json
import subprocess
import unittest

from program import PROGRAM, VERDICTS, InFolder, run, small


class Qualify(InFolder):
    def test_the_default_starter_gets_a_verdict_with_evidence(self):
        into = self.folder / "result"
        done = run("qualify", "--into", into, timeout=500)
        result = json.loads((into / "result.json").read_text(encoding="utf-8"))
        self.assertEqual(done.returncode, VERDICTS[result["verdict"]], done.stderr)
        self.assertEqual(result["format"], "rigproof-result")
        self.assertTrue(result["complete"])
        self.assertIn(str(into / "report.html"), done.stdout)
        self.assertIn("live event", done.stderr.splitlines()[0], "the caution comes first")
        self.assertRegex(done.stderr, r"takes about \d+ (s|min).*2 min at most")
        self.assertIn("fair", result["fair_test"])
        self.assertTrue(result["telemetry_before"]["samples"], "other programs are looked for")

        rehearsal = result["rehearsal"]
        self.assertGreater(sum(output["due"] for output in rehearsal["outputs"]), 0)
        for output in rehearsal["outputs"]:
            self.assertEqual(output["due"], output["delivered"] + output["dropped"])
        bases = {row["resource"]: row["basis"] for row in result["headroom"]}
        for resource in ("cpu", "encoder", "disk"):
            self.assertEqual(bases[resource], "measured")

        page = (into / "report.html").read_text(encoding="utf-8")
        for loader in ("<link", 'src="http', "src='http", "@import"):
            self.assertNotIn(loader, page, "the page opens offline")
        self.assertEqual({path.name for path in into.iterdir()}, {"result.json", "report.html"})

    def test_what_was_measured_is_kept_when_the_rehearsal_cannot_start(self):
        into = self.folder / "result"
        recordings = self.folder / "recordings"
        recordings.mkdir()
        with subprocess.Popen(
                [PROGRAM, "qualify", str(self.write_profile(small())), "--into", str(into),
                 "--record-to", str(recordings)],
                stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                text=True) as process:
            # The folder passed its check; then somebody takes the disk away.
            for line in process.stderr:
                if "cost of each stage" in line:
                    break
            recordings.rmdir()
            _, complaints = process.communicate(timeout=300)
        self.assertEqual(process.returncode, VERDICTS["unproven"], complaints)
        result = json.loads((into / "result.json").read_text(encoding="utf-8"))
        self.assertEqual(result["verdict"], "unproven")
        self.assertFalse(result["complete"])
        self.assertIn("could not start", result["headline"])
        self.assertIn(str(recordings), result["headline"])
        self.assertTrue(result["machine"]["cpu"])
        self.assertIn("could not start", (into / "report.html").read_text(encoding="utf-8"))

    def test_the_result_is_shown_when_it_cannot_be_written(self):
        into = self.folder / "result"
        with subprocess.Popen(
                [PROGRAM, "qualify", str(self.write_profile(small())), "--into", str(into),
                 "--json"], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                stderr=subprocess.PIPE, text=True) as process:
            for line in process.stderr:
                if "cost of each stage" in line:
                    break
            into.rmdir()  # it would be made again, if something else did not stand in its place
            into.write_text("")
            shown, complaints = process.communicate(timeout=300)
        self.assertEqual(process.returncode, 1, complaints)
        self.assertIn("result.json", complaints.splitlines()[-1])
        self.assertEqual(json.loads(shown)["verdict"], "unproven")


if __name__ == "__main__":
    unittest.main()
