# SPDX-License-Identifier: Apache-2.0
"""What `cmake --install` puts where, and that the installed program runs from there."""

import os
import subprocess
import unittest

from program import InFolder


class Install(InFolder):
    def test_everything_is_where_a_linux_user_expects_it(self):
        subprocess.run(["cmake", "--install", os.environ["RIGPROOF_BUILD"], "--prefix",
                        str(self.folder)], check=True, stdin=subprocess.DEVNULL,
                       stdout=subprocess.DEVNULL)
        for path in ("bin/rigproof", "libexec/rigproof/rigproof-costs", "libexec/rigproof/rigproof-media",
                     "libexec/rigproof/rigproof-topology",
                     "share/rigproof/profiles/two-camera-talk.json",
                     "share/rigproof/schema/rigproof-profile-1.schema.json",
                     "share/doc/rigproof/LICENSE", "share/doc/rigproof/README.md",
                     "share/doc/rigproof/docs/limits.md"):
            self.assertTrue((self.folder / path).is_file(), path)
        profile = self.folder / "share/rigproof/profiles/two-camera-talk.json"
        done = subprocess.run([self.folder / "bin/rigproof", "demand", profile], check=False,
                              stdin=subprocess.DEVNULL, capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, done.stderr)


if __name__ == "__main__":
    unittest.main()
