# SPDX-License-Identifier: Apache-2.0
"""A folder whose disk is slow or hangs: a FUSE file system that keeps files in another folder.

    slow_folder.py BACKING MOUNT bytes_per_second [AT:SECONDS ...]

Every write takes as long as a disk of that rate would (0: no limit); writes that fall into a stall,
which begins AT seconds after the first write and lasts SECONDS, wait for its end."""

import errno
import os
import sys
import threading
import time

import fusepy


class SlowFolder(fusepy.Operations):
    """Passes everything on, in its own time."""

    def __init__(self, backing, rate, stalls):
        self.backing = backing
        self.rate = rate
        self.stalls = stalls
        self.first = None
        self.free_at = 0.0
        self.lock = threading.Lock()

    def real(self, path):
        return os.path.join(self.backing, path.lstrip("/"))

    def wait(self, size):
        with self.lock:
            now = time.monotonic()
            if self.first is None:
                self.first = now
            self.free_at = max(self.free_at, now)
            if self.rate > 0:
                self.free_at += size / self.rate
            for begin, length in self.stalls:
                if self.first + begin <= self.free_at < self.first + begin + length:
                    self.free_at = self.first + begin + length
            until = self.free_at
        time.sleep(max(0.0, until - time.monotonic()))

    # What a recorder asks of its folder.
    def access(self, path, mode):
        if not os.access(self.real(path), mode):
            raise fusepy.FuseOSError(errno.EACCES)

    def getattr(self, path, fh=None):
        found = os.fstat(fh) if fh is not None else os.lstat(self.real(path))
        return {name: getattr(found, name) for name in (
            "st_atime", "st_ctime", "st_mtime", "st_gid", "st_uid", "st_mode", "st_nlink",
            "st_size")}

    def readdir(self, path, _fh):
        return [".", ".."] + os.listdir(self.real(path))

    def statfs(self, path):
        found = os.statvfs(self.real(path))
        return {name: getattr(found, name) for name in (
            "f_bavail", "f_bfree", "f_blocks", "f_bsize", "f_favail", "f_ffree", "f_files",
            "f_flag", "f_frsize", "f_namemax")}

    def create(self, path, mode, _fi=None):
        return os.open(self.real(path), os.O_RDWR | os.O_CREAT | os.O_EXCL, mode)

    def open(self, path, flags):
        return os.open(self.real(path), flags)

    def read(self, _path, size, offset, fh):
        return os.pread(fh, size, offset)

    def write(self, _path, data, offset, fh):
        self.wait(len(data))
        return os.pwrite(fh, data, offset)

    def truncate(self, path, length, fh=None):
        os.truncate(fh if fh is not None else self.real(path), length)

    def unlink(self, path):
        os.unlink(self.real(path))

    def rename(self, old, new):
        os.rename(self.real(old), self.real(new))

    def mkdir(self, path, mode):
        os.mkdir(self.real(path), mode)

    def rmdir(self, path):
        os.rmdir(self.real(path))

    def flush(self, _path, _fh):
        return 0

    def fsync(self, _path, _datasync, fh):
        os.fsync(fh)

    def release(self, _path, fh):
        os.close(fh)


def main():
    backing, mount, rate, *stalls = sys.argv[1:]
    pairs = [tuple(float(part) for part in stall.split(":")) for stall in stalls]
    fusepy.FUSE(SlowFolder(backing, float(rate), pairs), mount, foreground=True, nothreads=False,
                big_writes=True, allow_other=os.geteuid() == 0)  # a writer may be another user's


if __name__ == "__main__":
    main()
