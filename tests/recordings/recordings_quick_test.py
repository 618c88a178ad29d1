# SPDX-License-Identifier: Apache-2.0
"""Some sixty recordings by writers of others, whose truth was written first, given to the built program."""

import pathlib
import tempfile
import unittest

import cases
import judge
import recordings
from program import PROGRAM

SEED = 20
GONE = recordings.absent(player=False)


@unittest.skipIf(GONE, f"SKIPPED: not installed: {', '.join(GONE)}")
class Recordings(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory(prefix="rigproof-recordings-")
        cls.addClassCleanup(folder.cleanup)
        cls.trial = recordings.Trial(PROGRAM, pathlib.Path(folder.name))
        cls.trial.run(cases.quick_plan(SEED))
        cls.report = recordings.report(cls.trial, 0)
        cls.shares, cls.silent, cls.invented = recordings.shares(cls.trial.rows)

    def test_nearly_all_are_made(self):
        self.assertGreaterEqual(len(self.trial.rows), 55, self.report)

    def test_never_nothing_missing_where_something_is(self):
        self.assertEqual(self.silent, [], self.report)

    def test_no_drift_is_certain_that_is_not_there(self):
        self.assertEqual(self.invented, [], self.report)

    def test_missing_repeated_and_out_of_order_are_right_or_refused(self):
        self.assertGreaterEqual(self.shares["missing"], 0.99, self.report)

    def test_patterns_are_right(self):
        self.assertGreaterEqual(self.shares["pattern"], 0.95, self.report)

    def test_a_variable_rate_is_told(self):
        wrong = [case["name"] for case, answers in self.trial.rows
                 if answers.get("variable", (judge.RIGHT,))[0] == judge.WRONG]
        self.assertEqual(wrong, [], self.report)


if __name__ == "__main__":
    unittest.main()
