# SPDX-License-Identifier: Apache-2.0
"""Stored results compared and ranked: real ones, changed ones, and files that are none."""

import json
import unittest

from program import InFolder, run, starter


class Compare(InFolder):
    def survey(self, name, change=None):
        """A stored survey in a folder of its own."""
        profile = starter()
        if change:
            change(profile)
        into = self.folder / name
        path = self.write_profile(profile, name + ".profile")
        done = run("survey", path, "--into", into, "--quiet")
        self.assertIn(done.returncode, (3, 4, 5), done.stderr)
        return into / "result.json"

    def compared(self, *names):
        done = run("compare", *names, "--json")
        self.assertEqual(done.returncode, 0, done.stderr)
        return json.loads(done.stdout)

    def test_two_surveys_of_this_pc_show_no_real_difference(self):
        result = self.compared(self.survey("a"), self.survey("b"))
        self.assertEqual(result["format"], "rigproof-comparison")
        self.assertEqual(result["productions"], [])
        self.assertNotIn("worse", {figure["standing"] for figure in result["figures"]
                                   if figure["group"] in ("rehearsal", "costs")})
        self.assertIn("survey", " ".join(result["cautions"]))

    def test_profiles_that_differ_are_said_first(self):
        def longer(profile):
            profile["duration_minutes"] += 60
        done = run("compare", self.survey("a"), self.survey("b", longer))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertTrue(done.stdout.startswith("The productions are not the same"), done.stdout)
        self.assertIn("duration minutes", done.stdout)

    def test_a_changed_setting_is_named(self):
        first = self.survey("a")
        changed = json.loads(first.read_text())
        changed["machine"]["settings"]["kernel"] = "invented-7.0"
        changed["machine"]["cpu"]["governor"] = "invented"
        second = self.folder / "changed.json"
        second.write_text(json.dumps(changed))
        facts = {(fact["area"], fact["what"], fact["after"])
                 for fact in self.compared(first, second)["machines"]}
        self.assertIn(("settings", "kernel", "invented-7.0"), facts)
        self.assertIn(("cpu", "governor", "invented"), facts)

    def test_a_folder_is_ranked_and_what_is_no_result_is_told(self):
        fleet = self.folder / "fleet"
        fleet.mkdir()
        text = self.survey("a").read_text()
        (fleet / "one.json").write_text(text)
        (fleet / "broken.json").write_text(text[: len(text) // 2])
        (fleet / "other.json").write_text('{"format": "something else", "version": 1}')
        (fleet / "two").mkdir()
        (fleet / "two" / "result.json").write_text(text)
        into = self.folder / "page"
        done = run("compare", fleet, "--into", into, "--json")
        self.assertEqual(done.returncode, 0, done.stderr)
        ranking = json.loads(done.stdout)
        self.assertEqual(ranking["format"], "rigproof-ranking")
        self.assertEqual({row["result"]["name"] for row in ranking["results"]},
                         {"one.json", "two/result.json"})
        self.assertEqual({row["name"] for row in ranking["not_read"]},
                         {"broken.json", "other.json"})
        self.assertEqual(json.loads((into / "comparison.json").read_text()), ranking)
        page = (into / "comparison.html").read_text()
        self.assertNotIn("<script", page)
        self.assertIn("default-src 'none'", page)

    def test_hostile_text_stays_text(self):
        first = self.survey("a")
        hostile = json.loads(first.read_text())
        hostile["profile"]["name"] = "<img src=x onerror=alert(1)>"
        hostile["machine"]["settings"]["kernel"] = "</style><script>alert(1)</script>\u202e\x1b[2J"
        second = self.folder / "hostile.json"
        second.write_text(json.dumps(hostile))
        into = self.folder / "page"
        done = run("compare", first, second, "--into", into)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertNotIn("\x1b", done.stdout)
        page = (into / "comparison.html").read_text()
        for mark in ("<img", "<script", "\u202e", "\x1b"):
            self.assertNotIn(mark, page)

    def test_wrong_use_is_one_line(self):
        good = self.survey("a")
        text = good.read_text()
        cut = self.folder / "cut.json"
        cut.write_text(text[:-200])
        foreign = self.write_profile(starter(), "foreign.json")
        empty = self.folder / "empty"
        empty.mkdir()
        self.assert_refused(run("compare", good), "two results")
        self.assert_refused(run("compare", good, self.folder / "none.json"), "none.json",
                            "does not exist")
        self.assert_refused(run("compare", good, cut), "cut.json", "not JSON")
        self.assert_refused(run("compare", good, foreign), "/format", "rigproof-result")
        self.assert_refused(run("compare", empty), "holds no result")
        self.assert_refused(run("compare", good, "/dev/zero"), "not a regular file")
        self.assert_refused(run("compare"), "RESULT")

    def test_damage_anywhere_is_refused_or_read(self):
        good = self.survey("a")
        text = good.read_text()
        for at in range(50, len(text), max(1, len(text) // 12)):
            damaged = self.folder / "damaged.json"
            damaged.write_text(text[:at] + "@" + text[at + 1:])
            done = run("compare", good, damaged)
            self.assertIn(done.returncode, (0, 2), done.stderr)
            self.assertLessEqual(done.stderr.count("\n"), 1)


if __name__ == "__main__":
    unittest.main()
