# SPDX-License-Identifier: Apache-2.0
"""This machine captured, then read back as a machine elsewhere."""

import json
import pathlib
import shutil
import tarfile
import unittest
import os

from program import VERDICTS, InFolder, run


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

    def test_capture_into_a_missing_folder_is_refused(self):
        done = run("capture-machine", self.folder / "none" / "rig.tar.gz")
        self.assert_refused(done, "rig.tar.gz", "allowed: a new file")

    def test_capture_onto_a_folder_is_refused(self):
        self.assert_refused(run("capture-machine", self.folder), self.folder.name, "is a folder")

    def test_a_truncated_descriptor_is_named_and_nothing_crashes(self):
        fixtures = pathlib.Path(os.environ["RIGPROOF_SOURCE"]) / "tests" / "fixtures"
        trees = sorted(path.parent for path in fixtures.rglob("sys") if path.is_dir()
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
