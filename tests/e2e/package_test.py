# SPDX-License-Identifier: Apache-2.0
"""The Debian package goes in and out again and leaves nothing; its manual pages and completions work."""

import json
import os
import pathlib
import platform
import shutil
import subprocess
import unittest

from program import PROGRAM, InFolder

BUILD = pathlib.Path(os.environ["RIGPROOF_BUILD"])
SOURCE = pathlib.Path(os.environ["RIGPROOF_SOURCE"])
RELEASE = "CMAKE_BUILD_TYPE:STRING=Release" in (BUILD / "CMakeCache.txt").read_text()


def run(*command, **more):
    done = subprocess.run([str(word) for word in command], check=False, stdin=subprocess.DEVNULL,
                          capture_output=True, text=True, **more)
    if done.returncode != 0:
        raise AssertionError(f"{command[0]} ended with {done.returncode}: {done.stdout}{done.stderr}")
    return done.stdout


def commands():
    """As the program's own help lists them."""
    lines = run(PROGRAM, "--help").split("Commands:")[1].splitlines()
    return [line.split()[0] for line in lines[:lines.index("", 1)] if line.startswith("  ") and line[2] != " "]


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

    @unittest.skipUnless(RELEASE, "only Release is hardened")
    def test_programs_are_hardened(self):
        run("cpack", "-G", "DEB", "-B", self.folder / "made", cwd=BUILD)
        (package,) = (self.folder / "made").glob("rigproof_*.deb")
        run("dpkg-deb", "--extract", package, self.folder / "out")
        programs = [path for path in (self.folder / "out").rglob("*")
                    if path.is_file() and path.read_bytes()[:4] == b"\x7fELF"]
        self.assertEqual(len(programs), 4)
        for program in programs:
            with self.subTest(program=program.name):
                dynamic = run("readelf", "--dynamic", "--wide", program)
                self.assertRegex(dynamic, r"FLAGS_1.*\bNOW\b.*\bPIE\b")
                self.assertIn("GNU_RELRO", run("readelf", "--segments", "--wide", program))
                imported = run("readelf", "--dyn-syms", "--wide", program)
                self.assertIn("__stack_chk_fail", imported)
                self.assertRegex(imported, r"__\w+_chk@")  # fortified calls
                if platform.machine() == "x86_64":
                    # Debian's own start files have no note, so the linker leaves it out of programs:
                    # what counts is where functions begin, with ENDBR64.
                    self.assertGreater(program.read_bytes().count(b"\xf3\x0f\x1e\xfa"), 100)

    @unittest.skipUnless(RELEASE, "only Release is hardened")
    def test_every_source_of_the_programs_is_hardened(self):
        commands_made = json.loads((BUILD / "compile_commands.json").read_text())
        parts = ("base", "profiles", "probes", "bench", "report", "cli")
        ours = [one for one in commands_made
                if pathlib.Path(one["file"]).is_relative_to(SOURCE)
                and pathlib.Path(one["file"]).relative_to(SOURCE).parts[0] in parts
                and " -o tests/" not in one["command"]]
        self.assertGreater(len(ours), 100)
        for one in ours:
            for flag in ("-fstack-protector-strong", "-fstack-clash-protection", "-fcf-protection"):
                self.assertIn(flag, one["command"], one["file"])
            self.assertRegex(one["command"], "-D_FORTIFY_SOURCE=[23]", one["file"])

    def test_manual_pages_have_no_faults(self):
        pages = sorted((BUILD / "cli/manual_pages").glob("*.1"))
        self.assertEqual(len(pages), len(commands()) + 1)
        if shutil.which("groff") is None:
            self.skipTest("groff is not installed")
        for page in pages:
            done = subprocess.run(["groff", "-man", "-Tascii", "-P-cbou", "-ww", str(page)], check=True,
                                  stdin=subprocess.DEVNULL, capture_output=True, text=True)
            self.assertEqual(done.stderr, "", page.name)
            self.assertIn("SYNOPSIS", done.stdout)

    def complete(self, *words):
        script = (f"source '{BUILD}/cli/manual_pages/rigproof.bash'; COMP_WORDS=(rigproof \"$@\"); "
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
                run(shell, option, BUILD / "cli/manual_pages" / script)


if __name__ == "__main__":
    unittest.main()
