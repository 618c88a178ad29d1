# SPDX-License-Identifier: Apache-2.0
"""Recordings that are whole, cut short, damaged or none at all, given to the built program."""

import datetime
import functools
import json
import os
import pathlib
import subprocess
import tempfile
import unittest

from program import InFolder, run


def ffmpeg(*arguments):
    subprocess.run(["ffmpeg", "-hide_banner", "-loglevel", "error", "-nostdin", "-y",
                    *map(str, arguments)], check=True)


@functools.cache
def written(suffix, seconds, select, more):
    """Bytes of a recording by the ffmpeg program, which writes it once however many tests want it."""
    video = ["-vf", f"select='{select}'", "-fps_mode", "passthrough"] if select else []
    with tempfile.TemporaryDirectory(prefix="rigproof-written-") as folder:
        path = pathlib.Path(folder) / ("recording" + suffix)
        ffmpeg("-f", "lavfi", "-i", "testsrc2=size=160x90:rate=25", "-f", "lavfi", "-i",
               "sine=sample_rate=48000", "-t", seconds, *video, "-c:v", "mpeg4", "-g", "25", "-c:a",
               "aac", *more, path)
        return path.read_bytes()


def make(path, seconds=6, select=None, more=()):
    """Pictures and sound, those that `select` leaves out missing."""
    path.write_bytes(written(path.suffix, seconds, select, more))
    return path


def pictures_of(recording):
    return next(each for each in recording["tracks"] if each["kind"] == "pictures")


class Examined(InFolder):
    def examine(self, *arguments):
        done = run("examine", *arguments, "--json")
        self.assertEqual(done.stderr.count("rigproof: "), 0, done.stderr)
        result = json.loads(done.stdout)
        self.assertEqual(result["format"], "rigproof-examine")
        return done.returncode, result


class Examine(Examined):
    def test_nothing_missing(self):
        status, result = self.examine(make(self.folder / "whole.mkv"))
        self.assertEqual((status, result["verdict"]), (0, "nothing missing"))
        pictures = pictures_of(result["recordings"][0])
        self.assertEqual((pictures["due"], pictures["present"], pictures["missing"]),
                         (150, 150, 0))

    def test_the_worst_of_several_wins(self):
        whole = make(self.folder / "whole.mkv")
        lost = make(self.folder / "lost.mkv", select="not(between(n,50,59))")
        status, result = self.examine(whole, lost)
        self.assertEqual((status, result["verdict"]), (4, "parts missing"))
        self.assertEqual([each["verdict"] for each in result["recordings"]],
                         ["nothing missing", "parts missing"])
        gap = result["recordings"][1]["tracks"][0]["gaps"][0]
        self.assertEqual(gap["missing"], 10)
        self.assertAlmostEqual(gap["at_s"] - result["recordings"][1]["tracks"][0]["first_s"], 2,
                               delta=0.002)

    def test_one_bad_file_among_good_ones_is_named(self):
        whole = make(self.folder / "whole.mkv")
        done = run("examine", whole, self.folder / "none.mkv", "--json", "--quiet")
        self.assertEqual(done.returncode, 2)
        self.assertRegex(done.stderr, r"\Arigproof: [^\n]*none\.mkv[^\n]*\n\Z")
        self.assertEqual(len(json.loads(done.stdout)["recordings"]), 1)

    def test_text_says_what_where_and_in_what_shape(self):
        lost = make(self.folder / "lost.mkv", select="not(between(n,50,59))")
        done = run("examine", lost, "--quiet")
        self.assertEqual(done.returncode, 4, done.stderr)
        for part in ("PARTS MISSING", "10 of 150 frames", "0:00:02.0", "bursts"):
            self.assertIn(part, done.stdout)

    def test_help_has_example_and_statuses(self):
        done = run("examine", "--help")
        self.assertEqual(done.returncode, 0)
        for part in ("rigproof examine friday-show.mkv", "4 frames or sound missing",
                     "--in-sequence", "--decode"):
            self.assertIn(part, done.stdout)

    def test_a_time_of_closing_is_no_time_of_beginning(self):
        for ago_s, told in ((60, True), (0, False)):
            written = datetime.datetime.now(datetime.timezone.utc) - datetime.timedelta(seconds=ago_s)
            path = make(self.folder / f"{ago_s}.mp4", 20, more=(
                "-metadata", "creation_time=" + written.strftime("%Y-%m-%dT%H:%M:%SZ")))
            with self.subTest(ago_s=ago_s):
                sources = [start["source"] for start in self.examine(path)[1]["recordings"][0]["started"]]
                self.assertEqual("creation time" in sources, told, sources)
                self.assertIn("file time", sources)

    def test_variable_rate_is_unproven_not_broken(self):
        path = self.folder / "variable.mkv"
        ffmpeg("-f", "lavfi", "-i", "testsrc2=size=160x90:rate=50", "-t", 20, "-vf",
               "settb=1/1000,setpts='(0.02*N+0.008*sin(N*2.3))/TB'", "-fps_mode", "passthrough", "-c:v", "mpeg4",
               "-enc_time_base", "1/1000", path)
        status, result = self.examine(path)
        pictures = pictures_of(result["recordings"][0])
        self.assertEqual((status, pictures["beat"], pictures["missing"]), (5, "variable", 0))
        self.assertIn("no constant beat", result["recordings"][0]["headline"])


class Unfinished(Examined):
    def cut(self, path, share):
        path.write_bytes(path.read_bytes()[:int(path.stat().st_size * share)])
        return path

    def test_cut_short(self):
        for name, more in (("a.mkv", ()), ("b.ts", ()), ("c.flv", ("-c:v", "flv")),
                           ("d.mp4", ("-movflags", "faststart")),
                           ("e.mp4", ("-movflags", "frag_keyframe+empty_moov")),
                           ("f.avi", ("-c:a", "pcm_s16le"))):
            with self.subTest(file=name):
                path = make(self.folder / name, more=more)
                status, result = self.examine(self.cut(path, 0.6))
                pictures = pictures_of(result["recordings"][0])
                self.assertGreater(pictures["present"], 50)
                self.assertLess(pictures["present"], 140)
                self.assertEqual(pictures["missing"], 0)
                if not name.endswith((".ts", ".avi")):  # these two have no end to miss
                    self.assertEqual(status, 5)
                    self.assertEqual(result["recordings"][0]["state"], "partly")
                    self.assertTrue(result["recordings"][0]["remarks"])

    def test_mp4_without_its_index_is_refused(self):
        path = self.cut(make(self.folder / "open.mp4"), 0.5)
        self.assert_refused(run("examine", path, "--quiet"), "open.mp4", "not finished")

    def test_bytes_turned_over_in_the_middle(self):
        for name in ("a.mkv", "b.ts", "c.mp4", "d.avi"):
            with self.subTest(file=name):
                path = make(self.folder / name)
                content = bytearray(path.read_bytes())
                third = len(content) // 3
                for at in range(third, third + 3000):
                    content[at] ^= 0x5a
                path.write_bytes(content)
                done = run("examine", path, "--json", "--quiet")
                self.assertIn(done.returncode, (0, 4, 5), done.stderr)
                json.loads(done.stdout)


class Segments(Examined):
    def segments(self, extra, name="part%02d.mkv"):
        source = make(self.folder / "whole.mkv", seconds=12, select="not(between(n,130,132))")
        ffmpeg("-i", source, "-c", "copy", "-f", "segment", "-segment_time", 2, *extra,
               self.folder / name)
        return sorted(self.folder.glob("part*"))

    def check(self, arguments, missing=3):
        status, result = self.examine(*arguments)
        recording = result["recordings"][0]
        pictures = pictures_of(recording)
        self.assertEqual(status, 4 if missing else 0, recording["remarks"])
        self.assertEqual((pictures["present"], pictures["missing"]), (297, missing))
        self.assertGreater(recording["segments"], 3)
        self.assertAlmostEqual(recording["length_s"], 12, delta=0.2)
        return recording

    def test_files_that_go_on(self):
        parts = self.segments(())
        self.check([*parts, "--in-sequence"])

    def test_files_that_begin_anew(self):
        parts = self.segments(("-reset_timestamps", 1))
        recording = self.check([*parts, "--in-sequence"])
        self.assertIn("begin anew", " ".join(recording["remarks"]))

    def test_lists_of_files(self):
        parts = self.segments(())
        concat = self.folder / "list.txt"
        concat.write_text("ffconcat version 1.0\n" +
                          "".join(f"file '{part.name}'\n" for part in parts), encoding="utf-8")
        self.check([concat])

    def test_playlists_with_and_without_a_file_for_all(self):
        source = make(self.folder / "whole.mkv", seconds=12, select="not(between(n,130,132))")
        for kind in ("mpegts", "fmp4"):
            with self.subTest(kind=kind):
                folder = self.folder / kind
                folder.mkdir()
                ffmpeg("-i", source, "-c:v", "libx264", "-preset", "ultrafast", "-fps_mode",
                       "passthrough", "-g", 25, "-c:a", "copy", "-f", "hls", "-hls_time", 2,
                       "-hls_list_size", 0, "-hls_segment_type", kind, "-hls_flags",
                       "program_date_time", folder / "list.m3u8")
                recording = self.check([folder / "list.m3u8"])
                self.assertEqual(recording["started"][0]["source"], "segment list")

    def test_a_discontinuity_is_no_hole(self):
        """RFC 8216, 4.3.2.3: times after it follow nothing; its files are told to begin 100 s later."""
        for kind in ("ts", "fmp4"):
            with self.subTest(kind=kind):
                lines = ["#EXTM3U"]
                for part, offset in (("one", 0), ("two", 100)):
                    listed = self.folder / f"{kind}-{part}.m3u8"
                    source = make(self.folder / "whole.mkv", seconds=6)
                    ffmpeg("-i", source, "-c:v", "libx264", "-preset", "ultrafast", "-g", 25,
                           "-fps_mode", "passthrough", "-c:a", "copy", "-output_ts_offset", offset,
                           "-f", "hls", "-hls_time", 2, "-hls_list_size", 0, "-hls_segment_type", "mpegts" if kind == "ts" else kind,
                           "-hls_fmp4_init_filename", f"{kind}-{part}.mp4", listed)
                    lines += ["#EXT-X-DISCONTINUITY"] if part == "two" else []
                    lines += [line for line in listed.read_text(encoding="utf-8").splitlines()
                              if line.startswith("#EXT-X-MAP") or line.endswith((".ts", ".m4s"))]
                whole = self.folder / "list.m3u8"
                whole.write_text("\n".join([*lines, "#EXT-X-ENDLIST", ""]), encoding="utf-8")
                status, result = self.examine(whole)
                recording = result["recordings"][0]
                pictures = pictures_of(recording)
                self.assertEqual((status, pictures["present"], pictures["missing"]), (0, 300, 0),
                                 recording["remarks"])
                self.assertEqual(len(pictures["steps"]), 0)
                self.assertAlmostEqual(recording["length_s"], 12, delta=0.2)
                self.assertIn("begin anew", " ".join(recording["remarks"]))

    def test_a_lost_file_is_named_and_its_pictures_are_missing(self):
        parts = self.segments(())
        concat = self.folder / "list.txt"
        concat.write_text("".join(f"file {part.name}\n" for part in parts), encoding="utf-8")
        parts[2].unlink()
        status, result = self.examine(concat)
        recording = result["recordings"][0]
        self.assertEqual((status, recording["state"]), (4, "partly"))
        self.assertIn(parts[2].name, recording["remarks"][0])
        self.assertGreater(recording["tracks"][0]["missing"], 25)


class BadInput(InFolder):
    def test_no_recording(self):
        text = self.folder / "letter.txt"
        text.write_text("Dear all,\nthe show was fine.\n", encoding="utf-8")
        noise = self.folder / "noise.bin"
        noise.write_bytes(bytes((i * i * 7 + i // 3) % 256 for i in range(5000)))
        empty = self.folder / "empty.mkv"
        empty.touch()
        for path, part in ((text, "letter.txt"), (noise, "noise.bin"), (empty, "is empty"),
                           (self.folder, "folder"), (self.folder / "none.mkv", "no such file"),
                           ("", "name"), (self.folder / ("n" * 300), "too long")):
            with self.subTest(path=str(path)[-20:]):
                self.assert_refused(run("examine", path, "--quiet"), part)

    def test_no_name_and_unknown_options(self):
        self.assert_refused(run("examine"), "RECORDING")
        self.assert_refused(run("examine", "--decod", "a.mkv"), "--decode")

    def test_pipes_and_devices_are_not_read(self):
        pipe = self.folder / "pipe.mkv"
        os.mkfifo(pipe)
        self.assert_refused(run("examine", pipe, "--quiet"), "no regular file")
        self.assert_refused(run("examine", "/dev/zero", "--quiet"), "no regular file")

    def test_urls_are_names_of_files(self):
        self.assert_refused(run("examine", "http://127.0.0.1:9/a.mkv", "--quiet"), "no such file")

    def test_lists_that_lead_elsewhere(self):
        listed = self.folder / "list.m3u8"
        for text, part in (("#EXTM3U\nhttp://127.0.0.1:9/a.ts\n#EXT-X-ENDLIST\n", "only files"),
                           ("#EXTM3U\n/dev/zero\n#EXT-X-ENDLIST\n", "no regular file"),
                           ("#EXTM3U\nlist.m3u8\n#EXT-X-ENDLIST\n", "list.m3u8"),
                           ("#EXTM3U\n", "no files")):
            with self.subTest(text=text):
                listed.write_text(text, encoding="utf-8")
                self.assert_refused(run("examine", listed, "--quiet"), part)

    def test_names_with_escapes_and_dashes(self):
        path = make(self.folder / "a\x1b[31m\nb -c.mkv")
        done = run("examine", path, "--quiet")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertNotIn("\x1b[31m", done.stdout)

    def test_a_file_that_may_not_be_read(self):
        path = self.folder / "locked.mkv"
        path.write_bytes(b"x" * 100)
        path.chmod(0)
        if os.access(path, os.R_OK):
            self.skipTest("this user may read everything")
        self.assert_refused(run("examine", path, "--quiet"), "locked.mkv")


if __name__ == "__main__":
    unittest.main()
