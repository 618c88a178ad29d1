# SPDX-License-Identifier: Apache-2.0
"""In a root that no mount is shown of: a chroot, as a rescue system or a build machine has one."""

import json
import os
import subprocess
import unittest

from program import PROGRAM, InFolder

# Namespaces are made and left again by one shell; nothing of it is seen outside.
SCRIPT = r"""
set -e
top=$1; program=$2; shift 2
mkdir "$top/proc" "$top/sys" "$top/dev" "$top/program" "$top/recordings" "$top/tmp"
for name in bin sbin lib lib64 usr etc; do
  [ -L "/$name" ] && cp -P "/$name" "$top/$name" && continue
  [ -d "/$name" ] && mkdir "$top/$name" && mount --rbind "/$name" "$top/$name"
done
mount --rbind /proc "$top/proc"; mount --rbind /sys "$top/sys"; mount --rbind /dev "$top/dev"
mount --bind "$(dirname "$program")" "$top/program"
exec chroot "$top" "/program/$(basename "$program")" "$@"
"""


def may_chroot():
    """Whether this user may make such a root."""
    return subprocess.run(["unshare", "--mount", "chroot", "/", "true"], check=False,
                          capture_output=True).returncode == 0


@unittest.skipUnless(may_chroot(), "SKIPPED: this user may not make a chroot")
class Chroot(InFolder):
    def in_chroot(self, *arguments):
        """The finished program, run in a root of its own."""
        top = self.folder / "root"
        top.mkdir()
        return subprocess.run(["unshare", "--mount", "--propagation", "private", "bash", "-c",
                               SCRIPT, "chroot", top, PROGRAM, *arguments],
                              check=False, stdin=subprocess.DEVNULL, capture_output=True,
                              encoding="utf-8", timeout=100, cwd="/")

    def test_the_filesystem_tells_its_room(self):
        done = self.in_chroot("inventory", "--record-to", "/recordings", "--json")
        self.assertEqual(done.returncode, 0, done.stderr)
        storage = json.loads(done.stdout)["storage"][0]
        self.assertIn("unknown", storage["mount_point"], "a mount is shown: this proves nothing")
        room = os.statvfs(self.folder)
        self.assertEqual(storage["size_bytes"], room.f_blocks * room.f_frsize)
        self.assertIsInstance(storage["free_bytes"], int)
        self.assertTrue(storage["writable"])
        # Two folders of one filesystem are told to share its room.
        device = os.stat(self.folder).st_dev
        self.assertEqual(storage["filesystem_id"], f"{os.major(device)}:{os.minor(device)}")

    def test_the_row_of_space_has_its_figure(self):
        done = self.in_chroot("survey", "two-camera-talk", "--record-to", "/recordings", "--json")
        self.assertIn(done.returncode, (0, 3, 4, 5), done.stderr)
        rows = [row for row in json.loads(done.stdout)["headroom"] if row["resource"] == "space"]
        self.assertTrue(rows)
        for row in rows:
            self.assertGreater(row["capacity"], 0, row)


if __name__ == "__main__":
    unittest.main()
