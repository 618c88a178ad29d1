# SPDX-License-Identifier: Apache-2.0
"""The plan: which recordings are made, and what is true of each of them. The same seed, the same plan."""

import random

import truth
from truth import RATES, losses, pictures, sound

H264 = ("h264-plain", "h264-b2", "h264-b3-pyramid", "h264-open")
TAKES = {  # writer: pictures and sound that it takes
    "gst-mp4": ((*H264, "hevc-b", "av1"), ("aac", "aac-44k", "opus", "mp3")),
    "gst-mp4-fragmented": ((*H264, "hevc-b"), ("aac", "opus")),
    "gst-mp4-robust": ((*H264, "hevc-b"), ("aac",)),
    "gst-mov": ((*H264, "hevc-b", "mjpeg", "prores", "v210"), ("aac", "pcm")),
    "gst-mkv": ((*H264, "hevc-b", "av1", "vp9", "mpeg2-b", "mjpeg"),
                ("aac", "aac-44k", "opus", "mp3", "pcm")),
    "gst-mkv-streamable": ((*H264, "hevc-b", "vp9"), ("aac", "opus")),
    "gst-ts": ((*H264, "hevc-b", "mpeg2-b"), ("aac", "opus", "mp3")),
    "gst-flv": (H264, ("aac", "aac-44k", "mp3-44k")),
    "gst-flv-live": (H264, ("aac", "aac-44k")),
    "gst-avi": (("mjpeg", "h264-plain"), ("pcm", "mp3")),
    "gst-ogg": (("theora",), ("opus",)),
    "gst-hls": (("h264-plain", "h264-b2"), ("aac",)),
    "gst-x264-mp4": (("raw",), ("aac", "opus")),
    "gst-x264-mkv": (("raw",), ("aac", "pcm")),
    "gst-x264-ts": (("raw",), ("aac", "mp3")),
    "gst-x264-flv": (("raw",), ("aac",)),
    "gst-split-mp4": (("h264-plain", "h264-b2"), ("aac",)),
    "gst-split-mkv": (("h264-plain", "h264-b2"), ("aac", "opus")),
    "mkvmerge": ((*H264, "hevc-b", "av1", "vp9", "mpeg2-b", "mjpeg", "prores"),
                 ("aac", "opus", "mp3", "pcm")),
    "ffmpeg-mp4": ((*H264, "hevc-b"), ("aac",)),
    "ffmpeg-mp4-fragmented": ((*H264, "hevc-b"), ("aac",)),
    "ffmpeg-mp4-negative": (H264[1:], ("aac",)),
    "ffmpeg-mp4-no-edits": (H264[1:], ("aac",)),
    "ffmpeg-mp4-90000": ((*H264, "hevc-b"), ("aac",)),
    "ffmpeg-mkv": ((*H264, "hevc-b", "prores"), ("aac", "pcm")),
    "ffmpeg-ts": (H264, ("aac",)),
    "ffmpeg-flv": (H264, ("aac",)),
    "ffmpeg-asf": (("h264-plain", "mjpeg"), ("aac",)),
    "ffmpeg-avi": (("h264-plain", "mjpeg"), ("pcm",)),
    "ffmpeg-nut": ((*H264, "mjpeg"), ("aac", "pcm")),
    "ffmpeg-x264-mp4": (("mjpeg",), ("aac",)),
    "ffmpeg-x264-mkv": (("mjpeg",), ("aac", "pcm")),
    "ffmpeg-x264-open": (("mjpeg",), ("aac",)),
    "ffmpeg-x264-ts": (("mjpeg",), ("aac",)),
    "ffmpeg-dnxhd-mov": (("mjpeg",), ("aac", "pcm")),
    "ffmpeg-v210-mkv": (("mjpeg",), ("pcm",)),
    "vlc-ts": (("h264-plain", "h264-b2"), ("aac",)),
    "vlc-mp4": (("h264-plain", "h264-b2"), ("aac",)),
    "vlc-mkv": (("h264-plain", "h264-b2"), ("aac",)),
    "vlc-asf": (("h264-plain",), ("aac",)),
    "vlc-avi": (("h264-plain",), ("aac",)),
    "vlc-x264-ts": (("h264-plain",), ("aac",)),
}
SHAPES = ("none", "single", "scattered", "bursts", "even", "beginning", "end", "hole")
MOST = {"prores": 390, "v210": 390, "av1": 690, "vp9": 690, "theora": 1400, "raw": 990}  # pictures of a base
MAIN = ("gst-mp4", "gst-mp4-fragmented", "gst-mov", "gst-mkv", "gst-ts", "gst-flv", "mkvmerge",
        "ffmpeg-mp4")


class Plan:
    def __init__(self, seed):
        self.dice, self.cases = random.Random(seed), []

    def add(self, family, writer, programmes, **more):
        if not isinstance(programmes, list):
            programmes = [programmes]
        name = f"{len(self.cases):04d}-{family}-{writer}".replace(" ", "-")
        self.cases.append({"name": name, "family": family, "writer": writer,
                           "seed": self.dice.randrange(1 << 30), "programmes": programmes,
                           "pattern": None, "damage": None, **more})
        return self.cases[-1]

    def one(self, writer, base=None, heard=None, rate=None, shape="none", seconds=None, **more):
        """A programme for the writer: what is not said is drawn."""
        dice = self.dice
        bases, sounds = TAKES[writer]
        base = base or dice.choice(bases)
        rate = rate or dice.choice(RATES)
        if base == "theora" and rate == RATES[-1]:  # its parser ends in a fault at empty packets
            rate = "60"
        beat = float(truth.Fraction(rate))
        slots = round(beat * (seconds or dice.uniform(24, 40)))
        if base != "tiny":
            slots = min(slots, MOST.get(base, 1480))
        shown = pictures(base, rate, slots, losses(dice, shape, slots, rate), **more)
        return {"pictures": shown, "sound": sound(heard or dice.choice(sounds), 0, slots / beat)}


def losses_everywhere(plan):
    for writer in TAKES:
        for shape in SHAPES:
            case = plan.add("losses", writer, plan.one(writer, shape=shape), pattern=shape)
            if writer.startswith("vlc"):  # of what it reads from MP4 with an index it moves the stamps
                case["source"] = "gst-mkv" if len(plan.cases) % 2 else "gst-ts"
            if writer == "ffmpeg-mp4-no-edits":  # makes up for a late start by a long first packet
                case["not_asked"] = ["sound"]
            if "split" in writer:  # every file has a clock of its own
                case["programmes"][0]["pictures"]["page_s"] = 0.25
            if writer == "gst-ogg":  # only the last picture of a page has a time
                case["programmes"][0]["pictures"]["page_s"] = 1.0


def holes_in_matroska(plan):
    """A second and more without a picture where the container has no decoding times."""
    for writer in ("gst-mkv", "gst-mkv-streamable", "mkvmerge", "ffmpeg-mkv"):
        for base in (*H264[1:], "hevc-b"):
            for _ in range(2):
                plan.add("hole", writer, plan.one(writer, base, shape="hole"), pattern="hole")


def variable(plan):
    for writer in (*MAIN, "gst-mkv-streamable"):
        for kind, rate in (("grid", "60"), ("cadence", "60"), ("halved", "30"), ("wanders", "30")):
            plan.add("variable", writer, plan.one(writer, "h264-plain", rate=rate, variable=kind))


def jitter(plan):
    for most in (1, 2, 4, 8):
        for writer in ("gst-mkv", "gst-ts", "gst-mp4", "gst-flv", "mkvmerge", "ffmpeg-mkv"):
            for shape in ("none", plan.dice.choice(("scattered", "bursts"))):
                rate = plan.dice.choice(("24", "25", "30000/1001", "30") if most > 4 else RATES[:-1])
                heard = "aac" if "ts" not in writer else plan.dice.choice(("aac", "mp3"))
                programme = plan.one(writer, plan.dice.choice(H264[:2]), heard, rate, shape,
                                     jitter_ms=most)
                programme["sound"]["jitter_ms"] = most
                plan.add("jitter", writer, programme, pattern=shape)


def time_bases(plan):
    for ticks in (100, 1000, 90000):
        for rate in RATES[:8]:
            shape = plan.dice.choice(("none", "scattered", "bursts"))
            plan.add("time base", "gst-mp4", plan.one("gst-mp4", "h264-plain", rate=rate, shape=shape),
                     pattern=shape, timescale=ticks)
    for rate in ("24000/1001", "30000/1001", "60000/1001", "120000/1001"):
        plan.add("time base", "gst-mkv", plan.one("gst-mkv", "h264-b2", rate=rate, shape="scattered"),
                 pattern="scattered", mux="timecodescale=10000000")


def apart(plan):
    """Tracks that do not start and stop together."""
    for writer in (*MAIN, "ffmpeg-mkv", "gst-mkv-streamable"):
        heard = "aac"
        for kind in ("sound late", "sound ends early", "pictures late", "pictures end early"):
            one = plan.one(writer, "tiny", heard, "25", seconds=90)
            if kind == "sound late":
                one["sound"]["begins_s"] = 30
            elif kind == "sound ends early":
                one["sound"]["ends_s"] = 60
            elif kind == "pictures late":
                one["pictures"]["begins_s"] = 20
                one["sound"]["ends_s"] = 110
            else:
                one["sound"]["ends_s"] = 110
            plan.add("apart", writer, one, apart=kind)


def drift(plan, long):
    """The clock of the sound against that of the pictures, over minutes and over an hour."""
    heard = {"gst-flv": "aac", "gst-flv-live": "aac", "gst-mov": "pcm8k", "ffmpeg-mp4": "aac",
             "gst-mp4-fragmented": "aac"}
    for writer in ("gst-mkv", "gst-mp4", "gst-ts", "gst-flv", "gst-mov", "gst-flv-live",
                   "gst-mp4-fragmented", "ffmpeg-mp4"):
        for ppm in (0, -20, 20, 50, -50, 100, -100, 300, 500, -500):
            rate = plan.dice.choice(("24000/1001", "25", "30000/1001", "30"))
            minutes = plan.dice.choice((1, 2, 5))
            name = "aac" if abs(ppm) >= 300 else heard.get(writer) or plan.dice.choice(("opus", "aac"))
            one = plan.one(writer, "tiny", name, rate, seconds=60 * minutes,
                           shape=plan.dice.choice(("none", "bursts")))
            one["sound"]["ppm"] = ppm  # and it stops a little before or after the pictures
            one["sound"]["ends_s"] += plan.dice.choice((0, 0, 0.15, -0.2, 0.6))
            plan.add("drift", writer, one)
    if not long:
        return
    for writer in ("gst-mkv", "gst-mp4", "gst-ts", "gst-flv", "mkvmerge"):
        for ppm in (0, -50, 50, 80, -500):
            name = "opus60" if ppm == 80 and writer != "gst-flv" else "aac"
            one = plan.one(writer, "tiny", name,
                           plan.dice.choice(("24000/1001", "25", "30")), seconds=3600)
            one["sound"].update(ppm=ppm, jitter_ms=plan.dice.choice((0, 0, 3)))
            plan.add("hour", writer, one)


def long_silence(plan):
    """Eleven minutes without pictures while the sound goes on."""
    for writer in (*MAIN, "gst-flv-live", "ffmpeg-mkv"):
        one = plan.one(writer, "tiny", "aac", "25", seconds=720)
        one["pictures"]["removed"] = [[25 * 30, 25 * 660]]
        plan.add("eleven minutes", writer, one, pattern="hole")


def halves(plan):
    for writer in (*MAIN, "gst-mkv-streamable", "ffmpeg-mkv"):
        more = {"default_duration_ns": 16666667} if writer == "mkvmerge" else {}
        plan.add("every second", writer, plan.one(writer, "h264-plain", rate="60", shape="second"),
                 pattern="second", **more)  # elsewhere the codec's own headers say 60


def repeats(plan):
    for writer, base in (("gst-mkv", "h264-plain"), ("gst-mkv", "mjpeg"), ("mkvmerge", "h264-plain"),
                         ("gst-ts", "h264-plain"), ("gst-mp4", "h264-plain"), ("gst-mov", "mjpeg"),
                         ("gst-flv", "h264-plain")):
        for shape in ("none", "bursts"):
            one = plan.one(writer, base, rate="25", shape=shape)
            near = {first + place for first, count in one["pictures"]["removed"]
                    for place in range(-25, count + 25)}  # a repeat beside a hole may be a late one
            one["pictures"]["doubled"] = [first for first, _ in losses(
                plan.dice, "scattered", one["pictures"]["slots"], "25") if first not in near]
            plan.add("repeated", writer, one, pattern=shape)
    for writer in ("gst-mkv", "mkvmerge"):
        for _ in range(3):
            one = plan.one(writer, "mjpeg", rate="25")
            one["pictures"]["swapped"] = [first for first, _ in losses(
                plan.dice, "scattered", one["pictures"]["slots"], "25")][::2]
            plan.add("order", writer, one)


def transport(plan):
    for shape in ("none", "bursts", "hole", "scattered"):
        two = [plan.one("gst-ts", "h264-plain", "aac", "25", shape, 30),
               plan.one("gst-ts", "h264-b2", "aac", "50", "none", 30)]
        late = plan.dice.choice((0.25, 0.5, 0.75))
        two[1]["pictures"]["begins_s"] = two[1]["sound"]["begins_s"] = late
        two[1]["sound"]["ends_s"] += late
        plan.add("two programmes", "gst-ts", two, pattern=shape)
        plan.add("wrap", "gst-ts", plan.one("gst-ts", "h264-b2", "aac", shape=shape, seconds=30),
                 pattern=shape, lead_s=(1 << 33) / 90000 - 12)
        plan.add("discontinuity", "gst-ts", plan.one("gst-ts", "h264-b2", "aac", "25", shape, 20),
                 damage={"kind": "later part", "lead_s": plan.dice.choice((5, 300, 4000))})


def sound_holes(plan):
    for writer in (*MAIN, "gst-mkv-streamable", "gst-flv-live"):
        for count in (1, 3):
            heard = next(each for each in TAKES[writer][1] if each != "pcm")
            one = plan.one(writer, "h264-plain", heard, "25", seconds=40)
            one["sound"]["holes"] = [[7.0 + 9 * place, plan.dice.choice((0.2, 0.5, 2.0))]
                                     for place in range(count)]
            plan.add("sound holes", writer, one)


def odd_rates(plan):
    for writer in MAIN:
        for true_rate in ("25015/1000", "24990/1000", "30010/1000"):
            rate = "30" if true_rate.startswith("30") else "25"
            one = plan.one(writer, "tiny", "aac", rate, seconds=240, true_rate=true_rate)
            one["sound"]["ends_s"] = truth.length_of(one["pictures"])
            plan.add("odd rate", writer, one)


def pieces(plan):
    """Split and joined by mkvmerge; cut out by a copy that leaves an edit list; a first part left out."""
    for base in ("h264-plain", "h264-b2", "hevc-b", "vp9"):
        for shape in ("none", "bursts"):
            plan.add("split", "mkvmerge-split", plan.one("mkvmerge", base, "aac", "25", shape, 27),
                     pattern=shape, mux="--split duration:6s", not_asked=["sound"])
            plan.add("joined", "mkvmerge-joined", plan.one("mkvmerge", base, "aac", "25", shape, 27),
                     pattern=shape, not_asked=["sound"])  # a part's sound may end before its pictures
    for writer in ("ffmpeg-mp4", "ffmpeg-mkv", "ffmpeg-ts", "ffmpeg-mp4-negative"):
        for base in H264:
            plan.add("edit list", writer, plan.one(writer, base, "aac"), pattern="none",
                     seek_s=round(plan.dice.uniform(1, 9), 3))


def unfinished(plan):
    """The writer ends without a word, as when its program is killed."""
    for writer in ("gst-mp4", "gst-mp4-fragmented", "gst-mp4-robust", "gst-mkv", "gst-ts", "gst-flv",
                   "gst-avi", "gst-ogg"):
        base = "h264-b2" if "h264-b2" in TAKES[writer][0] else TAKES[writer][0][0]
        plan.add("damage", writer, plan.one(writer, base, rate="25", seconds=20),
                 damage={"kind": "unfinished"})


def damages(plan):
    writers = ("gst-mp4", "gst-mp4-fragmented", "gst-mp4-robust", "gst-mov", "gst-mkv",
               "gst-mkv-streamable", "gst-ts", "gst-flv", "gst-avi", "gst-ogg", "ffmpeg-asf", "mkvmerge",
               "ffmpeg-avi")
    for writer in writers:
        for kind in ("cut", "zeroed", "flipped", "part twice", "appended"):
            if writer.endswith("ogg") or kind != "flipped" or plan.dice.random() < 0.8:
                base = "h264-b2" if "h264-b2" in TAKES[writer][0] else TAKES[writer][0][0]
                plan.add("damage", writer, plan.one(writer, base, rate="25", seconds=30),
                         damage={"kind": kind, "share": plan.dice.uniform(0.4, 0.8)})


def whole_plan(seed, long=True):
    plan = Plan(seed)
    losses_everywhere(plan)
    holes_in_matroska(plan)
    variable(plan)
    jitter(plan)
    time_bases(plan)
    apart(plan)
    drift(plan, long)
    long_silence(plan)
    halves(plan)
    repeats(plan)
    transport(plan)
    sound_holes(plan)
    odd_rates(plan)
    damages(plan)
    pieces(plan)
    unfinished(plan)
    return plan.cases


def quick_plan(seed, count=64, player=False):
    """Every family and every writer are in it; an hour, and the player unless it is asked for, are not."""
    cases = [case for case in whole_plan(seed, long=False)
             if player or not case["writer"].startswith("vlc")]
    families, writers = {}, {}
    for case in cases:
        families.setdefault(case["family"], []).append(case)
        writers.setdefault(case["writer"], []).append(case)
    dice = random.Random(seed)
    taken = {}
    for group in (*writers.values(), *families.values()):
        case = dice.choice(group)
        taken[case["name"]] = case
    for case in dice.sample(cases, len(cases)):
        if len(taken) >= count:
            break
        taken[case["name"]] = case
    return [taken[name] for name in sorted(taken)]
