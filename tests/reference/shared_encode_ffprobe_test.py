# SPDX-License-Identifier: Apache-2.0
"""Files written from one shared encode, read back by ffprobe and decoded by ffmpeg.

Source of every expected value: the ffprobe and ffmpeg programs of the FFmpeg package, independent
of how the files were written. A transport stream must be decodable from the middle, since receivers
join when they like: parameter sets stand before each key frame (ITU-T H.222.0, 2.14.1 and 2.17.1).
"""

import functools
import json
import pathlib
import subprocess
import tempfile
import unittest

from program import run

SECONDS = 7  # key frames come every two seconds

CODECS = ("h264", "hevc")
CONTAINERS = ("mkv", "mp4", "mpegts")


def output(codec, container, **other):
    return {"name": f"{codec} {container}", "kind": "recording", "takes": "program", "codec": codec,
            "bitrate_kbps": 800, "encoder": "software", "effort": "least",
            "container": container, **other}


PROFILE = {
    "format": "rigproof-profile", "version": 1, "name": "Written twice",
    "note": "Invented production for reading shared encodes back.", "duration_minutes": 1,
    "program": {"raster": "320x180", "rate": 25},
    "sources": [{"name": "Left", "arrives_by": "usb", "raster": "320x180", "rate": 25,
                 "pixel_format": "nv12", "content": "talk"}],
    "outputs": [output(codec, container) for codec in CODECS for container in CONTAINERS] + [
        output("h264", "flv", kind="stream", url="loopback")],
    "audio": {"channels": 2, "sample_rate_hz": 48000, "bitrate_kbps": 128},
    "multiview": None, "displays": 0}


def ffprobe(path, *arguments):
    done = subprocess.run(["ffprobe", "-v", "error", "-of", "json", *arguments, str(path)],
                          capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


@functools.cache
def decoded(path):
    """Hash of each decoded picture, and what the decoder complained about."""
    done = subprocess.run(["ffmpeg", "-v", "error", "-i", str(path), "-map", "0:v", "-f", "framehash",
                           "-hash", "md5", "-"], capture_output=True, text=True, check=True)
    lines = [line for line in done.stdout.splitlines() if not line.startswith("#")]
    return [line.rsplit(",", 1)[1].strip() for line in lines], done.stderr


class SharedEncode(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        made = tempfile.TemporaryDirectory(prefix="rigproof-shared-")
        cls.addClassCleanup(made.cleanup)
        cls.folder = pathlib.Path(made.name)
        profile = cls.folder / "written-twice.json"
        profile.write_text(json.dumps(PROFILE), encoding="utf-8")
        cls.recordings = cls.folder / "recordings"
        cls.recordings.mkdir()
        done = run("rehearse", profile, "--seconds", SECONDS, "--keep-recordings",
                   "--record-to", cls.recordings, "--json", timeout=300)
        assert done.returncode in (0, 3, 4, 5), done.stderr  # 5: beside other programs
        cls.result = json.loads(done.stdout)
        cls.outputs = {one["name"]: one for one in cls.result["rehearsal"]["outputs"]}

    def file_of(self, codec, container):
        return self.recordings / f"{codec}-{container}.{container}"

    def test_each_file_plays_and_holds_what_its_ledger_says(self):
        for codec in CODECS:
            for container in CONTAINERS:
                with self.subTest(codec=codec, container=container):
                    path = self.file_of(codec, container)
                    probed = ffprobe(path, "-count_frames", "-select_streams", "v", "-show_streams")
                    account = self.outputs[f"{codec} {container}"]
                    self.assertEqual(int(probed["streams"][0]["nb_read_frames"]),
                                     account["delivered"])
                    self.assertEqual(account["due"], account["delivered"] + account["dropped"])
                    pictures, complaints = decoded(path)
                    self.assertEqual(complaints, "")
                    self.assertEqual(len(pictures), account["delivered"])

    def test_all_containers_hold_the_same_pictures(self):
        for codec in CODECS:
            whole = [self.outputs[f"{codec} {one}"]["dropped"] == 0 for one in CONTAINERS]
            if not all(whole):
                print(f"SKIPPED: {codec}: this PC dropped frames")
                continue
            first, second, third = (decoded(self.file_of(codec, one))[0] for one in CONTAINERS)
            self.assertEqual(first, second)
            self.assertEqual(first, third)

    def test_a_transport_stream_plays_from_its_middle(self):
        for codec in CODECS:
            with self.subTest(codec=codec):
                whole = self.file_of(codec, "mpegts").read_bytes()
                packets = len(whole) // 188  # ITU-T H.222.0 2.4.3.2: packets of 188 bytes
                cut = self.folder / f"{codec}-cut.ts"
                cut.write_bytes(whole[packets // 3 * 188:])
                probed = ffprobe(cut, "-count_frames", "-select_streams", "v", "-show_streams")
                self.assertGreater(int(probed["streams"][0]["nb_read_frames"]), 25)

    def test_the_encode_is_paid_for_once(self):
        encodes = [one["item"] for one in self.result["rehearsal"]["stages"]
                   if one["stage"] == "encode"]
        self.assertEqual(encodes, ["h264 mkv + h264 mp4 + h264 mpegts + h264 flv",
                                   "hevc mkv + hevc mp4 + hevc mpegts"])
        sessions = [row["value"] for row in self.result["demand"]
                    if row["resource"] == "encode" and row["unit"] == "sessions"]
        self.assertEqual(sessions, [2])

    def test_the_stream_reaches_the_sink(self):
        account = self.outputs["h264 flv"]
        self.assertEqual(account["received"], account["delivered"])


if __name__ == "__main__":
    unittest.main()
