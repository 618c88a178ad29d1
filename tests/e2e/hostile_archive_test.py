# SPDX-License-Identifier: Apache-2.0
"""Archives that are made to do harm: refused with one line and status 2, by every command."""

import gzip
import io
import tarfile
import unittest

from program import InFolder, run


def entry(name, kind=tarfile.REGTYPE, target="", data=b""):
    member = tarfile.TarInfo(name)
    member.type = kind
    member.linkname = target
    member.size = len(data)
    return member, data


SYS = entry("sys", tarfile.DIRTYPE)


class HostileArchive(InFolder):
    def write(self, entries, name="rig.tar.gz"):
        path = self.folder / name
        with tarfile.open(path, "w:gz", compresslevel=1) as tar:
            for member, data in entries:
                tar.addfile(member, io.BytesIO(data))
        return path

    def assert_all_refuse(self, path, *parts):
        for command in (["inventory"], ["survey", "two-camera-talk"]):
            for more in ([], ["--json"]):
                done = run(*command, "--machine", path, *more)
                self.assert_refused(done, path.name, *parts)

    def assert_inventory_refuses(self, path, *parts):
        """Where each try unpacks much before it is refused."""
        self.assert_refused(run("inventory", "--machine", path), path.name, *parts)

    def test_names_that_lead_outside(self):
        for name in ("../evil", "/tmp/evil", "sys/../../evil"):
            self.assert_all_refuse(self.write([SYS, entry(name, data=b"x")]))
        self.assertFalse((self.folder.parent / "evil").exists())

    def test_links_that_lead_outside(self):
        for target in ("/etc", "../../etc", "a/../../../etc"):
            self.assert_all_refuse(self.write([SYS, entry("sys/a", tarfile.SYMTYPE, target)]),
                                   "leads outside")
        self.assert_all_refuse(self.write([SYS, entry("sys/a", tarfile.LNKTYPE, "sys")]),
                               "hard link")

    def test_devices_and_pipes(self):
        for kind in (tarfile.CHRTYPE, tarfile.BLKTYPE, tarfile.FIFOTYPE):
            self.assert_all_refuse(self.write([SYS, entry("sys/a", kind)]), "device, fifo")

    def test_too_many_bytes(self):
        large = entry("sys/a", data=bytes(65 << 20))
        self.assert_inventory_refuses(self.write([SYS, large]), "bytes unpacked")

    def test_too_many_entries(self):
        many = [entry(f"sys/{number}") for number in range(50_001)]
        self.assert_inventory_refuses(self.write([SYS, *many]), "50000 entries")

    def test_too_deep(self):
        self.assert_all_refuse(self.write([SYS, entry("sys" + "/a" * 60, data=b"x")]), "deeper")
        # Few entries, very many folders.
        wide = [entry("sys/" + "/".join(f"{number}-{level}" for level in range(35)))
                for number in range(1_500)]
        self.assert_inventory_refuses(self.write([SYS, *wide]), "50000 entries")

    def test_names_that_come_twice(self):
        twice = [SYS, entry("sys/a", data=b"x"), entry("sys/a", tarfile.SYMTYPE, "b")]
        self.assert_all_refuse(self.write(twice), "comes twice")

    def test_an_archive_in_a_shell(self):
        plain = self.write([SYS])
        shell = self.folder / "shell.tar.gz.gz"
        shell.write_bytes(gzip.compress(plain.read_bytes()))
        self.assert_all_refuse(shell, "compressed more than once")

    def test_noise(self):
        for data in (b"", b"x", bytes(2048), bytes(range(256)) * 64):
            path = self.folder / "noise.tar"
            path.write_bytes(data)
            self.assert_all_refuse(path)


if __name__ == "__main__":
    unittest.main()
