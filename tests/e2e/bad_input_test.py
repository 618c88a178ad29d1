# SPDX-License-Identifier: Apache-2.0
"""Whatever is wrong with the input: one line that says where, what was found, what is allowed."""

import copy
import os
import subprocess
import unittest

from program import InFolder, run, starter


class BadProfile(InFolder):
    def refuse(self, change, *parts):
        profile = copy.deepcopy(starter())
        change(profile)
        path = self.write_profile(profile)
        self.assert_refused(run("demand", path), "show.json", *parts)

    def test_one_bad_profile_tells_all_its_mistakes(self):
        profile = starter()
        profile["displays"] = 99
        profile["sources"][0]["rate"] = "fast"
        profile["outputs"][0]["codec"] = "none"
        done = run("demand", self.write_profile(profile))
        self.assertEqual((done.returncode, done.stdout), (2, ""), done.stderr)
        lines = done.stderr.splitlines()
        self.assertEqual(len(lines), 3, done.stderr)
        for line in lines:
            self.assertRegex(line, r"\Arigproof: .*show\.json: /[a-z0-9/]+: found .*; allowed: ")

    def test_unknown_key_names_the_nearest(self):
        def change(profile):
            profile["duration_minuts"] = 90
        self.refuse(change, "duration_minuts", "duration_minutes")

    def test_wrong_unit(self):
        def change(profile):
            profile["outputs"][0]["bitrate_mbps"] = profile["outputs"][0].pop("bitrate_kbps") / 1000
        self.refuse(change, "/outputs/0", "bitrate_mbps", "bitrate_kbps")

    def test_zero_and_negative(self):
        for bad in (0, -90):
            def change(profile, bad=bad):
                profile["duration_minutes"] = bad
            self.refuse(change, "/duration_minutes", str(bad))

    def test_rate_that_is_no_rational(self):
        for bad in ("29.97", "30000/0", "fast", 29.97):
            def change(profile, bad=bad):
                profile["sources"][0]["rate"] = bad
            self.refuse(change, "/sources/0/rate", str(bad))

    def test_raster_beyond_8192(self):
        def change(profile):
            profile["program"]["raster"] = "8193x4320"
        self.refuse(change, "/program/raster", "8193x4320", "8192")

    def test_codec_that_is_not_offered(self):
        def change(profile):
            profile["outputs"][0]["codec"] = "h265x"
        self.refuse(change, "/outputs/0/codec", "h265x", "hevc")

    def test_clips_that_never_end(self):
        pipe = self.folder / "pipe.avi"
        os.mkfifo(pipe)
        zeros = self.folder / "zeros.avi"
        zeros.symlink_to("/dev/zero")
        for clip in (pipe, zeros, self.folder):
            with self.subTest(clip=clip.name):
                profile = starter("one-camera-talk")
                profile["sources"][0]["content"] = {"clip": str(clip)}
                path = self.write_profile(profile)
                self.assert_refused(run("rehearse", path, "--seconds", "3", cwd=self.folder),
                                    clip.name, "allowed: a regular file")

    def test_a_clip_that_names_other_files(self):
        subprocess.run(["ffmpeg", "-loglevel", "error", "-nostdin", "-f", "lavfi", "-i",
                        "testsrc2=size=64x36:rate=10", "-t", "1", "-c:v", "mpeg4",
                        self.folder / "real.avi"], check=True)
        clip = self.folder / "list.ffconcat"
        clip.write_text("ffconcat version 1.0\nfile real.avi\n", encoding="ascii")
        profile = starter("one-camera-talk")
        profile["sources"][0]["content"] = {"clip": str(clip)}
        path = self.write_profile(profile)
        self.assert_refused(run("rehearse", path, "--seconds", "3", cwd=self.folder),
                            clip.name, "cannot be read")

    def test_pipes_in_place_of_files(self):
        """Whoever opened one of them would wait for ever."""
        pipe = self.folder / "pipe"
        os.mkfifo(pipe)
        for command in (["demand", pipe], ["survey", pipe], ["examine", pipe, "--quiet"],
                        ["explain", pipe, "--quiet"], ["explain", pipe, "--log", pipe, "--quiet"],
                        ["compare", pipe, pipe], ["size", pipe, "--add", "usb:1080p30"],
                        ["inventory", "--machine", pipe],
                        ["qualify", pipe, "--into", self.folder / "into"]):
            with self.subTest(command=command):
                self.assert_refused(run(*command), pipe.name)

    def test_text_that_is_no_json(self):
        for bad in ("", "{", '{"format": "rigproof-profile",}', "\x00\x01", "[1, 2]"):
            path = self.write_profile(bad)
            self.assert_refused(run("demand", path), "show.json")

    def test_profile_that_is_missing_or_a_folder(self):
        self.assert_refused(run("demand", self.folder / "no-such.json"), "no-such.json")
        self.assert_refused(run("demand", self.folder), self.folder.name)

    def test_name_near_a_starter(self):
        self.assert_refused(run("demand", "two-camera-tlak"), "two-camera-talk")


class BadPlace(InFolder):
    def test_machine_root_without_sys(self):
        self.assert_refused(run("inventory", "--machine", self.folder), self.folder.name, "sys")

    def test_machine_root_that_is_missing(self):
        self.assert_refused(run("survey", "two-camera-talk", "--machine", self.folder / "none"),
                            "none")

    def test_archive_that_is_none(self):
        path = self.folder / "rig.tar.gz"
        path.write_bytes(b"\x1f\x8b\x08 not an archive")
        self.assert_refused(run("inventory", "--machine", path), "rig.tar.gz")


class BadFolder(InFolder):
    """Refused before any load: standard error never speaks of a rehearsal."""

    def test_missing(self):
        for command in (("rehearse", "two-camera-talk"), ("qualify",),
                        ("survey", "two-camera-talk"), ("inventory",)):
            with self.subTest(command=command[0]):
                done = run(*command, "--record-to", self.folder / "none", cwd=self.folder)
                self.assert_refused(done, "none")

    def test_that_cannot_be_written(self):
        # /proc takes no files from anybody, root included.
        self.assert_refused(run("rehearse", "two-camera-talk", "--record-to", "/proc"), "/proc")
        self.assert_refused(run("qualify", "--into", "/proc/rigproof"), "/proc/rigproof", "--into")

    def test_that_is_refused_leaves_no_folder_behind(self):
        self.assert_refused(run("qualify", "--into", self.folder / "new",
                                "--record-to", self.folder / "none"), "none")
        self.assertFalse((self.folder / "new").exists())

    def test_too_full_says_how_much_is_needed(self):
        profile = starter()
        profile["duration_minutes"] = 1440
        profile["outputs"][0]["bitrate_kbps"] = 800000
        path = self.write_profile(profile)
        done = run("rehearse", path, "--length", "full", "--record-to", self.folder)
        # 24 h x 800 Mb/s is 8.6 TB before audio and container.
        self.assert_refused(done, self.folder.name, "TB")

    def test_clip_that_cannot_be_read(self):
        profile = starter()
        (self.folder / "clip.mp4").write_bytes(b"no film")
        profile["sources"][0]["content"] = {"clip": "clip.mp4"}
        path = self.write_profile(profile)
        done = run("rehearse", path, "--seconds", "3", "--record-to", self.folder)
        self.assertEqual(done.returncode, 2, done.stderr)
        self.assertEqual(done.stdout, "")
        self.assertIn("clip.mp4", done.stderr.splitlines()[-1])


class BadCommandLine(InFolder):
    def test_wrong_use(self):
        for arguments, part in ((("--quiet",), "command"),
                                (("qualfy",), "qualify"),
                                (("demand",), "PROFILE"),
                                (("demand", "two-camera-talk", "extra"), "extra"),
                                (("survey", "two-camera-talk", "--mashine", "x"), "--machine"),
                                (("qualify", "--length", "long"), "quick, standard, full"),
                                (("rehearse", "two-camera-talk", "--seconds", "-1"), "--seconds"),
                                (("profiles", "--show", "two-camera-tolk"), "two-camera-talk")):
            with self.subTest(arguments=arguments):
                self.assert_refused(run(*arguments), part)

    def test_the_name_alone_says_what_to_type_first(self):
        done = run()
        self.assertEqual((done.returncode, done.stderr), (2, ""))
        self.assertIn("rigproof qualify", done.stdout)


if __name__ == "__main__":
    unittest.main()
