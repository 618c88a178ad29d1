# SPDX-License-Identifier: Apache-2.0
"""With --json standard output is one JSON value and nothing else."""

import json
import unittest

from program import VERDICTS, InFolder, run


class JsonOnly(InFolder):
    def test_commands_without_load(self):
        for arguments, form in ((("inventory",), "rigproof-inventory"),
                                (("demand", "two-camera-talk"), "rigproof-demand")):
            with self.subTest(command=arguments[0]):
                done = run(*arguments, "--json")
                self.assertEqual(done.returncode, 0, done.stderr)
                self.assertEqual(json.loads(done.stdout)["format"], form)

    def test_survey_status_is_its_verdict(self):
        done = run("survey", "two-camera-talk", "--json")
        result = json.loads(done.stdout)
        self.assertEqual(done.returncode, VERDICTS[result["verdict"]], done.stderr)
        self.assertNotEqual(result["verdict"], "ready", "nothing was rehearsed")
        self.assertEqual(done.stderr, "", "a survey loads nothing and has nothing to say")

    def test_profiles(self):
        done = run("profiles", "--json")
        rows = json.loads(done.stdout)
        self.assertEqual(sum(row["default"] for row in rows), 1)
        schema = json.loads(run("profiles", "--schema").stdout)
        self.assertIn("$schema", schema)

    def test_capture_machine(self):
        done = run("capture-machine", self.folder / "rig.tar.gz", "--json")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertGreater(json.loads(done.stdout)["files"], 0)


if __name__ == "__main__":
    unittest.main()
