# SPDX-License-Identifier: Apache-2.0
"""When memory runs out the program ends by itself: no crash, no hang, no files left behind, and what
was measured is marked incomplete with accounts that balance."""

import json
import resource
import subprocess
import unittest

from program import PROGRAM, VERDICTS, InFolder

LIMIT_BYTES = 100_000_000  # of address space: below what any run has, so that nothing more is had
HANGS_AFTER_S = 60  # far above any machine's need; only a hang reaches it


class MemoryRunsOut(InFolder):
    def run_out_at(self, phase):
        with subprocess.Popen(
                [PROGRAM, "rehearse", "hall-three-cameras", "--seconds", "6", "--json",
                 "--record-to", str(self.folder)], stdin=subprocess.DEVNULL, text=True,
                stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
            self.addCleanup(process.kill)
            for line in process.stderr:
                if phase in line:
                    break
            else:
                self.fail(f"the program never told of its {phase}")
            resource.prlimit(process.pid, resource.RLIMIT_AS, (LIMIT_BYTES, LIMIT_BYTES))
            out, err = process.communicate(timeout=HANGS_AFTER_S)
        self.assertEqual(list(self.folder.iterdir()), [])
        if not out:
            self.assertEqual(process.returncode, 1, err)
            self.assertIn("rigproof: ", err.splitlines()[-1])
            return
        result = json.loads(out)
        self.assertEqual(process.returncode, VERDICTS[result["verdict"]])
        for output in result["rehearsal"]["outputs"]:
            self.assertEqual(output["due"], output["delivered"] + output["dropped"])
        if not result["complete"]:
            self.assertNotEqual(result["rehearsal"]["stopped_because"], "")

    def test_while_the_machine_is_looked_at(self):
        self.run_out_at("inventory")

    def test_while_feeds_are_painted(self):
        self.run_out_at("preparing test pictures")

    def test_while_it_rehearses(self):
        self.run_out_at("rehearsal")

    def test_from_the_start(self):
        for megabytes in (300, 500, 1500):
            with self.subTest(megabytes=megabytes):
                done = subprocess.run(
                    ["prlimit", f"--as={megabytes}000000", PROGRAM, "rehearse", "two-camera-talk",
                     "--seconds", "3", "--quiet", "--record-to", str(self.folder)],
                    stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
                    timeout=HANGS_AFTER_S)
                self.assertIn(done.returncode, (1, *VERDICTS.values()), done.stderr)
                self.assertEqual(list(self.folder.iterdir()), [])


if __name__ == "__main__":
    unittest.main()
