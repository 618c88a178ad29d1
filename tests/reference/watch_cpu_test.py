# SPDX-License-Identifier: Apache-2.0
"""CPU use in a watch's log against /proc/stat as read here (proc_stat(5): user nice system idle
iowait irq softirq steal, in clock ticks), and the log taken apart by its description in
DEVELOPERS.md alone."""

import binascii
import multiprocessing
import os
import pathlib
import signal
import struct
import subprocess
import time
import unittest

from program import PROGRAM, InFolder

TICK_S = 1 / os.sysconf("SC_CLK_TCK")
TIME, CORE = 1, 99


class Bytes:
    def __init__(self, data):
        self.data, self.at = data, 0

    def number(self):
        value = shift = 0
        while True:
            byte = self.data[self.at]
            self.at += 1
            value |= (byte & 0x7f) << shift
            shift += 7
            if byte < 0x80:
                return value

    def signed(self):
        value = self.number()
        return value // 2 if value % 2 == 0 else -(value + 1) // 2

    def text(self):
        size = self.number()
        self.at += size
        return self.data[self.at - size:self.at]


def records(folder):
    for part in sorted(folder.glob("part-*.rigproof-log")):
        data = part.read_bytes()
        while len(data) >= 13:
            marker, length, check = struct.unpack("<4sII", data[:12])
            body = data[12:12 + length]
            if len(body) < length:
                break
            assert marker == b"GRPL" and binascii.crc32(data[4:8] + body) == check
            yield body[0], Bytes(body[1:])
            data = data[12 + length:]


def column(data, count):
    form, values, before = data[0], Bytes(data[1:]), 0
    if form == 1:
        return [values.signed()] * count
    present = [True] * count
    if form == 2:
        bits = data[1:1 + (count + 7) // 8]
        values.at = len(bits)
        present = [bits[i // 8] >> (i % 8) & 1 == 1 for i in range(count)]
    out = []
    for here in present:
        before += values.signed() if here else 0
        out.append(before if here else None)
    return out


def read_log(folder):
    """Zero of the monotonic clock in s, and (end in s, percent of each CPU) of each sample."""
    zero_s, samples = None, []
    for kind, payload in records(folder):
        if kind == 1:
            assert payload.text() == b"rigproof-log" and payload.number() == 1
            facts = {}
            for _ in range(payload.number()):
                name = payload.text().decode()
                facts[name] = payload.text().decode()
            zero_s = int(facts["zero_ns"]) / 1e9
        elif kind == 3:
            count = payload.number()
            columns = {}
            while payload.at < len(payload.data):
                key = (payload.number(), payload.number())
                columns[key] = column(payload.text(), count)
            cores = sorted(thing for field, thing in columns if field == CORE)
            samples += [(columns[TIME, 0][i] / 1e6, [columns[CORE, core][i] for core in cores])
                        for i in range(count)]
    return zero_s, samples


def busy_ticks():
    """Moments before and after, and busy ticks of each CPU."""
    before = time.monotonic()
    text = pathlib.Path("/proc/stat").read_text(encoding="ascii")
    after = time.monotonic()
    rows = [list(map(int, line.split()[1:9])) for line in text.splitlines()
            if line.startswith("cpu") and line[3].isdigit()]
    return before, after, [sum(row) - row[3] - row[4] - row[7] for row in rows]


def work(cpu):
    os.sched_setaffinity(0, {cpu})
    while True:
        pass


class CpuUse(InFolder):
    def test_each_cpu_is_as_busy_as_the_kernel_says(self):
        log = self.folder / "log"
        worker = multiprocessing.Process(target=work, args=(min(os.sched_getaffinity(0)),),
                                         daemon=True)
        worker.start()
        self.addCleanup(worker.join)
        self.addCleanup(worker.kill)
        with subprocess.Popen([PROGRAM, "watch", "--into", log, "--quiet"],
                              stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL) as watch:
            self.addCleanup(watch.kill)

            def wait_for(count):
                while len(read_log(log)[1] if log.is_dir() else []) < count:
                    self.assertIsNone(watch.poll())
                    time.sleep(0.2)

            wait_for(10)
            first = busy_ticks()
            wait_for(60)
            last = busy_ticks()
            wait_for(80)
            watch.send_signal(signal.SIGINT)
        zero_s, samples = read_log(log)
        self.assertEqual(len(samples[0][1]), len(first[2]))
        for cpu, (begun, ended) in enumerate(zip(first[2], last[2])):
            kernel_s = (ended - begun) * TICK_S
            surely = perhaps = grain = 0
            before_s = samples[0][0] + zero_s
            for at_s, cores in samples[1:]:
                end_s = at_s + zero_s
                used = cores[cpu] / 100 * (end_s - before_s)
                if before_s >= first[1] and end_s <= last[0]:
                    surely += used
                    grain += 0.005 * (end_s - before_s) + TICK_S  # percents are whole
                elif end_s >= first[0] and before_s <= last[1]:
                    perhaps += end_s - before_s
                before_s = end_s
            # Ticks of a CPU that slept come late: a sample's percent is of the ticks that came.
            self.assertGreaterEqual(kernel_s, surely - grain, f"cpu{cpu}")
            self.assertLessEqual(kernel_s, surely + perhaps + grain, f"cpu{cpu}")
            self.assertGreater(surely, 0)


if __name__ == "__main__":
    unittest.main()
