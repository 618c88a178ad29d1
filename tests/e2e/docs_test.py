# SPDX-License-Identifier: Apache-2.0
"""README.md and docs/ are true of the program: links lead somewhere, commands and options are there, the profile is taken,
samples that come out the same each time are what it prints."""

import json
import os
import pathlib
import re
import sys
import unittest

from program import PROGRAM, InFolder, run

SOURCE = pathlib.Path(os.environ["RIGPROOF_SOURCE"])
sys.path.insert(0, str(SOURCE / "scripts"))
import refresh_samples  # noqa: E402  pylint: disable=wrong-import-position

README = SOURCE / "README.md"
PAGES = refresh_samples.PAGES
STABLE_SAMPLES = ("demand", "move-plan")
MOST_README_WORDS = 1000


def text_of(page):
    return page.read_text("utf-8")


def samples(page):
    return [(name, block) for _, name, block in refresh_samples.BLOCK.findall(text_of(page))]


def without_samples(page):
    return refresh_samples.BLOCK.sub("", text_of(page))


def anchors(page):
    """As the usual renderers make them of headings."""
    headings = re.findall(r"^#+ (.+)$", text_of(page), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def help_of(*command):
    done = run(*command, "--help")
    return done.stdout if done.returncode == 0 else ""


def command_names():
    lines = help_of().split("Commands:")[1].splitlines()
    return [line.split()[0] for line in lines[:lines.index("", 1)] if line.startswith("  ") and line[2] != " "]


def shown_commands(page):
    """(command, its options) wherever one is shown as code."""
    text = without_samples(page)
    code = re.findall(r"`([^`]+)`", text) + re.findall(r"^    (.+)$", text, re.MULTILINE)
    for line in code:
        for part in re.split(r"[|#]|&&", line):
            words = part.split()
            if words and pathlib.PurePath(words[0]).name == "rigproof" and len(words) > 1:
                yield words[1], re.findall(r"(?<!\S)--[a-z-]+", part)


class Docs(InFolder):
    def test_links_lead_somewhere(self):
        for page in PAGES:
            for target in re.findall(r"\]\(([^)\s]+)\)", text_of(page)):
                name, _, anchor = target.partition("#")
                linked = (page.parent / name).resolve() if name else page
                with self.subTest(page=page.name, target=target):
                    self.assertTrue(linked.is_file())
                    if anchor:
                        self.assertIn(anchor, anchors(linked))

    def test_every_page_is_reached_from_the_readme(self):
        for page in PAGES:
            if page != README:
                self.assertIn(f"(docs/{page.name}", text_of(README))
                self.assertIn("\nAnswers: **", text_of(page), page.name)

    def test_commands_and_options_are_there(self):
        known = {name: help_of(name) for name in command_names()}
        for page in PAGES:
            for name, options in shown_commands(page):
                if name.startswith("--") or name == "COMMAND":
                    continue
                with self.subTest(page=page.name, command=name):
                    self.assertIn(name, known)
                    for option in options:
                        self.assertRegex(known[name], rf"(?m)^ +{option}\b")

    def test_every_command_is_in_the_readme(self):
        table = text_of(README).split("## Which command when")[1].split("\n## ")[0]
        for name in command_names():
            self.assertIn(f"`rigproof {name}", table)

    def test_the_readme_is_short(self):
        prose = [line for line in text_of(README).splitlines() if not line.startswith(("    ", "<!--"))]
        words = [word for word in " ".join(prose).split() if re.search(r"\w", word)]
        self.assertLessEqual(len(words), MOST_README_WORDS)

    def test_the_profile_of_the_readme_is_taken(self):
        path = refresh_samples.show_json(self.folder)
        self.assertEqual(len(path.read_text("utf-8").splitlines()), 10, "ten lines, as its heading says")
        done = run("demand", path)
        self.assertEqual(done.returncode, 0, done.stderr)

    def test_the_keys_of_the_schema_are_in_the_reference(self):
        schema = json.loads(run("profiles", "--schema").stdout)
        named = [schema["properties"]] + [part["properties"] for part in schema["definitions"].values()
                                          if "properties" in part]
        reference = text_of(SOURCE / "docs/profile-reference.md")
        for key in sorted({key for properties in named for key in properties}):
            self.assertRegex(reference, rf'[`"]{key}[`"]', key)

    def test_stable_samples_are_what_the_program_prints(self):
        for page in PAGES:
            for name, block in samples(page):
                self.assertIn(name, refresh_samples.MAKERS)
                if name in STABLE_SAMPLES:
                    with self.subTest(page=page.name, sample=name):
                        now = refresh_samples.indented(refresh_samples.MAKERS[name](PROGRAM, self.folder))
                        self.assertEqual(block.rstrip("\n"), now.rstrip("\n"),
                                         f"scripts/refresh_samples.py {PROGRAM} {name} writes it anew")


if __name__ == "__main__":
    unittest.main()
