# SPDX-License-Identifier: Apache-2.0
"""Slow, silent and greedy connections: they cost little, delay nobody, and end with the program.
scripts/besiege.py measures the same with a thousand of them."""

import pathlib
import re
import signal
import socket
import subprocess
import unittest
import urllib.request

from local_page import HANGS_AFTER_S, LocalPage
from program import PROGRAM, InFolder
from siege import Siege, asked_again, most_resident_mib

CONNECTIONS = 200
MOST_MIB = 64


def sockets(pid):
    """Open ones, the listening one among them."""
    count = 0
    for entry in pathlib.Path(f"/proc/{pid}/fd").iterdir():
        try:
            count += str(entry.readlink()).startswith("socket:")
        except FileNotFoundError:
            pass
    return count


class Page(InFolder):
    def setUp(self):
        super().setUp()
        self.page = LocalPage(self.folder / "shows")
        self.addCleanup(self.page.end)

    def test_the_owner_is_answered_and_ctrl_c_heard(self):
        with Siege(self.page.host, self.page.port, CONNECTIONS):
            for _ in range(20):
                self.assertEqual(asked_again(lambda: self.page.get("/api/state"))[0].status, 200)
                self.assertLess(sockets(self.page.process.pid), 60)
            self.assertLess(most_resident_mib(self.page.process.pid), MOST_MIB)
            self.assertEqual(self.page.end(), (0, ""))

    def test_heads_have_an_end(self):
        for head in (b"a" * 17000, b"GET / HTTP/1.1\r\n" + b"a: b\r\n" * 102,
                     b"GET / HTTP/1.1\r\na: " + b"b" * 17000):
            # No word more is needed: what has come is too much already.
            with socket.create_connection((self.page.host, self.page.port),
                                          timeout=HANGS_AFTER_S) as link:
                link.sendall(head)
                self.assertIn(b" 431 ", link.recv(65536).split(b"\r\n")[0])

    def test_a_reader_that_stops_is_left(self):
        with socket.socket() as link:
            link.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
            link.settimeout(HANGS_AFTER_S)
            link.connect((self.page.host, self.page.port))
            link.sendall(f"GET {self.page.place}/page.css HTTP/1.1\r\nHost: {self.page.authority}\r\n"
                         f"Cookie: {self.page.cookie}\r\n\r\n".encode())
            self.assertTrue(link.recv(1))
            self.assertEqual(self.page.end(), (0, ""))

    def test_nothing_that_it_starts_inherits_a_connection(self):
        with socket.create_connection((self.page.host, self.page.port)):
            self.page.get("/api/state")
            for entry in pathlib.Path(f"/proc/{self.page.process.pid}/fdinfo").iterdir():
                number = int(entry.name)
                try:
                    if number < 3 or not pathlib.Path(
                            f"/proc/{self.page.process.pid}/fd/{number}").readlink():
                        continue
                    flags = int(re.search(r"flags:\s+(\d+)", entry.read_text()).group(1), 8)
                except FileNotFoundError:
                    continue
                self.assertTrue(flags & 0o2000000, entry)  # O_CLOEXEC: open(2), proc(5)


class Metrics(InFolder):
    def scrape(self, url):
        with urllib.request.urlopen(url, timeout=HANGS_AFTER_S) as answer:
            return answer.read()

    def test_the_scraper_is_answered_and_the_log_ends_whole(self):
        process = subprocess.Popen(
            [PROGRAM, "watch", "--into", str(self.folder / "log"), "--metrics", "127.0.0.1:0"],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for last in (process.stderr.close, process.stdout.close, process.wait, process.kill):
            self.addCleanup(last)  # the last one first
        url = next(found.group(0) for found in (
            re.search(r"http://127\.0\.0\.1:\d+/metrics", line) for line in process.stderr)
            if found)
        with Siege("127.0.0.1", int(url.split(":")[2].split("/")[0]), CONNECTIONS):
            for _ in range(20):
                self.assertTrue(asked_again(lambda: self.scrape(url))[0].endswith(b"# EOF\n"))
            self.assertLess(most_resident_mib(process.pid), MOST_MIB)
            process.send_signal(signal.SIGINT)
            out, _ = process.communicate(timeout=HANGS_AFTER_S)
        self.assertEqual(process.returncode, 0)
        self.assertIn("watched", out.lower())


if __name__ == "__main__":
    unittest.main()
