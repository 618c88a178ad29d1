# SPDX-License-Identifier: Apache-2.0
"""Short streams of tiny pictures and sound, encoded once, from whose access units recordings are made."""

import json
import os
import pathlib
import pickle
import subprocess
import sys

HERE = pathlib.Path(__file__).parent
# name: codec, demuxer's element for its file, file, what the ffmpeg program is told. GOPs are closed
# unless the name says so; 1500 pictures are the longest that an ordinary case takes.
PICTURES = {
    "h264-plain": ("h264", "qtdemux", "mp4", "-c:v libx264 -preset ultrafast -g 50 -bf 0"),
    "h264-b2": ("h264", "qtdemux", "mp4", "-c:v libx264 -preset ultrafast -g 48 -bf 2"),
    "h264-b3-pyramid": ("h264", "qtdemux", "mp4", "-c:v libx264 -preset veryfast -g 60 -bf 3 "
                        "-x264-params b-pyramid=normal:b-adapt=0"),
    "h264-open": ("h264", "qtdemux", "mp4", "-c:v libx264 -preset veryfast -g 25 -bf 2 "
                  "-x264-params open-gop=1"),
    "hevc-b": ("hevc", "qtdemux", "mp4", "-c:v libx265 -preset ultrafast -tag:v hvc1 -x265-params "
               "bframes=3:b-adapt=0:keyint=60:open-gop=0:log-level=none:pools=1"),
    "av1": ("av1", "matroskademux", "mkv", "-c:v libaom-av1 -cpu-used 8 -usage realtime -g 60 "
            "-lag-in-frames 0"),
    "vp9": ("vp9", "matroskademux", "mkv", "-c:v libvpx-vp9 -deadline realtime -cpu-used 8 -g 60 "
            "-lag-in-frames 0"),
    "mpeg2-b": ("mpeg2video", "matroskademux", "mkv", "-c:v mpeg2video -g 15 -bf 2 -b:v 100k"),
    "prores": ("prores", "qtdemux", "mov", "-c:v prores_ks -profile:v proxy -pix_fmt yuv422p10le"),
    "mjpeg": ("mjpeg", "matroskademux", "mkv", "-c:v mjpeg -q:v 20 -pix_fmt yuvj420p"),
    "v210": ("v210", "qtdemux", "mov", "-c:v v210 -pix_fmt yuv422p10le"),
    "theora": ("theora", "oggdemux", "ogg", "-c:v libtheora -g 50 -b:v 100k"),
    "raw": ("raw", "qtdemux", "mov", "-c:v rawvideo -pix_fmt uyvy422"),
    "tiny": ("h264", "qtdemux", "mp4", "-c:v libx264 -preset ultrafast -g 250 -bf 0"),
}
SOUND = {  # codec, demuxer, file, ffmpeg's words, samples a unit, rate
    "aac": ("aac", "qtdemux", "mp4", "-c:a aac -b:a 24k -ar 48000", 1024, 48000),
    "aac-44k": ("aac", "qtdemux", "mp4", "-c:a aac -b:a 24k -ar 44100", 1024, 44100),
    "opus": ("opus", "matroskademux", "mkv", "-c:a libopus -b:a 12k -frame_duration 20", 960, 48000),
    "opus60": ("opus", "matroskademux", "mkv", "-c:a libopus -b:a 6k -frame_duration 60", 2880, 48000),
    "mp3": ("mp3", "matroskademux", "mkv", "-c:a libmp3lame -b:a 32k -ar 48000", 1152, 48000),
    "mp3-44k": ("mp3", "matroskademux", "mkv", "-c:a libmp3lame -b:a 32k -ar 44100", 1152, 44100),
    "pcm": ("pcm", None, None, None, 480, 48000),
    "pcm8k": ("pcm", None, None, None, 160, 8000),
}
PIXELS = {"raw": "48x32", "prores": "64x48", "v210": "48x32", "tiny": "16x16"}
UNITS = {"raw": 1000, "prores": 400, "v210": 400, "av1": 700, "vp9": 700, "tiny": 2000}


class Worker:
    """The GStreamer process: jobs in, answers out."""

    def __init__(self):
        self.process = None

    def ask(self, job):
        if self.process is None or self.process.poll() is not None:
            told = None if "GST_DEBUG" in os.environ else subprocess.DEVNULL
            self.process = subprocess.Popen(
                [python_with_gstreamer(), "-B", HERE / "gstreamer_worker.py"], text=True, cwd=HERE,
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=told)
        self.process.stdin.write(json.dumps(job) + "\n")
        self.process.stdin.flush()
        answer = self.process.stdout.readline()
        return json.loads(answer) if answer else {"error": "the GStreamer process ended"}

    def close(self):
        if self.process is not None:
            self.process.stdin.close()
            self.process.stdout.close()
            self.process.wait(timeout=60)


def python_with_gstreamer():
    """The first Python here that has GStreamer's bindings; None where there is none."""
    for python in (sys.executable, "/usr/bin/python3"):
        words = "import gi; gi.require_version('GstApp', '1.0'); from gi.repository import GstApp"
        try:
            if subprocess.run([python, "-c", words], check=False, capture_output=True,
                              cwd=HERE).returncode == 0:
                return python
        except OSError:
            pass
    return None


def ffmpeg(*arguments, timeout=120):
    done = subprocess.run(["ffmpeg", "-hide_banner", "-loglevel", "error", "-nostdin", "-y",
                           *map(str, arguments)], check=False, capture_output=True, timeout=timeout)
    if done.returncode != 0:
        raise RuntimeError(f"ffmpeg {' '.join(map(str, arguments))}: "
                           f"{done.stderr.decode(errors='replace')[-300:]}")


class Bases:
    """What was encoded, kept in a folder from run to run."""

    def __init__(self, folder, worker):
        self.folder, self.worker, self.loaded = folder, worker, {}
        folder.mkdir(parents=True, exist_ok=True)

    def pictures(self, name, rate):
        codec, demuxer, end, words = PICTURES[name]
        stem = f"{name}-{rate.replace('/', '_')}"
        raster = PIXELS.get(name, "96x64")
        source = f"{'color' if name == 'tiny' else 'testsrc2'}=size={raster}:rate={rate}"
        return self.get(stem, codec, demuxer, end,
                        ["-f", "lavfi", "-i", source, "-frames:v", UNITS.get(name, 1500),
                         *words.split()])

    def sound(self, name):
        codec, demuxer, end, words, samples, rate = SOUND[name]
        if codec == "pcm":
            return self.plain_sound(name, samples, rate)
        return self.get(name, codec, demuxer, end,
                        ["-f", "lavfi", "-i", "sine=sample_rate=48000", "-t", 4, *words.split()])

    def plain_sound(self, name, samples, rate):
        path = self.folder / f"{name}.units"
        if not path.exists():
            data = bytes(range(256)) * (samples * 2 // 256 + 1)
            caps = f"audio/x-raw,format=S16LE,layout=interleaved,rate={rate},channels=1"
            path.write_bytes(pickle.dumps({"avc": {
                "caps": caps, "data": [data[:samples * 2]] * 100, "shown": list(range(100)),
                "key": [True] * 100}}))
        return self.read(path)

    def get(self, stem, codec, demuxer, end, words):
        units = self.folder / f"{stem}.units"
        if not units.exists():
            path = self.folder / f"{stem}.{end}"
            ffmpeg(*words, path)
            partial = units.with_suffix(".partial")
            answer = self.worker.ask({"do": "load", "path": str(path), "codec": codec,
                                      "demuxer": demuxer, "into": str(partial)})
            if answer.get("error"):
                raise RuntimeError(f"{stem}: {answer['error']}")
            partial.rename(units)  # whole or not there, also where the trial was stopped
        return self.read(units)

    def read(self, path):
        if path not in self.loaded:
            self.loaded[path] = pickle.loads(path.read_bytes())
        return path, self.loaded[path]
