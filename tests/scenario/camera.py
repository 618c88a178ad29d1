# SPDX-License-Identifier: Apache-2.0
"""A camera that never waits: hands pictures over at their time, and loses those that nobody takes.

    camera.py PICTURES WIDTHxHEIGHT RATE SECONDS LEDGER [--source-rate RATE] [--wall]

Reads a ring of I420 pictures from the file PICTURES, and writes Matroska with uncompressed pictures
to standard output, each stamped with the time at which it was due. Between the two are eight places,
as a capture driver has: a picture that finds them full is lost, and its number goes into LEDGER, a
JSON file written at the end. With --source-rate pictures come at that rate, and are taken at RATE:
a time at which no new picture is there stays empty. With --wall the stamps are the wall clock's."""

import argparse
import contextlib
import fractions
import json
import os
import pathlib
import queue
import signal
import struct
import threading
import time

PLACES = 8


def element(number, payload):
    """EBML: number as it is written in the specification, length of eight bytes, payload."""
    name = number.to_bytes((number.bit_length() + 7) // 8, "big")
    return name + struct.pack(">Q", len(payload) | 1 << 56) + payload


def unsigned(number, value):
    return element(number, value.to_bytes(8, "big"))


def head(width, height, rate):
    video = (unsigned(0xB0, width) + unsigned(0xBA, height) + element(0x2EB524, b"I420"))
    track = (unsigned(0xD7, 1) + unsigned(0x73C5, 1) + unsigned(0x83, 1) +
             element(0x86, b"V_UNCOMPRESSED") + unsigned(0x23E383, int(1_000_000_000 / rate)) +
             element(0xE0, video))
    ebml = element(0x1A45DFA3, element(0x4282, b"matroska") + unsigned(0x4287, 4) +
                   unsigned(0x4285, 2))
    return (ebml + bytes.fromhex("18538067 01FFFFFFFFFFFFFF") +
            element(0x1549A966, unsigned(0x2AD7B1, 1_000_000)) +
            element(0x1654AE6B, element(0xAE, track)))


class Camera:
    def __init__(self, asked):
        self.asked = asked
        width, height = map(int, asked.raster.split("x"))
        self.size = width * height * 3 // 2
        self.pictures = pathlib.Path(asked.pictures).read_bytes()
        self.places = queue.Queue(PLACES)
        self.head = head(width, height, asked.rate)
        self.taken, self.stamps_ms, self.lost, self.empty = [], [], [], []
        self.stop = threading.Event()

    def write(self, data):
        view = memoryview(data)
        while view:
            view = view[os.write(1, view):]

    def hand_over(self):
        """The far end of the places; ends when nobody reads any more."""
        with contextlib.suppress(OSError):
            self.write(self.head)
            while (place := self.places.get()) is not None:
                number, stamp_ms = place
                at = number * self.size % len(self.pictures)
                block = b"\x81\x00\x00\x80" + self.pictures[at:at + self.size]
                self.write(element(0x1F43B675, unsigned(0xE7, stamp_ms) + element(0xA3, block)))
                self.taken.append(number)
                self.stamps_ms.append(stamp_ms)
        self.stop.set()

    def picture_is_new(self, number):
        if self.asked.source_rate is None or number == 0:
            return True
        shown = [int(tick * self.asked.source_rate / self.asked.rate)
                 for tick in (number - 1, number)]
        return shown[0] != shown[1]

    def run(self):
        signal.signal(signal.SIGTERM, lambda *_: self.stop.set())
        hands = threading.Thread(target=self.hand_over, daemon=True)
        hands.start()
        begin, wall = time.monotonic(), time.time()
        for number in range(int(self.asked.seconds * self.asked.rate)):
            due = begin + float(number / self.asked.rate)
            if self.stop.wait(max(0.0, due - time.monotonic())):
                break
            stamp = time.time() - wall if self.asked.wall else float(number / self.asked.rate)
            if not self.picture_is_new(number):
                self.empty.append(number)
                continue
            try:
                self.places.put_nowait((number, round(stamp * 1000)))
            except queue.Full:
                self.lost.append(number)
        with contextlib.suppress(queue.Full):
            self.places.put(None, timeout=20)
        hands.join(20)
        pathlib.Path(self.asked.ledger).write_text(json.dumps(
            {"taken": self.taken, "stamps_ms": self.stamps_ms, "lost": self.lost, "empty": self.empty}),
            encoding="ascii")
        os._exit(0)  # a writer that hangs in a pipe is no reason to stay


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pictures")
    parser.add_argument("raster")
    parser.add_argument("rate", type=fractions.Fraction)
    parser.add_argument("seconds", type=float)
    parser.add_argument("ledger")
    parser.add_argument("--source-rate", type=fractions.Fraction)
    parser.add_argument("--wall", action="store_true")
    Camera(parser.parse_args()).run()


if __name__ == "__main__":
    main()
