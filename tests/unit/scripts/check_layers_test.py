# SPDX-License-Identifier: Apache-2.0
"""What scripts/check_layers.py is for: in a small tree that is in order, each planted mistake is found."""

import contextlib
import io
import os
import pathlib
import sys
import tempfile
import unittest
from unittest import mock

sys.path.insert(0, str(pathlib.Path(os.environ["RIGPROOF_SOURCE"]) / "scripts"))
import check_layers  # noqa: E402  pylint: disable=wrong-import-position

READER = "probes/usb/tree_read.cc"
NOT_YET = "report/rules/storage.cc"
IN_ORDER = {
    "base/text.h": "",
    "base/system/pipe_linux.cc": '#include <unistd.h>\nconst char* kNull = "/dev/null";\n',
    "probes/usb/tree.h": '#include "base/text.h"\n// Below /sys/bus/usb.\n/* As "/proc". */\n',
    READER: '#include "probes/usb/tree.h"\nconst char* kBus = "/sys/bus/usb/devices";\n',
    NOT_YET: 'const char* kWhy = "see /proc/swaps";\n',
    "cli/main.cc": '#include <string>\nconst char* kAbout = "a/dev/b, /device, and \\"/system\\"";\n'
                   "int big = 1'000'000;\n",
}


class CheckLayers(unittest.TestCase):
    def setUp(self):
        made = tempfile.TemporaryDirectory(prefix="rigproof-layers-")
        self.addCleanup(made.cleanup)
        self.root = pathlib.Path(made.name)
        for path, text in IN_ORDER.items():
            self.write(path, text)
        self.with_table("TREE_READERS", {"reads a tree": READER})
        self.with_table("NOT_YET", {"words": NOT_YET})
        self.with_table("SEEN", {})

    def with_table(self, name, table):
        changed = mock.patch.object(check_layers, name, table)
        changed.start()
        self.addCleanup(changed.stop)

    def write(self, path, text):
        file = self.root / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(f"{check_layers.LICENCE}\n{text}", encoding="utf-8")

    def check(self, *options):
        said = io.StringIO()
        with mock.patch.object(sys, "argv", ["check_layers.py", *options, str(self.root)]):
            with contextlib.redirect_stdout(said):
                status = check_layers.main()
        return status, said.getvalue().splitlines()

    def assert_found(self, *starts):
        """Each of them, and nothing else."""
        status, lines = self.check()
        self.assertEqual(status, 1)
        self.assertEqual(len(lines), len(starts), lines)
        for line, start in zip(lines, starts):
            self.assertTrue(line.startswith(start), line)

    def test_what_is_in_order_is(self):
        self.assertEqual(self.check(), (0, ["layers: ok"]))

    def test_paths_of_one_platform(self):
        for literal in ('"/sys/class/net"', '"/proc"', '"sys/class/net"', '"read /etc/fstab, line {}"', '"dev"',
                        'R"x(\n"quoted" /dev/dri)x"', "'\"' + \"/dev/null\""):
            with self.subTest(literal=literal):
                self.write("bench/data/results.cc", f"// About it.\nconst auto kPlanted = {literal};\n")
                self.assert_found("bench/data/results.cc:3: ")

    def test_headers_of_one_platform(self):
        for header in ("unistd.h", "sys/stat.h", "sys/socket.h", "linux/videodev2.h", "netinet/in.h", "fcntl.h",
                       "poll.h", "dirent.h", "sched.h", "pthread.h", "windows.h", "winioctl.h"):
            with self.subTest(header=header):
                self.write("probes/usb/tree.cc", f"#include <{header}>\n")
                self.assert_found("probes/usb/tree.cc:2: headers of one platform")
        for name in ("tree_linux.cc", "tree_windows.cc"):
            (self.root / "probes/usb/tree.cc").unlink(missing_ok=True)
            self.write("probes/usb/" + name, "#include <fcntl.h>\n")
            self.assertEqual(self.check()[0], 0, name)

    def test_a_reader_of_trees_calls_no_system(self):
        self.write(READER, '#include <fcntl.h>\nconst char* kBus = "/sys/bus/usb/devices";\n')
        self.assert_found(READER + ":2: headers of one platform")

    def test_lists_get_shorter(self):
        for listed in (READER, NOT_YET):
            with self.subTest(listed=listed):
                self.write(listed, "")
                self.assert_found(f"{listed}: names no path of one platform any more")
                (self.root / listed).unlink()
                self.assert_found(f"{listed}: listed in")
                self.write(listed, IN_ORDER[listed])

    def test_a_room_shows_four_headers(self):
        headers = [f"base/media/part_{number}.h" for number in range(6)]
        for header in headers:
            self.write(header, "")
        used = "".join(f'#include "{header}"\n' for header in headers)
        self.write("base/media/own.cc", used)  # the room itself may, and so may tests
        self.write("tests/unit/base/media_test.cc", used)
        for count in range(7):
            self.write("cli/uses.cc", "".join(f'#include "{header}"\n' for header in headers[:count]))
            with self.subTest(count=count):
                if count <= 4:
                    self.assertEqual(self.check()[0], 0)
                else:
                    self.assert_found(f"base/media/: {count} headers are used outside, limit 4")
        self.with_table("SEEN", {"base/media": 6})
        self.assertEqual(self.check()[0], 0)
        self.assertIn("  6 of  6  base/media", self.check("--counts")[1])
        self.assertIn("  1 of  4  base", self.check("--counts")[1])

    def test_a_number_of_headers_only_goes_down(self):
        self.with_table("SEEN", {"base": 2})
        self.assert_found("base/: only 1 headers are used outside: lower its number")

    def test_rooms_their_order_and_their_size(self):
        self.write("base/text.h", '#include "probes/usb/tree.h"\n')
        self.assert_found("base/text.h:2: base/ may not include")
        self.write("base/text.h", '#include "base/system/pipe.h"\n')
        self.assert_found("base/text.h:2: base/ stands above")
        self.write("base/text.h", "")
        self.write("report/rules/usb.cc", '#include "probes/usb/tree.h"\n')
        self.assert_found("report/rules/usb.cc:2: report/ sees only data headers")
        (self.root / "report/rules/usb.cc").unlink()
        self.write("base/cupboard/thing.cc", "")
        self.assert_found("base/cupboard/thing.cc: no room of that name")
        (self.root / "base/cupboard/thing.cc").unlink()
        for number in range(check_layers.MAX_FILES + 1):
            self.write(f"base/media/source_{number}.cc", "")
        self.assert_found("base/media/: 45 sources")

    def test_length_and_licence(self):
        self.write("base/text.h", "\n" * check_layers.MAX_LINES)
        self.assert_found("base/text.h: 601 lines")
        (self.root / "base/text.h").write_text("\n", encoding="utf-8")
        self.assert_found("base/text.h:1: the first line")


if __name__ == "__main__":
    unittest.main()
