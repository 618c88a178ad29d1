# SPDX-License-Identifier: Apache-2.0
"""Recordings written by the ffmpeg program and told by `examine`, against ffprobe and arithmetic.

Source of every expected value: the numbers of the pictures that FFmpeg's select filter left out (their
timestamps are kept), packet counts and times of ffprobe, the resampling that a filter was told to
make, and FFmpeg's freezedetect filter. ffmpeg and ffprobe are of Debian's FFmpeg package.
"""

import fractions
import json
import re
import subprocess
import unittest

from program import InFolder, run

LOST = [40, 41, 90, 91, 92, 93, 94, 200, 330]
SELECT = "not(" + "+".join(f"eq(n,{number})" for number in LOST) + ")"
H264 = ("-c:v", "libx264", "-preset", "ultrafast", "-bf", 2, "-g", 48)
FORMS = {  # name: encoders
    "a.mkv": (*H264, "-c:a", "aac"), "b.mp4": (*H264, "-c:a", "aac"),
    "c.mov": (*H264, "-c:a", "pcm_s16le"), "d.ts": (*H264, "-c:a", "mp2"),
    "e.flv": (*H264, "-c:a", "aac"), "f.avi": ("-c:v", "mjpeg", "-c:a", "pcm_s16le"),
    "g.mp4": (*H264, "-c:a", "aac", "-movflags", "frag_keyframe+empty_moov"),
    "h.webm": ("-c:v", "libvpx", "-cpu-used", 8, "-deadline", "realtime", "-c:a", "libopus"),
    "i.mov": ("-c:v", "prores", "-c:a", "pcm_s24le")}


def ffmpeg(*arguments):
    *others, output = map(str, arguments)  # pictures are so small that threads only cost
    done = subprocess.run(["ffmpeg", "-hide_banner", "-loglevel", "info", "-nostdin", "-y", *others, "-threads", "1",
                           output], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stderr


def ffprobe(path, *arguments):
    done = subprocess.run(["ffprobe", "-v", "error", "-of", "json", *arguments, str(path)],
                          capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def pictures_and_sound(rate, seconds):
    return ("-f", "lavfi", "-i", f"testsrc2=size=160x90:rate={rate}", "-f", "lavfi", "-i",
            "sine=frequency=440:sample_rate=48000", "-t", seconds)


class Examined(InFolder):
    def examine(self, *arguments):
        done = run("examine", *arguments, "--json", "--quiet")
        self.assertIn(done.returncode, (0, 4, 5), done.stderr)
        return json.loads(done.stdout)["recordings"][0]

    def make(self, name, rate="30000/1001", select=SELECT, seconds=15):
        path = self.folder / name
        ffmpeg(*pictures_and_sound(rate, seconds), "-vf", f"select='{select}'", "-fps_mode",
               "passthrough", *FORMS[name], path)
        return path

    def check_lost(self, recording, rate, lost):
        track = next(each for each in recording["tracks"] if each["kind"] == "pictures")
        found = []
        for gap in track["gaps"]:
            first = round((gap["at_s"] - track["first_s"]) * float(fractions.Fraction(rate)))
            found += range(first, first + gap["missing"])
        self.assertEqual(found, lost)
        self.assertEqual(track["missing"], len(lost))
        self.assertEqual(fractions.Fraction(track["rate_numerator"], track["rate_denominator"]),
                         fractions.Fraction(rate))
        return track

    def check_packets(self, path, recording):
        """Numbers of packets, and first and last time of each track."""
        times = ffprobe(path, "-show_entries", "packet=stream_index,pts_time,dts_time")["packets"]
        for track in recording["tracks"]:
            own = [each for each in times if each["stream_index"] == track["index"]]
            if "pcm" not in track["codec"]:  # a chunk is one block there, however it is read
                self.assertEqual(track["present"], len(own), track["codec"])
            if track["kind"] == "pictures" and path.suffix != ".avi":
                shown = sorted(float(each["pts_time"]) for each in own)
                self.assertAlmostEqual(track["end_s"] - track["first_s"], shown[-1] - shown[0] +
                                       track["rate_denominator"] / track["rate_numerator"],
                                       delta=0.0011)
                track["first_by_ffprobe"] = shown[0]
        return times


class AgainstFfprobe(Examined):
    def test_every_container_every_lost_picture(self):
        for name in FORMS:
            with self.subTest(file=name):
                path = self.make(name)
                recording = self.examine(path)
                self.check_lost(recording, "30000/1001", LOST)
                self.check_packets(path, recording)
                sound = next(each for each in recording["tracks"] if each["kind"] == "sound")
                self.assertEqual(sound["gap_count"], 0)
                self.assertEqual(recording["state"], "whole", recording["remarks"])

    def test_every_form_of_matroska(self):
        """Packets of each track as `ffprobe -show_packets` counts them, in files read without it."""
        made = ("-vf", f"select='{SELECT}'", "-fps_mode", "passthrough", "-c:a", "aac", *H264)
        for name, more in {"live.mkv": ("-f", "matroska", "-live", 1),
                           "clusters.mkv": ("-cluster_time_limit", 100),
                           "piped.mkv": ("-f", "matroska", "-seekable", 0),
                           "two.mkv": ("-map", "0", "-map", "1", "-map", "1", "-c:a:1", "libopus"),
                           "groups.webm": ("-c:v", "libvpx", "-deadline", "realtime", "-cpu-used", 8,
                                           "-c:a", "libopus", "-f", "webm")}.items():
            with self.subTest(file=name):
                path = self.folder / name
                ffmpeg(*pictures_and_sound("30000/1001", 15), *made, *more, path)
                recording = self.examine(path)
                self.check_lost(recording, "30000/1001", LOST)
                self.check_packets(path, recording)

    def test_mxf_numbers_its_pictures(self):
        path = self.folder / "a.mxf"
        ffmpeg(*pictures_and_sound(25, 8), "-c:v", "mpeg2video", "-bf", 2, "-c:a", "pcm_s16le", path)
        recording = self.examine(path)
        self.check_lost(recording, "25", [])
        self.check_packets(path, recording)

    def test_rates_in_milliseconds(self):
        for rate in ("24000/1001", "25", "30", "50", "60000/1001", "60", "120"):
            with self.subTest(rate=rate):
                recording = self.examine(self.make("a.mkv", rate, seconds=20))
                track = self.check_lost(recording, rate, LOST)
                self.assertLessEqual(track["jitter"]["most_ms"], 1.0)

    def test_start_offsets_and_priming(self):
        """Where pictures and sound begin against each other, as ffprobe's start_time has it."""
        whole = self.make("b.mp4", select="1")
        late = self.folder / "late.mp4"
        ffmpeg("-i", whole, "-itsoffset", "0.5", "-i", whole, "-map", "0:v", "-map", "1:a", "-c",
               "copy", late)
        for path, delta in ((whole, 0.0005), (late, 0.001)):
            with self.subTest(file=path.name):
                starts = {each["codec_type"]: float(each["start_time"]) for each in
                          ffprobe(path, "-show_entries", "stream=codec_type,start_time")["streams"]}
                drift = self.examine(path)["drifts"][0]
                self.assertAlmostEqual(drift["starts_after_ms"] / 1000,
                                       starts["audio"] - starts["video"], delta=delta + 0.0225)
        self.assertAlmostEqual(self.examine(whole)["drifts"][0]["starts_after_ms"], 0, delta=0.5)
        self.assertAlmostEqual(self.examine(late)["drifts"][0]["starts_after_ms"], 500, delta=22)

    def test_open_groups_of_pictures(self):
        path = self.folder / "open.mkv"
        ffmpeg(*pictures_and_sound(25, 10), *H264, "-x264-params", "open-gop=1:bframes=8:b-pyramid=2",
               "-preset", "medium", "-c:a", "aac", path)
        self.check_lost(self.examine(path), "25", [])

    def test_a_cut_inside_a_group_of_pictures(self):
        path = self.folder / "cut.mkv"
        whole = self.make("a.mkv", "25", select="1")
        ffmpeg("-ss", "3.3", "-i", whole, "-c", "copy", path)
        recording = self.examine(path)
        pictures = recording["tracks"][0]
        self.assertEqual(pictures["missing"], 0)
        self.check_packets(path, recording)


class Patterns(Examined):
    def shape_of(self, rate, select, seconds):
        path = self.folder / "a.mkv"
        ffmpeg("-f", "lavfi", "-i", f"testsrc2=size=64x36:rate={rate}", "-t", seconds, "-vf",
               f"select='{select}'", "-fps_mode", "passthrough", "-c:v", "mpeg4", path)
        return self.examine(path)["patterns"][0]["missing"]

    def test_rates_that_do_not_match(self):
        """60 into 60000/1001 leaves out every 1001st picture, 30 into 25 every 6th: arithmetic."""
        slow = self.shape_of(60, "lt(mod(n,1001),1000)", 120)
        self.assertEqual((slow["shape"], slow["rates"]), ("regular", "60 into 59.94"))
        fast = self.shape_of(30, "lt(mod(n,6),5)", 20)
        self.assertEqual((fast["shape"], fast["rates"]), ("regular", "30 into 25"))

    def test_bursts_and_singles(self):
        self.assertEqual(self.shape_of(25, "not(between(n,300,330)+between(n,700,712))", 60)["shape"],
                         "bursts")
        scattered = self.shape_of(25, "gt(random(1),0.006)", 120)
        self.assertEqual(scattered["shape"], "scattered", scattered["decided_by"])

    def test_end_only(self):
        self.assertEqual(self.shape_of(25, "lt(n,1000)+eq(mod(n,10),0)", 60)["shape"], "end only")


class Drift(Examined):
    def test_stamps_that_run_100_ppm_fast(self):
        """asetpts stretches the stamps of sound by 100 ppm and keeps its samples."""
        path = self.folder / "stamps.mkv"
        ffmpeg(*pictures_and_sound(25, 120), "-af", "asetpts=PTS*1.0001", "-c:v", "mpeg4", "-c:a",
               "pcm_s16le", path)
        clocks = self.examine(path)["drifts"][0]["by_clocks"]
        self.assertLess(clocks["low_ppm"], 100)
        self.assertGreater(clocks["high_ppm"], 100)
        self.assertAlmostEqual(clocks["ppm"], 100, delta=5)

    def test_sound_played_500_ppm_fast(self):
        """asetrate takes 48000 samples as 48024 a second: sound ends 500 ppm early."""
        path = self.folder / "fast.mov"
        ffmpeg(*pictures_and_sound(25, 120), "-af", "asetrate=48024,aresample=48000", "-c:v",
               "mpeg4", "-c:a", "pcm_s16le", path)
        # -t cuts both to the same length; the sound that is there ends where its samples do.
        ends = self.examine(self.shortened(path))["drifts"][0]["by_ends"]
        self.assertLess(ends["low_ppm"], 500)
        self.assertGreater(ends["high_ppm"], 500)

    def shortened(self, path):
        """The sound as long as 120 s at the faster rate."""
        cut = self.folder / "cut.mp4"
        ffmpeg("-i", path, "-map", "0:v", "-map", "0:a", "-c:v", "copy", "-af",
               f"atrim=end={120 / 1.0005}", "-c:a", "aac", cut)
        return cut


class Content(Examined):
    def test_frozen_stretches_as_freezedetect_finds_them(self):
        path = self.folder / "frozen.mkv"
        ffmpeg("-f", "lavfi", "-i", "testsrc2=size=160x90:rate=25", "-t", 20, "-vf",
               "noise=alls=12:allf=t,loop=loop=50:size=1:start=99,loop=loop=3:size=1:start=349,"
               "setpts=N/25/TB", "-c:v", "libx264", "-preset", "veryfast", "-crf", 23, path)
        log = ffmpeg("-i", path, "-vf", "freezedetect=noise=0.012:duration=0.5", "-f", "null", "-")
        start = float(re.search(r"freeze_start: ([\d.]+)", log).group(1))
        length = float(re.search(r"freeze_duration: ([\d.]+)", log).group(1))
        content = self.examine(path, "--decode")["tracks"][0]["content"]
        self.assertEqual(content["decoded"], 500)  # -t cuts what the repeats push out
        self.assertEqual((content["frozen"], content["repeated"]), (50, 3))
        frozen = max(content["stretches"], key=lambda each: each["length_s"])
        # freezedetect counts from the picture that stands still, we from the first that repeats it.
        self.assertAlmostEqual(frozen["at_s"], start + 0.04, delta=0.041)
        self.assertAlmostEqual(frozen["length_s"], length - 0.04, delta=0.041)

    def test_a_slower_source_repeats_regularly(self):
        path = self.folder / "repeats.mkv"
        ffmpeg("-f", "lavfi", "-i", "testsrc2=size=160x90:rate=25", "-t", 20, "-vf",
               "noise=alls=12:allf=t,fps=30", "-c:v", "libx264", "-preset", "veryfast", "-crf", 20,
               path)
        pattern = self.examine(path, "--decode")["patterns"][0]["repeated"]
        self.assertEqual((pattern["shape"], pattern["rates"]), ("regular", "25 into 30"))


if __name__ == "__main__":
    unittest.main()
