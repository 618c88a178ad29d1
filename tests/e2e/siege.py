#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Connections that do all that slow and greedy clients do, for as long as this runs: silent ones,
heads that come byte by byte, heads of 60 MB of one field or of many, and requests whose answer nobody
reads. Who is closed comes back at once.

Usage: siege.py HOST PORT COUNT
"""

import errno
import http.client
import itertools
import pathlib
import re
import socket
import subprocess
import sys
import time
import urllib.error

HEAD_BYTES = 60_000_000
DRIP_EVERY_S = 0.05
BLOCK = 65536


class Peer:
    """One connection of a kind."""

    def __init__(self, address, kind):
        self.address, self.kind = address, kind
        self.drip_at = 0
        self.link = None
        self.sent = 0

    def connect(self):
        self.link = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        self.link.setblocking(False)
        self.sent = 0
        try:
            self.link.connect(self.address)
        except BlockingIOError:
            pass

    def words(self, now):
        """What it would send now; empty where it waits."""
        begin = f"GET /metrics HTTP/1.1\r\nHost: {self.address[0]}:{self.address[1]}\r\n".encode()
        if self.kind == "unread":
            return (begin + b"\r\n")[self.sent:]
        if self.kind == "silent" or self.sent >= HEAD_BYTES:
            return b""
        if self.sent < len(begin):
            return begin[self.sent:]
        if self.kind == "dripping":
            if now < self.drip_at:
                return b""
            self.drip_at = now + DRIP_EVERY_S
            return b"a"
        return b"a: b\r\n" * (BLOCK // 6) if self.kind == "fields" else b"a" * BLOCK

    def send(self, now):
        """False once the other side has closed."""
        try:
            if self.kind != "unread" and self.link.recv(BLOCK) == b"":
                return False
        except BlockingIOError:
            pass
        except OSError as why:
            return why.errno == errno.ENOTCONN  # not connected yet
        try:
            words = self.words(now)
            if words:
                self.sent += self.link.send(words)
        except BlockingIOError:
            pass
        except OSError as why:
            return why.errno in (errno.ENOTCONN, errno.EAGAIN)
        return True


def besiege(host, port, count):
    kinds = itertools.cycle(("silent", "dripping", "huge", "fields", "unread"))
    peers = [Peer((host, port), next(kinds)) for _ in range(count)]
    for peer in peers:
        peer.connect()
    print("all there", flush=True)
    while True:
        now = time.monotonic()
        for peer in peers:
            if not peer.send(now):
                peer.link.close()
                peer.connect()
        time.sleep(0.001)


def most_resident_mib(pid):
    status = pathlib.Path(f"/proc/{pid}/status").read_text(encoding="ascii", errors="replace")
    return int(re.search(r"VmHWM:\s+(\d+) kB", status).group(1)) / 1024


def asked_again(ask):
    """The answer, and how often a connection was closed before its head was read, and made anew as
    browsers do (RFC 9110, 9.2.2)."""
    for closed in range(50):
        try:
            return ask(), closed
        except (http.client.RemoteDisconnected, ConnectionResetError):
            continue
        except urllib.error.URLError as refused:
            if not isinstance(refused.reason, ConnectionResetError):
                raise
    raise AssertionError("turned away 50 times")


class Siege:
    """It goes on in a program of its own until the end of the block."""

    def __init__(self, host, port, count):
        self.argv = [sys.executable, __file__, host, str(port), str(count)]
        self.process = None

    def __enter__(self):
        self.process = subprocess.Popen(  # pylint: disable=consider-using-with
            self.argv, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True)
        self.process.stdout.readline()
        return self

    def __exit__(self, *_):
        self.process.kill()
        self.process.communicate()


if __name__ == "__main__":
    besiege(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
