# SPDX-License-Identifier: Apache-2.0
"""A stream's key never leaves the profile: not on the terminal, not in JSON, not in an error."""

import unittest

from program import InFolder, run, starter

KEY = "wq-7f3k-29xa"


class StreamKey(InFolder):
    def profile(self, url):
        profile = starter()
        stream = next(out for out in profile["outputs"] if out["kind"] == "stream")
        stream["url"] = url
        return self.write_profile(profile)

    def assert_kept(self, done):
        self.assertNotIn(KEY, done.stdout + done.stderr)

    def test_shown_results_have_the_host_and_no_key(self):
        path = self.profile(f"rtmp://192.0.2.1/app/{KEY}")
        for command in ("demand", "survey"):
            for form in ((), ("--json",)):
                with self.subTest(command=command, form=form):
                    done = run(command, path, *form)
                    self.assertIn(done.returncode, (0, 3, 4, 5), done.stderr)
                    self.assert_kept(done)
        self.assertIn("rtmp://192.0.2.1/app/...", run("survey", path, "--json").stdout)

    def test_refused_profile_does_not_repeat_it(self):
        done = run("demand", self.profile(f"http://192.0.2.1/app/{KEY}"))
        self.assert_refused(done, "http://192.0.2.1/app/...")
        self.assert_kept(done)

    def test_server_that_does_not_answer(self):
        # Port 1 of this PC: nothing listens there.
        path = self.profile(f"rtmp://127.0.0.1:1/app/{KEY}")
        done = run("rehearse", path, "--seconds", "3", "--send-streams",
                   "--record-to", self.folder)
        self.assertEqual(done.returncode, 1, done.stderr)
        self.assertIn("rtmp://127.0.0.1:1/app/...", done.stderr)
        self.assert_kept(done)


if __name__ == "__main__":
    unittest.main()
