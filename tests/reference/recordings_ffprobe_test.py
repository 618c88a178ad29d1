# SPDX-License-Identifier: Apache-2.0
"""Recordings of a rehearsal read back by ffprobe (FFmpeg's own reader), an independent count.

Source of every expected value: ffprobe of the FFmpeg package, the arithmetic of the frame rate
(T = 1/rate), and for the level ITU-T H.264 Table A-1 as libx264 wrote it into the stream.
"""

import fractions
import json
import subprocess
import unittest

from program import InFolder, run

SECONDS = 8
PROFILE = {
    "format": "rigproof-profile", "version": 1, "name": "Read back",
    "note": "Invented production for reading recordings back.", "duration_minutes": 1,
    "program": {"raster": "640x360", "rate": 25},
    "sources": [
        {"name": "Left", "arrives_by": "usb", "raster": "640x360", "rate": 25,
         "pixel_format": "nv12", "content": "stage"},
        {"name": "Right", "arrives_by": "usb", "raster": "320x180", "rate": "30000/1001",
         "pixel_format": "yuyv422", "content": "busy"}],
    "outputs": [
        {"name": "Program", "kind": "recording", "takes": "program", "codec": "h264",
         "bitrate_kbps": 1500, "encoder": "software", "effort": "low", "container": "mkv"},
        {"name": "Iso", "kind": "iso", "takes": "Right", "codec": "h264", "bitrate_kbps": 800,
         "encoder": "software", "effort": "least", "container": "mp4"},
        {"name": "Transport", "kind": "recording", "takes": "program", "codec": "h264",
         "bitrate_kbps": 1000, "encoder": "software", "effort": "medium", "container": "mpegts"}],
    "audio": {"channels": 2, "sample_rate_hz": 48000, "bitrate_kbps": 128},
    "multiview": None, "displays": 0}
# One tick of the container: Matroska writes milliseconds, MP4 and MPEG-TS at least 90 kHz
# (Matroska and ISO 14496-12 / 13818-1 as FFmpeg's muxers use them).
TICK_S = {"mkv": 0.001, "mp4": 1 / 15000, "mpegts": 1 / 90000}


def ffprobe(path, *arguments):
    done = subprocess.run(["ffprobe", "-v", "error", "-of", "json", *arguments, str(path)],
                          capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


class ReadBack(InFolder):
    def setUp(self):
        super().setUp()
        self.profile = self.folder / "read-back.json"
        self.profile.write_text(json.dumps(PROFILE), encoding="utf-8")
        self.recordings = self.folder / "recordings"
        self.recordings.mkdir()
        done = run("rehearse", self.profile, "--seconds", SECONDS, "--keep-recordings",
                   "--record-to", self.recordings, "--json", timeout=300)
        self.assertIn(done.returncode, (0, 3, 4, 5), done.stderr)  # 5: beside other programs
        self.result = json.loads(done.stdout)

    def test_files_hold_what_the_ledger_says(self):
        outputs = {output["name"]: output for output in self.result["rehearsal"]["outputs"]}
        for asked in PROFILE["outputs"]:
            with self.subTest(output=asked["name"]):
                path = self.recordings / f"{asked['name']}.{asked['container']}"
                self.check_frames(path, asked, outputs[asked["name"]])
                self.check_stream(path, asked, outputs[asked["name"]])

    def check_frames(self, path, asked, output):
        rate = fractions.Fraction(asked.get("rate", "30000/1001" if asked["takes"] == "Right"
                                            else 25))
        counted = ffprobe(path, "-select_streams", "v:0", "-count_frames", "-show_entries",
                          "stream=nb_read_frames")["streams"][0]
        self.assertEqual(int(counted["nb_read_frames"]), output["delivered"])
        times = sorted(float(packet["pts_time"]) for packet in
                       ffprobe(path, "-select_streams", "v:0", "-show_entries",
                               "packet=pts_time")["packets"])
        self.assertEqual(len(times), output["delivered"])
        # Each picture stands at a whole multiple of the frame period from the first one, and the
        # numbers that are missing are the ones that were dropped.
        tick = TICK_S[asked["container"]]
        numbers = [round((time - times[0]) * float(rate)) for time in times]
        for number, time in zip(numbers, times):
            self.assertAlmostEqual(time - times[0], number / float(rate), delta=tick * 1.01)
        self.assertEqual(len(set(numbers)), len(numbers), "no number twice")
        inner_gaps = numbers[-1] + 1 - len(numbers)
        self.assertLessEqual(inner_gaps, output["dropped"])

    def check_stream(self, path, asked, output):
        streams = ffprobe(path, "-show_entries", "stream=codec_name,level,width,height,"
                          "sample_rate,channels,codec_type", "-show_entries",
                          "format=duration")
        video = next(s for s in streams["streams"] if s["codec_type"] == "video")
        audio = next(s for s in streams["streams"] if s["codec_type"] == "audio")
        demand = json.loads(run("demand", self.profile, "--json").stdout)
        level = {row["name"]: row["level"] for row in demand["demand_detail"]["outputs"]}
        self.assertEqual(video["codec_name"], "h264")
        self.assertEqual(video["level"] / 10, float(level[asked["name"]]))
        self.assertEqual((audio["codec_name"], audio["sample_rate"], audio["channels"]),
                         ("aac", "48000", 2))
        self.assertAlmostEqual(float(streams["format"]["duration"]), SECONDS, delta=0.3)
        sizes = ffprobe(path, "-select_streams", "v:0", "-show_entries", "packet=size")["packets"]
        if output["dropped"] == 0:  # a recording with holes has fewer bits for good reason
            kbps = sum(int(packet["size"]) for packet in sizes) * 8 / SECONDS / 1000
            self.assertAlmostEqual(kbps, asked["bitrate_kbps"], delta=asked["bitrate_kbps"] * 0.1)


if __name__ == "__main__":
    unittest.main()
