# SPDX-License-Identifier: Apache-2.0
"""Makes recordings from a truth with programs that others wrote."""

import random
import struct
import subprocess
from fractions import Fraction

import truth
from bases import PICTURES, SOUND, ffmpeg

SECOND = 1_000_000_000
MUXERS = {  # writer: GStreamer's elements up to the file, form of the units, name's end
    "gst-mp4": ("mp4mux name=m {more} ! filesink location={path}", "avc", "mp4"),
    "gst-mp4-fragmented": ("mp4mux name=m fragment-duration=1000 {more} ! filesink location={path}",
                           "avc", "mp4"),
    "gst-mp4-robust": ("mp4mux name=m reserved-max-duration=3700000000000 "
                       "reserved-moov-update-period=1000000000 {more} ! filesink location={path}",
                       "avc", "mp4"),
    "gst-mov": ("qtmux name=m {more} ! filesink location={path}", "avc", "mov"),
    "gst-mkv": ("matroskamux name=m {more} ! filesink location={path}", "avc", "mkv"),
    "gst-mkv-streamable": ("matroskamux name=m streamable=true {more} ! filesink location={path}",
                           "avc", "mkv"),
    "gst-ts": ("mpegtsmux name=m {more} ! filesink location={path}", "bytes", "ts"),
    "gst-flv": ("flvmux name=m {more} ! filesink location={path}", "avc", "flv"),
    "gst-flv-live": ("flvmux name=m streamable=true {more} ! filesink location={path}", "avc", "flv"),
    "gst-avi": ("avimux name=m {more} ! filesink location={path}", "bytes", "avi"),
    "gst-ogg": ("oggmux name=m {more} ! filesink location={path}", "avc", "ogg"),
    "gst-hls": ("hlssink2 name=m target-duration=4 max-files=0 playlist-length=0 "
                "location={folder}/{stem}-%03d.ts playlist-location={path}", "bytes", "m3u8"),
    "gst-split-mp4": ("splitmuxsink name=m max-size-time=6000000000 muxer-factory=mp4mux "
                      "location={folder}/{stem}-%03d.mp4", "avc", "mp4"),
    "gst-split-mkv": ("splitmuxsink name=m max-size-time=6000000000 muxer-factory=matroskamux "
                      "location={folder}/{stem}-%03d.mkv", "avc", "mkv"),
}
X264 = ("videoconvert ! video/x-raw,format=I420 ! x264enc speed-preset=ultrafast bframes=2 b-adapt=false "
        "key-int-max=48 threads=1 ! h264parse ! ")
ENCODERS = {  # writer: what stands before its muxer; the pictures come raw, as from a camera
    "gst-x264-mp4": (X264, "gst-mp4"), "gst-x264-mkv": (X264, "gst-mkv"),
    "gst-x264-ts": (X264, "gst-ts"), "gst-x264-flv": (X264, "gst-flv"),
}
COPIES = {  # writer: what the ffmpeg program is told after its input, name's end
    "ffmpeg-mp4": ("-c copy", "mp4"),
    "ffmpeg-mp4-fragmented": ("-c copy -movflags frag_keyframe+empty_moov+default_base_moof", "mp4"),
    "ffmpeg-mp4-negative": ("-c copy -movflags negative_cts_offsets", "mp4"),
    "ffmpeg-mp4-no-edits": ("-c copy -use_editlist 0", "mp4"),
    "ffmpeg-mp4-90000": ("-c copy -video_track_timescale 90000", "mp4"),
    "ffmpeg-mkv": ("-c copy", "mkv"),
    "ffmpeg-ts": ("-c copy", "ts"),
    "ffmpeg-flv": ("-c copy", "flv"),
    "ffmpeg-asf": ("-c copy", "asf"),
    "ffmpeg-avi": ("-c:v copy -c:a pcm_s16le", "avi"),
    "ffmpeg-nut": ("-c copy", "nut"),
    "ffmpeg-x264-mp4": ("-c:v libx264 -preset veryfast -bf 3 -g 48 -c:a copy", "mp4"),
    "ffmpeg-x264-mkv": ("-c:v libx264 -preset veryfast -bf 3 -g 48 -c:a copy", "mkv"),
    "ffmpeg-x264-open": ("-c:v libx264 -preset veryfast -bf 2 -g 25 -x264-params open-gop=1 -c:a copy",
                         "mkv"),
    "ffmpeg-x264-ts": ("-c:v libx264 -preset veryfast -bf 2 -g 48 -c:a copy", "ts"),
    "ffmpeg-mpeg2-ts": ("-c:v mpeg2video -bf 2 -b:v 200k -c:a copy", "ts"),
    "ffmpeg-dnxhd-mov": ("-c:v dnxhd -profile:v dnxhr_lb -vf scale=256:120 -pix_fmt yuv422p -c:a copy",
                         "mov"),
    "ffmpeg-v210-mkv": ("-c:v v210 -vf scale=48:32 -pix_fmt yuv422p10le -c:a copy", "mkv"),
}
PLAYER = {  # writer: stream output of the player, name's end
    "vlc-ts": ("#std{{access=file,mux=ts,dst={path}}}", "ts"),
    "vlc-mp4": ("#std{{access=file,mux=mp4,dst={path}}}", "mp4"),
    "vlc-mkv": ("#std{{access=file,mux=avformat{{mux=matroska}},dst={path}}}", "mkv"),
    "vlc-asf": ("#std{{access=file,mux=asf,dst={path}}}", "asf"),
    "vlc-avi": ("#std{{access=file,mux=avi,dst={path}}}", "avi"),
    "vlc-x264-ts": ("#transcode{{vcodec=h264,venc=x264{{preset=ultrafast,bframes=2}}}}"
                    ":std{{access=file,mux=ts,dst={path}}}", "ts"),
}


class NotMade(Exception):
    """This writer will not make this recording; the reason is its own."""


class Writers:
    def __init__(self, bases, worker, folder):
        self.bases, self.worker, self.folder = bases, worker, folder

    def make(self, case):
        """The files of the recording that the case's truth tells of."""
        name = case["writer"]
        if name.startswith("gst-"):
            return self.gstreamer(case, name)
        if name == "mkvmerge-joined":
            return self.joined(case)
        if name.startswith("mkvmerge"):
            return self.mkvmerge(case)
        source = self.gstreamer(case, case.get("source", "gst-mov"), "source-")[0]
        path = self.folder / f"{case['name']}.{(COPIES | PLAYER)[name][1]}"
        try:
            if name.startswith("ffmpeg"):
                self.copied(source, path, COPIES[name][0], case.get("seek_s", 0))
            else:
                self.played(source, path, PLAYER[name][0])
        finally:
            source.unlink()
        return [path]

    def tracks(self, case):
        """Units and stamps in seconds of every track, in the order in which they are written."""
        dice = random.Random(case["seed"])
        made = []
        for programme in case["programmes"]:
            told = programme["pictures"]
            path, forms = self.bases.pictures(told["base"], told["rate"])
            order = forms["avc"]["shown"]
            if told["base"] == "tiny":  # as long as it takes: its groups of 250 again and again
                order = range(max(len(order), told["slots"]))
            kept = truth.trimmed(told, order)
            shown = truth.picture_stamps(told, kept, dice)
            made.append(("pictures", told, path, forms, decode_order(shown, order[:len(kept)], told)))
            if (told := programme["sound"]) is not None:
                if programme["pictures"]["variable"]:
                    told["ends_s"] = max(shown) + 0.03
                path, forms = self.bases.sound(told["base"])
                samples, rate = SOUND[told["base"]][4:]
                stamps = truth.sound_stamps(told, samples, rate, dice)
                count = len(forms["avc"]["data"])
                units = [(20 + place % (count - 40)) for place in range(len(stamps))]
                lengths = [samples / rate] * len(stamps)
                made.append(("sound", told, path, forms, (units, stamps, stamps, lengths)))
        return made

    def gstreamer(self, case, name, before=""):
        chain, name = ENCODERS.get(name, ("", name))
        mux, form, end = MUXERS[name]
        path = self.folder / f"{before}{case['name']}.{end}"
        more = case.get("mux", "") if not before else ""
        ticks = case.get("timescale", 0)
        if before and name == "gst-mov":  # what is copied has stamps as exact as they can be
            told = case["programmes"][0]["pictures"]
            exact = "/1001" in told["true_rate"] and not told["jitter_ms"]
            ticks = Fraction(told["true_rate"]).numerator if exact else 90000
        line = mux.format(path=path, folder=self.folder, stem=path.stem, more=more)
        made = self.tracks(case)
        lead = max(0, -min(stamps[2][0] or 0 for *_, stamps in made if stamps[2])) + case.get("lead_s", 0)
        jobs = [job_of(kind, base, form, stamps, lead, name)
                for kind, _, base, _, stamps in made]
        for job, (kind, *_) in zip(jobs, made):
            job["chain"] = chain if kind == "pictures" else ""
            job["unfinished"] = bool(case["damage"]) and case["damage"]["kind"] == "unfinished"
        if len(case["programmes"]) > 1:
            line = line.replace("name=m", 'name=m prog-map="program_map,sink_100=1,sink_101=1,'
                                'sink_200=2,sink_201=2"')
            for job, pad in zip(jobs, (100, 101, 200, 201)):
                job["pad"] = f"m.sink_{pad}"
        answer = self.worker.ask({"do": "write", "mux": line, "tracks": jobs, "timescale": ticks})
        if answer.get("error"):
            raise NotMade(f"{name}: {answer['error']}")
        if "split" in name:
            return sorted(self.folder.glob(f"{path.stem}-*.{end}"))
        return [path]

    def copied(self, source, path, words, seek_s):
        """A copy that is cut in begins at the key picture before, and hides what is too early."""
        try:
            ffmpeg(*(["-ss", seek_s] if seek_s else []), "-i", source, "-fps_mode", "passthrough",
                   "-enc_time_base", "-1", *words.split(), path)
        except RuntimeError as error:
            raise NotMade(str(error)) from error

    def played(self, source, path, output):
        """The player refuses to run as root: it is given to nobody."""
        self.folder.chmod(0o777)
        source.chmod(0o644)
        command = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups", "env",
                   f"HOME={self.folder}", "cvlc", "-I", "dummy", "-q", "--no-repeat", "--no-loop",
                   "--sout", output.format(path=path), "--sout-keep", str(source), "vlc://quit"]
        try:
            subprocess.run(command, check=False, timeout=60, stdin=subprocess.DEVNULL,
                           stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        except subprocess.TimeoutExpired as error:
            raise NotMade("the player did not end within a minute") from error
        if not path.exists() or path.stat().st_size == 0:
            raise NotMade("the player wrote nothing")

    def mkvmerge(self, case):
        """Elementary streams and files of timestamps, version 2, one line a picture or packet."""
        path = self.folder / f"{case['name']}.mkv"
        command, spare = ["mkvmerge", "-q", "--disable-lacing", "-o", path, *case.get("mux", "").split()], []
        for kind, told, _, forms, stamps in self.tracks(case):
            stream = self.stream(f"{case['name']}-{kind}", kind, told, forms, stamps)
            listed = stream.with_suffix(f".{kind}.txt")
            shown = sorted(stamps[1]) if kind == "pictures" and not told["swapped"] else stamps[1]
            version = 4 if kind == "pictures" and told["swapped"] else 2
            lines = [f"# timestamp format v{version}", *(f"{at * 1000:.6f}" for at in shown), ""]
            listed.write_text("\n".join(lines), encoding="ascii")
            spare += [stream, listed]
            command += ["--timestamps", f"0:{listed}", stream]
        try:
            done = subprocess.run(list(map(str, command)), check=False, capture_output=True, text=True,
                                  timeout=120)
        finally:
            for each in spare:
                each.unlink(missing_ok=True)
        if done.returncode > 1:
            raise NotMade(f"mkvmerge: {done.stdout[-200:]}")
        if "default_duration_ns" in case:  # a file of timestamps makes mkvmerge state their own rate
            subprocess.run(["mkvpropedit", "-q", path, "--edit", "track:v1", "--set",
                            f"default-duration={case['default_duration_ns']}"], check=True)
        if "split" in case["writer"]:
            return sorted(self.folder.glob(f"{case['name']}-[0-9]*.mkv"))
        return [path]

    def joined(self, case):
        """Split into files, and these put one behind the other again."""
        parts = self.mkvmerge(case | {"writer": "mkvmerge-split", "mux": "--split duration:6s"})
        path = self.folder / f"{case['name']}.mkv"
        command = ["mkvmerge", "-q", "-o", path, parts[0], *(f"+{part}" for part in parts[1:])]
        done = subprocess.run(list(map(str, command)), check=False, capture_output=True, text=True)
        for part in parts:
            part.unlink()
        if done.returncode > 1:
            raise NotMade(f"mkvmerge: {done.stdout[-200:]}")
        return [path]

    def stream(self, name, kind, told, forms, stamps):
        """One track as mkvmerge takes it: by itself, whole, without stamps that matter."""
        codec = (PICTURES if kind == "pictures" else SOUND)[told["base"]][0]
        units = forms["bytes" if "bytes" in forms else "avc"]["data"]
        data = [units[place] for place in stamps[0]]
        stem = self.folder / name
        if codec in ("h264", "hevc", "mpeg2video", "aac", "mp3"):
            path = stem.with_suffix({"mpeg2video": ".m2v"}.get(codec, f".{codec}"))
            path.write_bytes(b"".join(data))
        elif codec in ("vp9", "av1"):
            path = stem.with_suffix(".ivf")
            path.write_bytes(ivf(codec, data, told["rate"]))
        else:
            path = stem.with_suffix(".mkv" if kind == "sound" else ".mov")
            even = [place / 50 for place in range(len(data))]
            job = job_of(kind, self.bases.folder / units_name(told, kind), "avc",
                         (stamps[0], even, even, [1 / 50] * len(data)), 0, "gst-mkv")
            line = ("matroskamux" if kind == "sound" else "qtmux") + f" name=m ! filesink location={path}"
            answer = self.worker.ask({"do": "write", "mux": line, "tracks": [job]})
            if answer.get("error"):
                path.unlink(missing_ok=True)
                raise NotMade(answer["error"])
        return path


def units_name(told, kind):
    if kind == "sound":
        return f"{told['base']}.units"
    return f"{told['base']}-{told['rate'].replace('/', '_')}.units"


def decode_order(shown, order, told):
    """Unit, presentation and decoding stamp and length of every picture, as an encoder gives them out."""
    beat = 1 / float(Fraction(told["true_rate"]))
    depth = max((where - place for where, place in enumerate(order)), default=0)
    ahead = sorted(shown)
    pts = [shown[place] for place in order]
    if told["swapped"]:  # no decoding times: what a chain without them hands over
        return list(range(len(order))), pts, [None] * len(order), [beat] * len(order)
    dts = [ahead[place - depth] if place >= depth else ahead[0] - (depth - place) * beat
           for place in range(len(order))]
    units = [place % 2000 for place in range(len(order))] if told["base"] == "tiny" else range(len(order))
    return list(units), pts, dts, [beat] * len(order)


def job_of(kind, base, form, stamps, lead, writer):
    units, pts, dts, lengths = stamps
    pad = {"pictures": "m.video_%u", "sound": "m.audio_%u"}[kind]
    if writer.startswith("gst-ts"):
        pad = "m."
    elif writer.startswith("gst-flv"):
        pad = {"pictures": "m.video", "sound": "m.audio"}[kind]
    elif writer.startswith(("gst-hls", "gst-split")):
        pad = {"pictures": "m.video", "sound": "m.audio_%u" if "split" in writer else "m.audio"}[kind]
    return {"base": str(base), "form": form, "pad": pad, "units": units,
            "pts": [round((at + lead) * SECOND) for at in pts],
            "dts": [None if at is None else round((at + lead) * SECOND) for at in dts],
            "lengths": [round(each * SECOND) for each in lengths]}


def ivf(codec, data, rate):
    rate = Fraction(rate)
    if codec == "av1":  # a file of this kind has the temporal delimiters that other containers leave out
        data = [unit if unit.startswith(b"\x12\x00") else b"\x12\x00" + unit for unit in data]
    head = struct.pack("<4sHH4sHHIIII", b"DKIF", 0, 32, {"vp9": b"VP90", "av1": b"AV01"}[codec], 96, 64,
                       rate.numerator, rate.denominator, len(data), 0)
    return head + b"".join(struct.pack("<IQ", len(unit), place) + unit
                           for place, unit in enumerate(data))
