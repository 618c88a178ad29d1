# SPDX-License-Identifier: Apache-2.0
"""How many pictures a recording misses, counted without the program under test: by ffprobe, and by the
ledger of what the encoder was given."""

import bisect
import json
import re
import subprocess

PASSED = re.compile(r"passed: last-message = chain .* pts: (\d+):(\d+):(\d+\.\d+)")


def file_stamps(file):
    """Of the pictures in the file, in seconds, by ffprobe."""
    shown = subprocess.run(["ffprobe", "-v", "quiet", "-select_streams", "v:0", "-show_entries",
                            "packet=pts_time", "-of", "csv=p=0", str(file)], check=False,
                           capture_output=True, text=True).stdout
    return sorted(float(time) for time in (line.strip(",") for line in shown.split())
                  if time not in ("", "N/A"))


class Ledger:
    """What the encoder was given: taken from the camera, and, where the writer has a queue that leaks,
    past it."""

    def __init__(self, trial):
        told = json.loads((trial.kept / "ledger.json").read_text("ascii"))
        self.numbers, self.stamps_ms = told["taken"], told["stamps_ms"]
        self.given = set(self.numbers)
        if trial.writer.leaks:
            lines = PASSED.findall((trial.kept / "passed.txt").read_text("utf-8", "replace"))
            passed = {round(1000 * (3600 * int(hours) + 60 * int(minutes) + float(seconds)))
                      for hours, minutes, seconds in lines}
            self.given = {number for number, stamp in zip(self.numbers, self.stamps_ms) if stamp in passed}

    def missing(self, first, last):
        return sum(number not in self.given for number in range(first, last + 1))

    def nearest(self, stamp_ms):
        """Number of the picture that was handed over with this stamp."""
        at = bisect.bisect(self.stamps_ms, stamp_ms)
        near = range(max(0, at - 1), min(len(self.stamps_ms), at + 1))
        return self.numbers[min(near, key=lambda place: abs(self.stamps_ms[place] - stamp_ms))]


def counts(trial, jumps):
    """Missing frames between the first and the last in the file: by ffprobe, by the ledger.

    A container begins its stamps where it likes: its first picture is the first that was given. Where the
    clock `jumps`, stamps tell numbers only through the ledger."""
    times, ledger = file_stamps(trial.file()), Ledger(trial)
    if not times or not ledger.given:
        return None, None
    first, shift = min(ledger.given), trial.writer.shift
    if jumps:
        begin = ledger.stamps_ms[ledger.numbers.index(first)] + 1000 * shift / trial.RATE
        there = {ledger.nearest(begin + 1000 * (time - times[0])) for time in times}
    else:
        there = {first + shift + round((time - times[0]) * trial.RATE) for time in times}
    return max(there) - min(there) + 1 - len(there), ledger.missing(min(there), max(there))
