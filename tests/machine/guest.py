# SPDX-License-Identifier: Apache-2.0
"""A virtual machine with Debian's kernel, emulated USB devices and the kernel's own virtual cameras.
It runs the programs of this system, which it sees read-only."""

import glob
import os
import pathlib
import shutil
import subprocess

HERE = pathlib.Path(__file__).parent
KERNEL = pathlib.Path(os.environ.get("RIGPROOF_KERNEL", "none named in RIGPROOF_KERNEL"))
# What the guest needs loaded before it has the host's files; each brings what it depends on.
MODULES = ["virtio_pci", "9pnet_virtio", "9p", "xhci-pci", "usb-storage", "snd-usb-audio", "usbhid",
           "ahci", "nvme", "sd_mod", "vivid"]
# Loaded by the guest's script, with its own settings.
LATER = {"vivid"}


def why_not():
    """Why no guest can be had here; empty when one can."""
    for program in ("qemu-system-x86_64", "busybox", "lsusb", "v4l2-ctl", "nvme", "smartctl"):
        if shutil.which(program) is None:
            return (f"no {program} here (packages qemu-system-x86, busybox-static, usbutils, "
                    "v4l-utils, nvme-cli, smartmontools)")
    if not glob.glob(str(KERNEL / "boot/vmlinuz-*")):
        return f"no kernel: {KERNEL} (tests/machine/fetch_kernel.sh FOLDER fetches one)"
    if os.geteuid() != 0:
        return "only root can share its files with a guest"
    return ""


class Modules:
    """The kernel's modules with what each depends on, as they say themselves."""

    def __init__(self, folder):
        self.files = {self.plain(path.name): path for path in folder.rglob("*.ko")}

    @staticmethod
    def plain(name):
        return name.removesuffix(".ko").replace("-", "_")

    def needs(self, path):
        """Names in the module's own "depends=", in its section .modinfo."""
        data = path.read_bytes()
        at = data.find(b"\0depends=")
        if at < 0:
            return []
        names = data[at + len(b"\0depends="):data.index(b"\0", at + 1)].decode("ascii")
        return [name for name in names.split(",") if name]

    def in_order(self, names):
        """Files to be loaded one after the other; what is built in has no file."""
        order = []

        def add(name):
            path = self.files.get(self.plain(name))
            if path is None or path in order:
                return
            for needed in self.needs(path):
                add(needed)
            order.append(path)

        for name in names:
            add(name)
        return order


def cpio_entry(name, mode, data):
    """One file of an archive that the kernel takes as its first root (cpio(5), newc)."""
    name = name.encode() + b"\0"
    fields = [0, mode, 0, 0, 1, 0, len(data), 0, 0, 0, 0, len(name), 0]
    head = b"070701" + b"".join(b"%08X" % field for field in fields) + name
    head += b"\0" * (-len(head) % 4)
    return head + data + b"\0" * (-len(data) % 4)


def first_root():
    entries = []
    for folder in ("bin", "modules", "dev"):
        entries.append(cpio_entry(folder, 0o040755, b""))
    entries.append(cpio_entry("bin/busybox", 0o100755,
                              pathlib.Path(shutil.which("busybox")).read_bytes()))
    entries.append(cpio_entry("init", 0o100755, (HERE / "guest_init.sh").read_bytes()))
    modules = Modules(KERNEL / "lib/modules")
    order = modules.in_order(MODULES)
    for path in order:
        entries.append(cpio_entry(f"modules/{path.name}", 0o100644, path.read_bytes()))
    first = [path.name for path in order if modules.plain(path.name) not in LATER]
    entries.append(cpio_entry("modules.list", 0o100644, "\n".join(first + [""]).encode()))
    return b"".join(entries) + cpio_entry("TRAILER!!!", 0, b"")


def image(shared, name):
    """A file for a disk of 16 MiB."""
    path = shared / f"{name}.img"
    with open(path, "wb") as file:
        file.truncate(16 << 20)
    return ["-drive", f"if=none,id={name},format=raw,file={path}"]


def disks(shared):
    """One that speaks NVMe, one that speaks ATA."""
    return [*image(shared, "fast"), "-device", "nvme,drive=fast,serial=invented",
            *image(shared, "slow"), "-device", "ich9-ahci,id=ahci",
            "-device", "ide-hd,drive=slow,bus=ahci.0"]


def usb_devices(shared):
    """A hub with a sound device and a pointer behind it, and a disk beside it."""
    return ["-device", "qemu-xhci,id=usb,p2=4,p3=4",
            "-device", "usb-hub,bus=usb.0,port=1",
            "-audiodev", "none,id=sound", "-device", "usb-audio,audiodev=sound,bus=usb.0,port=1.1",
            "-device", "usb-tablet,bus=usb.0,port=1.2",
            *image(shared, "stick"), "-device", "usb-storage,drive=stick,bus=usb.0,port=2"]


def share(tag, path, more=""):
    return ["-fsdev", f"local,id={tag},path={path},security_model=none,multidevs=remap{more}",
            "-device", f"virtio-9p-pci,fsdev={tag},mount_tag={tag}"]


def run(shared, timeout):
    """Boots, and returns when the guest has switched itself off; what it printed is in console.txt."""
    (shared / "root.cpio").write_bytes(first_root())
    kernel = sorted(glob.glob(str(KERNEL / "boot/vmlinuz-*")))[-1]
    # Emulated: under KVM inside a virtual machine this QEMU aborts or the guest hangs.
    command = ["qemu-system-x86_64", "-accel", "tcg", "-cpu", "max", "-smp", "2",
               "-m", "1536", "-nodefaults", "-display", "none", "-no-reboot",
               "-serial", f"file:{shared}/console.txt",
               "-kernel", kernel, "-initrd", str(shared / "root.cpio"),
               "-append", "console=ttyS0 panic=-1 quiet",
               *share("host", "/", ",readonly=on"), *share("out", shared), *usb_devices(shared),
               *disks(shared)]
    with open(shared / "qemu.txt", "wb") as said:
        subprocess.run(command, stdin=subprocess.DEVNULL, stdout=said, stderr=said,
                       timeout=timeout, check=True)
