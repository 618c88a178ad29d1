# SPDX-License-Identifier: Apache-2.0
"""Each fault once: the report names its cause, and names none on a healthy run. A trial: it loads
the PC for minutes and judges causes, so it runs by itself on a quiet PC (label trial). Needs root."""

import os
import unittest

import faults
from program import PROGRAM, InFolder


class InjectedFaults(InFolder):
    def inject(self, name):
        fault, expected = faults.FAULTS[name]
        if os.geteuid() != 0:
            print("SKIPPED: faults can be injected by root only")
            self.skipTest("not root")
        try:
            result = fault(PROGRAM, self.folder)
        except faults.Unable as reason:
            self.skipTest(f"{name}: {reason}")
        cause, frames = faults.named(result)
        self.assertIn(cause, expected, frames)
        for account in result["causes"]:
            if account["cause"] == cause:
                self.assertGreaterEqual(len(account["evidence_for"]), 2)
                self.assertTrue(account["action"])
        self.assertTrue(any(drop["cause"] == cause for drop in result["rehearsal"]["drops"]))

    def test_a_healthy_run_names_nothing(self):
        cause, frames = faults.named(faults.healthy(PROGRAM, self.folder))
        self.assertIn(cause, ("nothing lost", "not known"), frames)


def add_tests():
    for name in faults.FAULTS:
        def test(self, name=name):
            self.inject(name)
        word = "".join(letter if letter.isalnum() else "_" for letter in name.lower())
        setattr(InjectedFaults, f"test_{word}", test)


add_tests()

if __name__ == "__main__":
    unittest.main()
