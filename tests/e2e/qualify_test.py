# SPDX-License-Identifier: Apache-2.0
"""One qualification from start to end: result, report, status, and what the ledger adds up to."""

import json
import unittest

from program import VERDICTS, InFolder, run


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


if __name__ == "__main__":
    unittest.main()
