# SPDX-License-Identifier: Apache-2.0
"""This machine captured, then read back as a machine elsewhere."""

import json
import os
import pathlib
import pty
import shutil
import subprocess
import tarfile
import unittest

from program import FIXTURES, PROGRAM, VERDICTS, InFolder, run


def answer_on_terminal(answer, *arguments):
    """Exit status of the program, whose question gets the answer."""
    ours, theirs = pty.openpty()
    with subprocess.Popen([PROGRAM, *map(str, arguments)], stdin=theirs, stdout=subprocess.DEVNULL,
                          stderr=theirs) as process:
        os.close(theirs)
        os.write(ours, answer)
        status = process.wait(timeout=100)
    os.close(ours)
    return status


class CapturedMachine(InFolder):
    def test_capture_then_survey_says_the_same_of_the_cpu(self):
        archive = self.folder / "rig.tar.gz"
        self.assertEqual(run("capture-machine", archive).returncode, 0)
        there = run("inventory", "--machine", archive, "--json")
        self.assertEqual(there.returncode, 0, there.stderr)
        here = run("inventory", "--json")
        cpu_there, cpu_here = (json.loads(done.stdout)["cpu"] for done in (there, here))
        for key in ("model", "packages", "cores", "threads", "memory_bytes"):
            self.assertEqual(cpu_there[key], cpu_here[key], key)

        survey = run("survey", "two-camera-talk", "--machine", archive, "--json")
        result = json.loads(survey.stdout)
        self.assertEqual(survey.returncode, VERDICTS[result["verdict"]], survey.stderr)
        self.assertEqual(result["verdict"], "unproven")

    def test_capture_holds_neither_host_name_nor_mac_addresses(self):
        archive = self.folder / "rig.tar.gz"
        self.assertEqual(run("capture-machine", archive).returncode, 0)
        host = os.uname().nodename.encode()
        addresses = set()
        for path in pathlib.Path("/sys/class/net").glob("*/address"):
            text = path.read_text(encoding="ascii").strip()
            if text.strip("0:"):
                addresses.add(text.encode())
        with tarfile.open(archive) as tar:
            for member in tar:
                data = tar.extractfile(member).read() if member.isfile() else b""
                for address in addresses:
                    self.assertNotIn(address, data.lower(), member.name)
                if len(host) > 5:
                    self.assertNotIn(host, data, member.name)

    def test_what_a_program_has_open_and_is_told_stays_behind(self):
        key = "wq-7f3k-29xa-capture"
        secret = self.folder / "key"
        secret.write_text(key + "\n", encoding="ascii")
        archive = self.folder / "rig.tar.gz"
        with open(secret, encoding="ascii") as held:
            holder = subprocess.Popen(["sleep", "600"], pass_fds=[held.fileno()],
                                      env={"PATH": os.environ["PATH"], "STREAM_KEY": key},
                                      cwd=self.folder)
        try:
            self.assertEqual(run("capture-machine", archive).returncode, 0)
        finally:
            holder.kill()
            holder.wait()
        with tarfile.open(archive) as tar:
            for member in tar:
                data = tar.extractfile(member).read() if member.isfile() else b""
                self.assertNotIn(key.encode(), data, member.name)
                self.assertNotIn(key, member.name + member.linkname)
                self.assertNotRegex(member.name, r"^proc/(\d+/(?!comm$|fdinfo(/\d+)?$)|kmsg)")

    def test_out_that_is_there_is_written_over_only_when_asked(self):
        archive = self.folder / "rig.tar.gz"
        archive.write_text("kept", encoding="ascii")
        self.assert_refused(run("capture-machine", archive), "rig.tar.gz", "is there already",
                            "--replace")
        self.assertEqual(archive.read_text(encoding="ascii"), "kept")
        self.assertEqual(run("capture-machine", archive, "--replace").returncode, 0)
        self.assertTrue(tarfile.is_tarfile(archive))
        self.assertEqual(sorted(path.name for path in self.folder.iterdir()), ["rig.tar.gz"])

    def test_a_terminal_is_asked_before_out_is_written_over(self):
        archive = self.folder / "rig.tar.gz"
        for answer, status in ((b"n\n", 2), (b"\n", 2), (b"y\n", 0)):
            with self.subTest(answer=answer):
                archive.write_text("kept", encoding="ascii")
                self.assertEqual(answer_on_terminal(answer, "capture-machine", archive), status)
                self.assertEqual(tarfile.is_tarfile(archive), status == 0)

    def test_a_link_in_the_way_is_not_followed(self):
        archive = self.folder / "rig.tar.gz"
        other = self.folder / "other"
        other.write_text("kept", encoding="ascii")
        partial = self.folder / "rig.tar.gz.partial"
        partial.symlink_to(other)
        self.assert_refused(run("capture-machine", archive), "rig.tar.gz.partial",
                            "is there already")
        partial.unlink()
        archive.symlink_to(other)
        self.assert_refused(run("capture-machine", archive), "rig.tar.gz", "is there already")
        self.assertEqual(run("capture-machine", archive, "--replace").returncode, 0)
        self.assertFalse(archive.is_symlink())
        self.assertEqual(other.read_text(encoding="ascii"), "kept")

    def test_capture_into_a_missing_folder_is_refused(self):
        done = run("capture-machine", self.folder / "none" / "rig.tar.gz")
        self.assert_refused(done, "rig.tar.gz", "allowed: a new file")

    def test_capture_onto_a_folder_is_refused(self):
        self.assert_refused(run("capture-machine", self.folder), self.folder.name, "is a folder")

    def test_a_truncated_descriptor_is_named_and_nothing_crashes(self):
        trees = sorted(path.parent for path in FIXTURES.rglob("sys") if path.is_dir()
                       and any(path.rglob("descriptors")))
        if not trees:
            self.skipTest("no stored machine with USB descriptors")
        tree = self.folder / "machine"
        shutil.copytree(trees[0], tree, symlinks=True)
        cut = 0
        for path in tree.rglob("descriptors"):
            if path.is_file() and path.stat().st_size > 30:
                path.chmod(0o644)
                path.write_bytes(path.read_bytes()[:30])
                cut += 1
        self.assertGreater(cut, 0)
        done = run("inventory", "--machine", tree, "--json")
        self.assertEqual(done.returncode, 0, done.stderr)
        devices = json.loads(done.stdout)["usb"]["devices"]
        self.assertTrue(any(device["descriptor_fault"] for device in devices))


if __name__ == "__main__":
    unittest.main()
