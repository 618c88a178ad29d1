# SPDX-License-Identifier: Apache-2.0
"""Inputs from which a fuzz target begins: python3 make_seeds.py KIND FOLDER FIXTURES."""

import io
import pathlib
import sys
import tarfile


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


KINDS = {"usb_descriptors": descriptors, "usb_bos": capabilities, "archive": archives}


def main():
    kind, folder, fixtures = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
    folder.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(KINDS[kind](fixtures)):
        (folder / f"seed-{number:03}").write_bytes(seed)


if __name__ == "__main__":
    main()
