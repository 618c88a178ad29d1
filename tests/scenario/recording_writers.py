# SPDX-License-Identifier: Apache-2.0
"""The writers that record in the blind trial: general-purpose programs with their own encoders and muxers.
Each reads the camera's Matroska from standard input and keeps its stamps; none repeats a picture.

Left out: AVI, whose pictures have no stamps of their own, so that nothing tells which are missing; and
VLC's fragmented MP4, whose stamps VLC writes wrong."""

import dataclasses
import shutil

KBPS = 3000
NOBODY = 65534  # VLC refuses to run as root

# Pictures that wait before the encoder of GStreamer's writers, as long as the camera's own places.
QUEUE = "queue leaky=downstream max-size-buffers=8 max-size-bytes=0 max-size-time=0"


@dataclasses.dataclass(frozen=True)
class Writer:
    """`program` is the process's name, `stamp_ms` the step of its stamps (0: finer than a millisecond).
    All finish their file at the end of the input; `interrupted` says what SIGINT does."""
    name: str
    program: str
    end: str
    encoder: str
    mux: str
    interrupted: str
    stamp_ms: float = 0
    streams: bool = False  # can write to a pipe or a socket, which do not seek
    readable_unfinished: bool = True
    reorders: bool = False
    leaks: bool = False  # loses pictures in its own queue, and tells which passed
    shift: int = 0  # pictures by which its stamps after the first are too early

    @property
    def line(self):
        return {"ffmpeg": ffmpeg, "gst-launch-1.0": gstreamer, "vlc": vlc}[self.program]

    def missing(self):
        """What this PC lacks for it."""
        return "" if shutil.which(self.program) else f"no {self.program}"


def ffmpeg(writer, sink, _home):
    where = {"file": sink.path, "pipe": "-", "tcp": f"tcp://127.0.0.1:{sink.port}"}[sink.kind]
    line = (f"ffmpeg -nostdin -v error -y -f matroska -i pipe:0 -fps_mode passthrough {writer.encoder} "
            f"-flush_packets 1 {writer.mux} {where}")
    return f"{line} | {sink.taker}" if sink.kind == "pipe" else line


def gstreamer(writer, sink, _home):
    where = {"file": f"filesink buffer-mode=unbuffered location={sink.path}", "pipe": "fdsink fd=3",
             "tcp": f"tcpclientsink sync=false host=127.0.0.1 port={sink.port}"}[sink.kind]
    leak = QUEUE if writer.leaks else "queue max-size-buffers=2"
    tells = "identity name=passed silent=false ! " if writer.leaks else ""
    line = (f"gst-launch-1.0 -e {'-v' if writer.leaks else '-q'} fdsrc fd=0 ! matroskademux ! {leak} ! "
            f"{tells}{writer.encoder} ! {writer.mux} ! {where}")
    if sink.kind == "pipe":  # what it tells goes past the taker
        return f"{{ {line} 3>&1 >&4 | {sink.taker}; }} 4>&1"
    return line


def vlc(writer, sink, home):
    where = {"file": sink.path, "pipe": "-"}[sink.kind]
    line = (f"setpriv --reuid={NOBODY} --regid={NOBODY} --clear-groups env HOME={home} vlc -I dummy -q "
            f"--sout '#transcode{{{writer.encoder}}}:std{{access=file,mux={writer.mux},dst={where}}}' "
            "fd://0 vlc://quit")
    return f"{line} | {sink.taker}" if sink.kind == "pipe" else line


def with_ffmpeg(name, end, mux, *, encoder="x264", **more):
    rates = f"-b:v {KBPS}k"
    x264 = (f"-c:v libx264 -preset faster -g 50 -threads 2 {rates} -maxrate {KBPS}k "
            f"-bufsize {KBPS // 2}k -bf ")
    encoders = {"x264": x264 + "0", "x264 with B": x264 + "2",
                "x265": "-c:v libx265 -preset ultrafast -x265-params log-level=error:keyint=50:bframes=0:"
                        f"pools=2 {rates}"}
    return Writer("ffmpeg " + name, "ffmpeg", end, encoders[encoder], mux, "finishes its file",
                  reorders=encoder == "x264 with B", **more)


def with_gstreamer(name, end, mux, *, bframes=0, leaks=True, **more):
    encoder = (f"x264enc speed-preset=faster bitrate={KBPS} vbv-buf-capacity=500 key-int-max=50 "
               f"bframes={bframes} threads=2 ! h264parse")
    return Writer("gst " + name, "gst-launch-1.0", end, encoder, mux, "ends the stream, finishes its file",
                  leaks=leaks, reorders=bframes > 0, **more)


def with_vlc(name, end, mux, **more):
    encoder = ("vcodec=h264,venc=x264{preset=faster,bframes=0,keyint=50,"
               f"vbv-maxrate={KBPS},vbv-bufsize={KBPS // 2}}},vb={KBPS},threads=2")
    return Writer("vlc " + name, "vlc", end, encoder, mux, "ends, finishes its file", **more)


FRAGMENTS = "-movflags frag_keyframe+empty_moov+default_base_moof"
TABLE_AT_END = {"readable_unfinished": False}

WRITERS = {each.name: each for each in (
    with_ffmpeg("mkv", "mkv", "-f matroska", streams=True, stamp_ms=1),
    with_ffmpeg("mkv B", "mkv", "-f matroska", streams=True, stamp_ms=1, encoder="x264 with B"),
    with_ffmpeg("mkv HEVC", "mkv", "-f matroska", streams=True, stamp_ms=1, encoder="x265"),
    with_ffmpeg("mp4", "mp4", "-f mp4", **TABLE_AT_END),
    with_ffmpeg("mp4 fragments", "mp4", f"-f mp4 {FRAGMENTS}", streams=True),
    with_ffmpeg("mov", "mov", "-f mov", encoder="x264 with B", **TABLE_AT_END),
    with_ffmpeg("ts", "ts", "-f mpegts", streams=True),
    with_ffmpeg("flv", "flv", "-f flv", streams=True, stamp_ms=1),
    with_ffmpeg("nut", "nut", "-f nut", streams=True),
    with_gstreamer("mkv", "mkv", "matroskamux", stamp_ms=1),
    with_gstreamer("mkv streamable", "mkv", "matroskamux streamable=true", streams=True, stamp_ms=1),
    with_gstreamer("mp4", "mp4", "mp4mux", **TABLE_AT_END),
    with_gstreamer("mp4 fragments", "mp4", "mp4mux fragment-duration=1000", bframes=2),
    with_gstreamer("mov", "mov", "qtmux", **TABLE_AT_END),
    with_gstreamer("ts", "ts", "mpegtsmux", streams=True),
    with_gstreamer("ts blocking", "ts", "mpegtsmux", streams=True, leaks=False, bframes=2),
    with_gstreamer("flv", "flv", "flvmux streamable=true", streams=True, stamp_ms=1),
    with_vlc("ts", "ts", "ts", streams=True),
    with_vlc("mp4", "mp4", "mp4", shift=1, **TABLE_AT_END),
    with_vlc("mkv", "mkv", "avformat{mux=matroska}", stamp_ms=1),
)}
