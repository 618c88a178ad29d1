# SPDX-License-Identifier: Apache-2.0
"""Splits base streams into access units, and writes recordings with GStreamer's muxers.

Runs as a process of its own, under a Python that has GStreamer's bindings: one JSON object a line on
standard input is a job, one JSON object a line on standard output is its answer. Every stamp comes
with the job, to the nanosecond; what a muxer makes of it is the muxer's own doing.
"""

import json
import pathlib
import pickle
import sys
import time

import gi

gi.require_version("Gst", "1.0")
gi.require_version("GstApp", "1.0")
from gi.repository import Gst, GstApp  # noqa: E402,F401 pylint: disable=C0413,W0611

PARSERS = {"h264": "h264parse", "hevc": "h265parse", "av1": "av1parse", "vp9": "vp9parse",
           "mpeg2video": "mpegvideoparse", "mjpeg": "jpegparse", "aac": "aacparse",
           "opus": "opusparse", "theora": "theoraparse", "mp3": "mpegaudioparse"}
FORMS = {  # codec: name of the form, caps after the parser
    "h264": {"avc": "video/x-h264,stream-format=avc,alignment=au",
             "bytes": "video/x-h264,stream-format=byte-stream,alignment=au"},
    "hevc": {"avc": "video/x-h265,stream-format=hvc1,alignment=au",
             "bytes": "video/x-h265,stream-format=byte-stream,alignment=au"},
    "av1": {"avc": "video/x-av1,stream-format=obu-stream,alignment=tu"},
    "vp9": {"avc": "video/x-vp9,alignment=super-frame"},
    "aac": {"avc": "audio/mpeg,mpegversion=4,stream-format=raw",
            "bytes": "audio/mpeg,mpegversion=4,stream-format=adts"},
}
WAIT = 60 * Gst.SECOND


def wait_end(pipeline):
    """The pipeline's own word for how it ended: nothing, or its error."""
    bus = pipeline.get_bus()
    message = bus.timed_pop_filtered(WAIT, Gst.MessageType.EOS | Gst.MessageType.ERROR)
    pipeline.set_state(Gst.State.NULL)
    if message is None:
        return "no end within a minute"
    return "" if message.type == Gst.MessageType.EOS else message.parse_error()[0].message


def units_of(path, demuxer, chain, caps):
    """Caps and the access units (bytes, presentation stamp, whether a key picture) of one track."""
    pipeline = Gst.parse_launch(
        f"filesrc location={path} ! {demuxer} ! {chain} appsink name=sink sync=false")
    sink = pipeline.get_by_name("sink")
    if caps:
        sink.set_property("caps", Gst.Caps.from_string(caps))
    pipeline.set_state(Gst.State.PLAYING)
    units, told = [], ""
    while True:
        sample = sink.emit("try-pull-sample", 10 * Gst.SECOND)
        if sample is None:
            break
        buffer = sample.get_buffer()
        told = sample.get_caps().to_string()
        if buffer.pts == Gst.CLOCK_TIME_NONE:  # a header that the caps hold as well
            continue
        units.append((buffer.extract_dup(0, buffer.get_size()), buffer.pts,
                      not buffer.has_flags(Gst.BufferFlags.DELTA_UNIT)))
    pipeline.set_state(Gst.State.NULL)
    return told, units


def load(job):
    """Takes a base file apart; the answer lies pickled beside it."""
    path, codec = pathlib.Path(job["path"]), job["codec"]
    parser = f"{PARSERS[codec]} !" if codec in PARSERS else ""
    forms = {}
    for name, caps in FORMS.get(codec, {"avc": None}).items():
        told, units = units_of(path, job["demuxer"], parser, caps)
        if not units:
            return {"error": f"no units in {path}"}
        order = {stamp: place for place, stamp in enumerate(sorted(unit[1] for unit in units))}
        forms[name] = {"caps": told, "data": [unit[0] for unit in units],
                       "shown": [order[unit[1]] for unit in units],
                       "key": [unit[2] for unit in units]}
    pathlib.Path(job["into"]).write_bytes(pickle.dumps(forms))
    return {"units": len(forms["avc"]["data"]), "caps": told}


BASES = {}


def base(path, form):
    if path not in BASES:
        BASES[path] = pickle.loads(pathlib.Path(path).read_bytes())
    forms = BASES[path]
    return forms[form if form in forms else "avc"]


def feed(source, track):
    """All units of a track with their stamps, into a source that takes them as fast as it can."""
    units = base(track["base"], track["form"])
    source.set_property("caps", Gst.Caps.from_string(track.get("caps") or units["caps"]))
    yield None
    for place, (unit, pts, dts, length) in enumerate(
            zip(track["units"], track["pts"], track["dts"], track["lengths"])):
        buffer = Gst.Buffer.new_wrapped(units["data"][unit])
        buffer.pts, buffer.duration = pts, length
        buffer.dts = Gst.CLOCK_TIME_NONE if dts is None else dts
        if not units["key"][unit]:
            buffer.set_flags(Gst.BufferFlags.DELTA_UNIT)
        if place == 0:
            buffer.set_flags(Gst.BufferFlags.DISCONT)
        source.emit("push-buffer", buffer)
        yield pts if dts is None else dts
    if not track.get("unfinished"):
        source.emit("end-of-stream")


def write(job):
    """One recording: sources in the order of their stamps, as a live chain hands them over."""
    sources = []
    line = job["mux"]
    for place, track in enumerate(job["tracks"]):
        chain = track.get("chain", "")
        line += (f" appsrc name=s{place} format=time max-bytes=0 block=false ! {chain}"
                 f"queue max-size-time=0 max-size-bytes=0 max-size-buffers=0 ! {track['pad']}")
    pipeline = Gst.parse_launch(line)
    for place in range(len(job["tracks"])):
        sources.append(pipeline.get_by_name(f"s{place}"))
    if job.get("timescale"):  # ticks a second of the pictures; the sound keeps its sample rate
        for pad in pipeline.get_by_name("m").sinkpads:
            if pad.get_name().startswith("video"):
                pad.set_property("trak-timescale", job["timescale"])
    feeds = [feed(*pair) for pair in zip(sources, job["tracks"])]
    heads = {place: next(each) or -1 for place, each in enumerate(feeds)}
    pipeline.set_state(Gst.State.PLAYING)
    while heads:
        place = min(heads, key=heads.get)
        try:
            heads[place] = next(feeds[place])
        except StopIteration:
            del heads[place]
    if any(track.get("unfinished") for track in job["tracks"]):
        for source in sources:  # all that was handed over is written, the end is not
            while source.get_property("current-level-buffers") and not failed(pipeline):
                time.sleep(0.01)
        time.sleep(0.2)
        pipeline.set_state(Gst.State.NULL)
        return {"error": ""}
    return {"error": wait_end(pipeline)}


def failed(pipeline):
    return pipeline.get_bus().have_pending() and pipeline.get_bus().pop_filtered(Gst.MessageType.ERROR)


def main():
    Gst.init(None)
    for line in sys.stdin:
        job = json.loads(line)
        try:
            answer = load(job) if job["do"] == "load" else write(job)
        except Exception as error:  # a job that fails is an answer, the next one still runs
            answer = {"error": f"{type(error).__name__}: {error}"}
        print(json.dumps(answer), flush=True)


main()
