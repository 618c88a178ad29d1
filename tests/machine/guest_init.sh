#!/bin/busybox sh
# SPDX-License-Identifier: Apache-2.0
#
# shellcheck shell=dash
# First process of the guest: loads the modules, takes the host's files read-only over 9p, runs the
# guest's part of the test in them, switches off.
/bin/busybox mkdir -p /proc /sys /dev /host
/bin/busybox mount -t proc proc /proc
/bin/busybox mount -t sysfs sysfs /sys
/bin/busybox mount -t devtmpfs dev /dev
while read -r module; do
  /bin/busybox insmod "/modules/$module" || echo "guest: no $module"
done </modules.list
options=trans=virtio,version=9p2000.L,msize=262144
/bin/busybox mount -t 9p -o "$options,ro,cache=loose" host /host &&
  /bin/busybox mount -t proc proc /host/proc &&
  /bin/busybox mount -t sysfs sysfs /host/sys &&
  /bin/busybox mount -t devtmpfs dev /host/dev &&
  /bin/busybox mkdir -p /host/dev/pts /host/dev/shm &&
  /bin/busybox mount -t devpts devpts /host/dev/pts &&
  /bin/busybox mount -t tmpfs tmpfs /host/tmp &&
  /bin/busybox mount -t tmpfs tmpfs /host/run &&
  /bin/busybox mount -t 9p -o "$options" out /host/mnt &&
  /bin/busybox mkdir -p /host/tmp/modules &&
  /bin/busybox cp /modules/vivid.ko /host/tmp/modules/ &&
  /bin/busybox chroot /host /bin/sh /mnt/guest.sh
echo "guest: done"
/bin/busybox poweroff -f
