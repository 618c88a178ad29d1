# SPDX-License-Identifier: Apache-2.0
"""Inputs from which a fuzz target begins: python3 make_seeds.py KIND FOLDER FIXTURES."""

import io
import json
import pathlib
import struct
import sys
import tarfile

SOURCE = pathlib.Path(__file__).resolve().parents[2]


def descriptors(fixtures):
    """Descriptors of the stored machines, with each of the three speeds in front."""
    blobs = sorted({path.read_bytes() for path in fixtures.rglob("descriptors") if path.is_file()})
    return [bytes([speed]) + blob for blob in blobs for speed in range(3)]


def capabilities(_fixtures):
    """A BOS with every capability that is taken apart: USB 3.2, 9.6.2."""
    parts = [
        bytes([7, 0x10, 2, 6, 0, 0, 0]),
        bytes([10, 0x10, 3, 0, 0x0e, 0, 1, 10, 0xff, 7]),
        bytes([20, 0x10, 4, 0]) + bytes(range(16)),
        bytes([20, 0x10, 5, 0]) + bytes(range(16)),
        bytes([20, 0x10, 0x0a, 0, 1, 0, 0, 0, 0, 0x11, 0, 0, 0x30, 0x40, 10, 0, 0xb0, 0x40, 10, 0]),
        bytes([48, 0x10, 0x0d, 0, 1, 0, 0, 0, 2]) + bytes(39),
    ]
    whole = b"".join(parts)
    return [bytes([5, 0x0f, len(some) + 5, 0, count]) + some
            for some, count in [(whole, len(parts))] + [(part, 1) for part in parts]]


def archives(_fixtures):
    """Plain, gzip and xz archives as they are (0 in front), and entries described by bytes (1)."""
    seeds = []
    for mode in ("w", "w:gz", "w:bz2", "w:xz"):
        stream = io.BytesIO()
        with tarfile.open(fileobj=stream, mode=mode) as tar:
            for name in ("sys", "sys/class"):
                folder = tarfile.TarInfo(name)
                folder.type = tarfile.DIRTYPE
                tar.addfile(folder)
            link = tarfile.TarInfo("sys/class/a")
            link.type = tarfile.SYMTYPE
            link.linkname = "../devices"
            tar.addfile(link)
            file = tarfile.TarInfo("sys/devices/b")
            file.size = 3
            tar.addfile(file, io.BytesIO(b"12\n"))
        seeds.append(b"\x00" + stream.getvalue())
    # type, parts of the name, parts of the target, no front part, content
    seeds.append(bytes([1, 0, 2, 0, 1, 0, 1, 3, 0, 1]) + b"abc" + bytes([1]))
    seeds.append(bytes([1, 6, 2, 0, 1, 3, 3, 3, 1, 1, 0, 1, 1]))
    return seeds


def memory_tables(_fixtures):
    """SMBIOS (DSP0134 3.7): a structure of another kind, then type 17 of several versions' lengths."""
    strings = b"DIMM_A1\0P0 CHANNEL A\0Example Memory\0SERIAL\0ASSET\0EX-32G\0\0"
    end = b"\x7f\x04\0\0\0\0"

    def module(length, size, kind):
        area = bytearray(length)
        area[:2] = bytes([17, length])
        fields = [("<H", 0x0c, size), ("<BBB", 0x10, 1, 2, kind), ("<H", 0x15, 3200),
                  ("<BBBB", 0x17, 3, 4, 5, 6), ("<I", 0x1c, 65536), ("<H", 0x20, 2666),
                  ("<B", 0x2b, 4), ("<II", 0x54, 6400, 5600)]
        for form, at, *values in fields:
            if at + struct.calcsize(form) <= length:
                struct.pack_into(form, area, at, *values)
        return bytes(area) + strings

    other = bytes([1, 8]) + bytes(6) + b"SYSTEM\0\0"
    modules = [module(length, size, kind) for length in (0x15, 0x1b, 0x22, 0x28, 0x54, 0x5c)
               for size, kind in ((0x4000, 0x1a), (0x7fff, 0x22), (0xffff, 2), (0x8200, 0x12))]
    return [each + end for each in modules] + [other + b"".join(modules) + end, end]


def displays(_fixtures):
    """Blocks of E-EDID with preferred timings (CTA-861-G: VIC 16, 5, 95), texts and a range."""
    def block(timing):
        head = b"\0\xff\xff\xff\xff\xff\xff\0\x31\xd8\x01\0\x78\x56\x34\x12\x28\x21\x01\x03"
        texts = [b"\0\0\0\xff\0SERIAL-4711\n ", b"\0\0\0\xfc\0Example 24  \n",
                 b"\0\0\0\xfd\0\x32\x4b\x1e\x53\x11\0\n      "]
        whole = head + bytes(34) + bytes.fromhex(timing) + b"".join(texts) + b"\x01"
        return whole + bytes([-sum(whole) % 256])
    timings = ("023a801871382d40582c450000000000001e", "011d8018711c1620582c250000000000009e",
               "04740030f2705a80b0588a0000000000001e", "000000100000000000000000000000000000")
    blocks = [block(timing) for timing in timings]
    return blocks + [blocks[0] + bytes(128), blocks[0][:127]]


def disk_healths(_fixtures):
    """NVMe's log (0), ATA's statistics (1), sense data (2), an eMMC's wear (3), captured lines (4)."""
    log = bytearray(512)
    struct.pack_into("<BHBBB", log, 0, 0, 323, 100, 10, 7)
    for at, value in ((32, 1000), (48, 2000), (128, 1234), (160, 3)):
        struct.pack_into("<Q", log, at, value)

    def page(number, *values):
        head = struct.pack("<HBB4x", 1, number, 0)
        return (head + b"".join(struct.pack("<Q", value | 0xc0 << 56) for value in values)).ljust(
            512, b"\0")

    pages = page(1, 5, 8760, 1_000_000, 7) + page(4, 2) + page(5, 0xfe) + page(7, 12)
    senses = [b"\x72\x01\0\x1d\0\0\0\x0e\x09\x0c\0\0\0\0\0\0\0" + mid + b"\0" + high + b"\0\x50"
              for mid, high in ((b"\x4f", b"\xc2"), (b"\xf4", b"\x2c"))]
    lines = b"sda sound=1 temperature_c=-2.5 wear_percent=130 spare_percent=9\nsda written_bytes=12 x=\n"
    return [b"\0" + bytes(log), b"\0" + b"\xff" * 512, b"\x01" + pages, b"\x01" + pages[:700],
            *(b"\x02" + sense for sense in senses), b"\x030x01 0x0b\n", b"\x04" + lines]


def box(kind, *content):
    body = b"".join(content)
    return struct.pack(">I4s", len(body) + 8, kind) + body


def numbers(*values):
    return struct.pack(f">{len(values)}I", *values)


def movie(fragmented):
    """A track of pictures and one of sound (ISO/IEC 14496-12), with tables or with one fragment."""
    tracks = b""
    for number, handler, entry in ((1, b"vide", b"avc1"), (2, b"soun", b"mp4a")):
        count = 0 if fragmented else 10
        tables = box(b"stsd", numbers(0, 1), box(entry, bytes(78))) + box(
            b"stts", numbers(0, 1, count, 40)) + box(b"ctts", numbers(0, 1, count, 40)) + box(
            b"stsz", numbers(0, 100 if number == 2 else 0, count), numbers(*[90] * count)) + box(
            b"stsc", numbers(0, 1, 1, 10, 1)) + box(b"stco", numbers(0, 1, 24))
        tracks += box(
            b"trak", box(b"tkhd", numbers(0, 0, 0, number, 0)),
            box(b"edts", box(b"elst", numbers(0, 1, 240, 40, 0x10000))),
            box(b"mdia", box(b"mdhd", numbers(0, 0, 0, 1000, 0, 0)),
                box(b"hdlr", numbers(0, 0), handler, bytes(13)),
                box(b"minf", box(b"stbl", tables))))
    extends = box(b"mvex", *[box(b"trex", numbers(0, each, 1, 40, 100, 0)) for each in (1, 2)])
    whole = box(b"ftyp", b"isom") + box(b"mdat", bytes(1000)) + box(
        b"moov", box(b"mvhd", numbers(0, 3_878_470_800, 0, 600, 0)), tracks,
        extends if fragmented else b"")
    if fragmented:
        for at in (0, 400):
            whole += box(b"moof", box(b"mfhd", numbers(0, 1)),
                         box(b"traf", box(b"tfhd", numbers(0x020018, 1, 40, 10)),
                             box(b"tfdt", numbers(0, at)), box(b"trun", numbers(0, 10))))
            whole += box(b"mdat", bytes(100))
    return whole


def production_words(_fixtures):
    """Short forms and changes by lines for each starter (even bytes), JSON texts (odd ones)."""
    lines = [b"2x 1920x1080 50 usb nv12 iso", b"1920x1080 25 network h264 8000",
             b"1920x1080 30000/1001 pcie uyvy422 stage iso=9000", b"3x like:Camera 1",
             b"isos.effort=least", b"program.raster=1280x720", b"production.duration_minutes=240",
             b"isos.folder=second-disk", b"multiview=none", b"sources.rate=25",
             b"recordings.bitrate_kbps=12000", b"streams.codec=hevc"]
    added = (b'{"sources": [{"name": "Late", "count": 2, "arrives_by": "usb", "raster": "1280x720",'
             b' "rate": 25, "pixel_format": "nv12", "content": "talk"}], "outputs": [{"name": "Late iso",'
             b' "kind": "iso", "takes": "Late 1", "codec": "h264", "bitrate_kbps": 4000, "encoder": "any",'
             b' "effort": "low", "container": "mkv"}]}')
    return [bytes([2 * i % 12]) + line for i, line in enumerate(lines)] + [
        b"\x00" + b"\n".join(lines[:6]), b"\x02" + b"\n".join(lines[6:]), b"\x01" + added]


def chunk(kind, *content):
    body = b"".join(content)
    return kind + struct.pack("<I", len(body)) + body + bytes(len(body) % 2)


def avi():
    """A track of pictures and one of sound; the second picture is left out."""
    def track(kind, scale, rate, unit, form):
        head = kind + bytes(16) + struct.pack("<IIII", scale, rate, 0, 10) + bytes(8) + struct.pack(
            "<I", unit)
        return chunk(b"LIST", b"strl", chunk(b"strh", head + bytes(8)), chunk(b"strf", form))
    header = chunk(b"LIST", b"hdrl", chunk(b"avih", bytes(56)),
                   track(b"vids", 1, 25, 0, struct.pack("<IIIHH4s", 40, 64, 36, 1, 24, b"MJPG")),
                   track(b"auds", 1, 8000, 2, struct.pack("<HHIIHH", 1, 1, 8000, 16000, 2, 16)))
    content = b"".join(chunk(b"00dc", b"" if i == 1 else bytes(33)) + chunk(b"01wb", bytes(640))
                       for i in range(6))
    return chunk(b"RIFF", b"AVI ", header, chunk(b"JUNK", bytes(5)),
                 chunk(b"LIST", b"movi", content), chunk(b"idx1", bytes(32)))


def element(ident, *content, open_ended=False):
    """EBML (RFC 8794) with a size of eight bytes."""
    body = b"".join(content)
    size = b"\x01" + b"\xff" * 7 if open_ended else struct.pack(">Q", len(body) | 1 << 56)
    return bytes.fromhex(ident) + size + body


def matroska(live):
    """Two tracks, three clusters, groups and laces (RFC 9559)."""
    def block(track, at, flags, content):
        return bytes([track | 0x80]) + struct.pack(">hB", at, flags) + content
    tracks = element("1654AE6B", *(
        element("AE", element("D7", bytes([number])), element("83", bytes([number])),
                element("86", codec), element("23E383", struct.pack(">I", 20_000_000)),
                element("56AA", struct.pack(">I", 6_500_000)))
        for number, codec in ((1, b"V_VP9"), (2, b"A_OPUS"))))
    clusters = [element("1F43B675", element("E7", struct.pack(">I", at)), element("BF", bytes(4)),
                        *(element("A3", block(1, 40 * i, 0x80, b"p" * 9)) for i in range(3)),
                        element("A0", element("A1", block(2, 5, 4, b"\x02" + b"s" * 12)),
                                element("9B", b"\x3c"), element("FB", b"\xff")),
                        element("EC", bytes(7)), open_ended=live) for at in (0, 200, 400)]
    info = element("1549A966", element("2AD7B1", struct.pack(">I", 1_000_000)))
    return element("1A45DFA3", element("4282", b"webm" if live else b"matroska")) + element(
        "18538067", info, tracks, *clusters, element("1C53BB6B", bytes(5)), open_ended=live)


def recordings(_fixtures):
    """Files (0 in front), times of packets (1), lists of files (2), AVI files (3), Matroska (4)."""
    even = struct.pack("<q", 1000) + b"".join(struct.pack("<q", 40) for _ in range(200))
    jumps = struct.pack("<q", 90_000) + b"".join(
        struct.pack("<q", 3001 if i % 50 else 7 << 40) for i in range(200))
    playlist = (b"#EXTM3U\n#EXT-X-MAP:URI=\"i.mp4\"\n"
                b"#EXT-X-PROGRAM-DATE-TIME:2026-11-25T18:00:00.5+01:00\n#EXTINF:4,\na.m4s\n"
                b"#EXT-X-DISCONTINUITY\n#EXT-X-MAP:URI=\"j.mp4\"\n#EXTINF:4,\nb.m4s\n#EXT-X-ENDLIST\n")
    return [b"\x00" + movie(False), b"\x00" + movie(True), b"\x01" + even, b"\x01" + jumps,
            b"\x02" + playlist, b"\x02ffconcat version 1.0\nfile 'a b.mkv'\nfile c\\'d.mkv\n",
            b"\x022026-11-25T18:00:00.5-0130", b"\x03" + avi(), b"\x04" + matroska(False),
            b"\x04" + matroska(True), b"\x04" + 2 * matroska(False)]


def number(value):
    """LEB128 (DWARF 5, 7.6)."""
    out = bytearray()
    while value >= 0x80:
        out.append(value & 0x7f | 0x80)
        value >>= 7
    return bytes(out + bytes([value]))


def signed(value):
    return number(value * 2 if value >= 0 else -value * 2 - 1)


def text(value):
    return number(len(value)) + value


def watch_logs(_fixtures):
    """Records of each kind for the framing of watch_log_fuzz.cc: kind, length, payload."""
    def record(kind, payload):
        return bytes([kind, len(payload) & 0xff, len(payload) >> 8]) + payload

    def column(field, thing, data):
        return number(field) + number(thing) + text(data)

    head = record(1, text(b"rigproof-log") + number(1) + number(2) + text(b"hz") + text(b"10") +
                  text(b"zero_wall_ns") + text(b"1700000000000000000"))
    names = b"".join(record(2, number(kind) + number(1) + text(b"name") + text(b"of") + signed(7))
                     for kind in range(1, 6))
    each = b"\x00" + b"".join(signed(step) for step in (100000, 100000, 100000))
    same = b"\x01" + signed(1)
    some = b"\x02\x05" + signed(3) + signed(4)
    fields = [column(1, 0, each), column(2, 0, same), column(7, 0, b"\x02\x01" + signed(100000))]
    fields += [column(field, 0, form) for field in (3, 4, 5, 10, 13, 48) for form in (same, some)]
    fields += [column(99, core, each) for core in range(2)]
    fields += [column(field, 1, some) for field in (100, 103, 110, 120)]
    samples = record(3, number(3) + b"".join(fields))
    others = [record(4, signed(5) + b"".join(text(b"word") for _ in range(5))),
              record(5, signed(0) + signed(9) + number(1) + number(1) + signed(5) + number(1)),
              record(6, signed(5) + text(b"mixer") + signed(7) + number(1) + signed(2000)),
              record(7, text(b"this: that")), record(8, signed(5) + text(b"")),
              record(9, signed(5) + text(b"as asked"))]
    whole = head + names + samples + b"".join(others)
    return [b"\x01" + whole, b"\x01" + head + samples, b"\x01" + head + names + samples, b"\x00" + whole]


def page_requests(_fixtures):
    """Heads, a line for each part as page_request_fuzz.cc takes them, bodies, and whole requests."""
    head = ["GET", "a" * 63, "127.0.0.1:4321", "x=1; rigproof_4321=" + "b" * 63,
            "http://127.0.0.1:4321", "application/json", "/" + "c" * 31 + "/api/run"]
    asked = ["GET /?token=" + "a" * 63 + "&x=%20+ HTTP/1.1", "Host: 127.0.0.1:4321"]
    told = ["POST /" + "c" * 31 + "/api/run HTTP/1.1", "Host: 127.0.0.1:4321", "Cookie: " + head[3],
            "Origin: " + head[4], "Content-Type: " + head[5], "Expect: 100-continue",
            "Content-Length: 2"]
    bodies = [{"profile": "friday", "length": "quick", "record_to": "/media/x", "understood": True},
              {"result": "friday 2", "add": ["2x 1920x1080 50 usb nv12 iso"],
               "change": ["isos.effort=least"]},
              {"profile_text": "{}", "record_to": "/media/x", "survey": True}]
    return ["\n".join(head).encode(), "\n".join(["POST"] + head[1:]).encode(), b"../x", b"friday",
            *("\r\n".join(lines + ["", "{}"]).encode() for lines in (asked, told)),
            *(json.dumps(body).encode() for body in bodies)]


def profile_texts(_fixtures):
    """The starters."""
    return [path.read_bytes() for path in sorted((SOURCE / "profiles/starters").glob("*.json"))]


def machine_texts(fixtures):
    """Files of the stored machines, each for every parser of machine_text_fuzz.cc that may meet it."""
    texts = [b"36 35 98:0 /mnt1 /srv/video rw,noatime shared:1 - ext4 /dev/root rw,errors=continue\n",
             b"0-3,7,9-11\n", b"[Timer]\nOnCalendar=*-*-* 6:00\nPersistent=true\n", b"none [mq] bfq\n",
             b"Filename Type Size Used Priority\n/dev/sda2 partition 1000 0 -2\n",
             b"6,1234,5678901,-;usb 1-1: reset high-speed USB device\n SUBSYSTEM=usb\n",
             b"some avg10=0.00 avg60=0.00 avg300=0.00 total=1234\n", b"2-1.4\n", b"8.0 GT/s PCIe\n",
             b"nr_periods 10\nnr_throttled 2\nthrottled_usec 500\n", b"max 100000\n", b"fe80::1%eth0",
             b"1-1 1920 1080 0 166666,333333 mjpeg\n1-1 unknown video0: open\n1-1 640 360 1 1,9 yuyv422\n",
             b"E:MEMORY_DEVICE_0_SIZE=2147483648\nE:MEMORY_DEVICE_1_PRESENT=0\nE:MEMORY_ARRAY_NUM_DEVICES=2\n"]
    for name in ("stat", "meminfo", "cpuinfo", "diskstats", "mountinfo", "route", "swaps", "dev", "snmp"):
        texts += [path.read_bytes() for path in sorted(fixtures.rglob(name))[:2] if path.is_file()]
    return [bytes([parser]) + text for text in texts for parser in range(39)]


def machines(fixtures):
    """Each file of the stored machine of machine_fuzz.cc, by its number."""
    folder = fixtures / "machines/2xhci-3capture-shared-hub"
    count = sum(1 for path in folder.rglob("*") if path.is_file() and not path.is_symlink())
    contents = [b"1-0\n", b"0-99999999\n", b"-1\n", b"\xff" * 40, b"", b"4294967296\n"]
    # Each takes half a second: the fuzzer finds the numbers between.
    return [bytes([number >> 8, number & 255]) + contents[i % len(contents)]
            for i, number in enumerate(range(0, count, 6))]


def results(_fixtures):
    """Changes of three bytes each (result_fuzz.cc), and texts."""
    changes = [bytes([1, high, low, what]) for high in range(0, 16, 4) for low in (0, 154)
               for what in range(18)]
    return changes + [b"\x00{}", b"\x00{\"format\": \"rigproof-result\", \"version\": 1}", b"\x00[1, 2"]


def progress_lines(_fixtures):
    return [b'{"phase": "disk", "elapsed_s": 1.5, "expected_s": 10, "note": "x", "done": false}',
            b'{"phase": "", "elapsed_s": -1, "done": true}', b"{}", b"plain words"]


def whole_recordings(_fixtures):
    """Recordings of recordings() without their first byte."""
    return [seed[1:] for seed in recordings(None) if seed[0] in (0, 3, 4)]


def flv_tag(kind, at_ms, body):
    return (bytes([kind]) + len(body).to_bytes(3, "big") + (at_ms & 0xffffff).to_bytes(3, "big") +
            bytes([at_ms >> 24, 0, 0, 0]) + body + (11 + len(body)).to_bytes(4, "big"))


def flv(pictures):
    """H.264 with a picture that is shown later than stored, and AAC."""
    tags = [flv_tag(18, 0, b"\x02\x00\x0aonMetaData"), flv_tag(9, 0, b"\x17\x00\x00\x00\x00config"),
            flv_tag(8, 0, b"\xaf\x00\x11\x90")]
    for number in range(pictures):
        later = (80, 0)[number % 2]
        tags += [flv_tag(9, 40 * number, b"\x27\x01" + later.to_bytes(3, "big") + b"picture"),
                 flv_tag(8, 40 * number, b"\xaf\x01sound")]
    return b"FLV\x01\x05\x00\x00\x00\x09\x00\x00\x00\x00" + b"".join(tags)


def pes_time(mark, at):
    return bytes([mark << 4 | (at >> 30 & 7) << 1 | 1]) + ((at >> 15 & 0x7fff) << 1 | 1).to_bytes(
        2, "big") + ((at & 0x7fff) << 1 | 1).to_bytes(2, "big")


def transport_packet(identity, begins, counter, payload):
    """188 bytes, stuffed in front of the payload."""
    stuffing = 184 - len(payload)
    field = b"" if stuffing == 0 else bytes([stuffing - 1]) + (
        b"\x00" + b"\xff" * (stuffing - 2) if stuffing > 1 else b"")
    return bytes([0x47, (0x40 if begins else 0) | identity >> 8, identity & 0xff,
                  (0x30 if field else 0x10) | counter & 15]) + field + payload


def transport(pictures):
    """Pictures of unknown length in two packets each, one block of AAC each in a packet of its own."""
    block = bytes.fromhex("fff14c8001fffc") + bytes(8)
    packets = [transport_packet(0, True, 0, b"\x00table"), transport_packet(4096, True, 0, b"\x00map")]
    for number in range(pictures):
        at = 90_000 + 3600 * number
        head = b"\x00\x00\x01\xe0\x00\x00\x80\xc0\x0a" + pes_time(3, at + 7200) + pes_time(1, at)
        sound = b"\x80\x80\x05" + pes_time(2, at) + block
        packets += [transport_packet(256, True, 2 * number, head + bytes(184 - len(head))),
                    transport_packet(256, False, 2 * number + 1, bytes(60)),
                    transport_packet(257, True, number, b"\x00\x00\x01\xc0" +
                                     len(sound).to_bytes(2, "big") + sound)]
    return b"".join(packets)


def heads(_fixtures):
    """FLV (0 in front) and transport streams (1)."""
    return [b"\x00" + flv(3), b"\x00" + flv(40), b"\x01" + transport(3), b"\x01" + transport(40)]


KINDS = {"heads": heads, "usb_descriptors": descriptors, "usb_bos": capabilities, "archive": archives,
         "memory_table": memory_tables, "edid": displays, "disk_health": disk_healths,
         "production_words": production_words, "recording": recordings,
         "watch_log": watch_logs, "page_request": page_requests, "profile": profile_texts,
         "machine_text": machine_texts, "machine": machines, "result": results,
         "progress": progress_lines, "examine": whole_recordings}


def main():
    kind, folder, fixtures = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
    folder.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(KINDS[kind](fixtures)):
        (folder / f"seed-{number:03}").write_bytes(seed)


if __name__ == "__main__":
    main()
