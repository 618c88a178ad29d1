# SPDX-License-Identifier: Apache-2.0
"""The Debian package goes in and out again and leaves nothing; its manual pages and completions work."""

import os
import pathlib
import shutil
import subprocess
import unittest

from program import PROGRAM, InFolder

BUILD = pathlib.Path(os.environ["RIGPROOF_BUILD"])


def run(*command, **more):
    return subprocess.run([str(word) for word in command], check=True, stdin=subprocess.DEVNULL,
                          capture_output=True, text=True, **more).stdout


def commands():
    """As the program's own help lists them."""
    lines = run(PROGRAM, "--help").split("Subcommands:")[1].splitlines()
    return [line.split()[0] for line in lines if line.startswith("  ") and line[2] != " "]


class Package(InFolder):
    def test_goes_in_and_out_and_leaves_nothing(self):
        run("cpack", "-G", "DEB", "-B", self.folder / "made", cwd=BUILD)
        (package,) = (self.folder / "made").glob("rigproof_*.deb")
        root = self.folder / "root"
        state = root / "var/lib/dpkg"
        for part in ("updates", "info", "triggers"):
            (state / part).mkdir(parents=True)
        for part in ("status", "available"):
            (state / part).touch()
        before = sorted(root.rglob("*"))
        dpkg = ["dpkg", f"--root={root}", "--force-depends", "--force-not-root", "--log=/dev/null"]
        run(*dpkg, "--install", package)
        program = root / "usr/bin/rigproof"
        self.assertIn("rigproof 0.", run(program, "--version"))
        self.assertEqual(run(program, "demand", "two-camera-talk"),
                         run(PROGRAM, "demand", "two-camera-talk"))
        for name in ["rigproof"] + [f"rigproof-{command}" for command in commands()]:
            self.assertTrue((root / f"usr/share/man/man1/{name}.1").is_file(), name)
        depends = run("dpkg-deb", "--field", package, "Depends")
        self.assertIn("libavcodec", depends)
        self.assertIn("libhwloc", depends)
        run(*dpkg, "--purge", "rigproof")
        left = [path for path in sorted(root.rglob("*"))
                if path not in before and not path.is_relative_to(root / "var/lib/dpkg")]
        self.assertEqual(left, [])

    def test_manual_pages_have_no_faults(self):
        pages = sorted((BUILD / "cli/papers").glob("*.1"))
        self.assertEqual(len(pages), len(commands()) + 1)
        if shutil.which("groff") is None:
            self.skipTest("groff is not installed")
        for page in pages:
            done = subprocess.run(["groff", "-man", "-Tascii", "-P-cbou", "-ww", str(page)], check=True,
                                  stdin=subprocess.DEVNULL, capture_output=True, text=True)
            self.assertEqual(done.stderr, "", page.name)
            self.assertIn("SYNOPSIS", done.stdout)

    def complete(self, *words):
        script = (f"source '{BUILD}/cli/papers/rigproof.bash'; COMP_WORDS=(rigproof \"$@\"); "
                  "COMP_CWORD=$#; _rigproof; printf '%s\\n' \"${COMPREPLY[@]}\"")
        return run("bash", "-c", script, "bash", *words).split()

    def test_bash_completes_commands_and_options(self):
        self.assertEqual(self.complete("qual"), ["qualify"])
        self.assertEqual(sorted(self.complete("")), sorted(commands() + ["--help", "--version"]))
        self.assertEqual(self.complete("qualify", "--len"), ["--length"])
        self.assertEqual(self.complete("qualify", "--length", ""), ["quick", "standard", "full"])

    def test_other_shells_can_read_theirs(self):
        for shell, option, script in (("zsh", "-n", "_rigproof"),
                                      ("fish", "--no-execute", "rigproof.fish")):
            with self.subTest(shell=shell):
                if shutil.which(shell) is None:
                    self.skipTest(f"{shell} is not installed")
                run(shell, option, BUILD / "cli/papers" / script)


if __name__ == "__main__":
    unittest.main()
