#!/bin/sh
# SPDX-License-Identifier: Apache-2.0
#
# The guest's part: each step leaves NAME.out, NAME.err and NAME.rc in /mnt, the folder shared with
# the host. $RIGPROOF and the other settings come from settings.sh there.
set -u
cd /mnt || exit 1
# shellcheck source=/dev/null
. ./settings.sh
export PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin HOME=/tmp LC_ALL=C.UTF-8

step() {  # NAME COMMAND...
  name=$1
  shift
  echo "guest: $name"
  "$@" >"/mnt/$name.out" 2>"/mnt/$name.err" </dev/null
  echo $? >"/mnt/$name.rc"
}

await() {  # WHAT COMMAND...: until the command is true
  what=$1
  shift
  tries=0
  until "$@" >/dev/null 2>&1; do
    tries=$((tries + 1))
    [ "$tries" -lt 600 ] || { echo "guest: gave up waiting for $what"; return 1; }
    sleep 0.1
  done
}

settings_of() { for node in 0 1 2 3; do v4l2-ctl -d "$(node_of $node)" --all; done; }

# The device node of vivid's capture number $1, whatever the kernel called it.
node_of() {
  for entry in /sys/class/video4linux/video*; do
    if [ "$(cat "$entry/name")" = "vivid-00$1-vid-cap" ]; then
      echo "/dev/${entry##*/}"
    fi
  done
}

# Whether at least $2 threads of process $1 have waited for something twenty times or more: they
# are in the middle of their streams.
streams() {
  [ "$(awk '/^voluntary/ && $2 >= 20' /proc/"$1"/task/*/status | wc -l)" -ge "$2" ]
}

usb_devices() { [ "$(find /sys/bus/usb/devices/ -name '[0-9]*-*' ! -name '*:*' | wc -l)" -ge 4 ]; }
await "the USB devices" usb_devices
step no_devices "$RIGPROOF" line-check --json
step lsusb lsusb -t
step inventory "$RIGPROOF" inventory --json

# The disk that speaks ATA, whatever the kernel called it.
ata_disk() {
  for entry in /sys/block/sd*; do
    case $(readlink -f "$entry") in
      */ata[0-9]*) echo "/dev/${entry##*/}" ;;
    esac
  done
}
both_disks() { [ -b /dev/nvme0n1 ] && [ -b "$(ata_disk)" ]; }
await "the disks" both_disks
step disks "$RIGPROOF" inventory --json
step disks_text "$RIGPROOF" inventory --details
step nvme_log nvme smart-log /dev/nvme0 --output-format=json
step ata_health smartctl --json --device=sat --health "$(ata_disk)"
step ata_statistics smartctl --json --device=sat --log=devstat "$(ata_disk)"
step disks_captured "$RIGPROOF" capture-machine /tmp/disks.tar.gz
step disks_again "$RIGPROOF" inventory --machine /tmp/disks.tar.gz --json
step disks_unasked busybox su -s /bin/sh nobody -c "cd / && $RIGPROOF inventory --json"

# Four capture devices, the second multi-planar, the first with a node for metadata beside it.
insmod_vivid() {
  busybox insmod /tmp/modules/vivid.ko n_devs=4 \
    node_types=0x20001,0x1,0x1,0x1 multiplanar=1,2,1,1 \
    num_inputs=1,1,1,1 input_types=0,0,0,0
}
step vivid insmod_vivid
last_node() { [ -n "$(node_of 3)" ] && [ -c "$(node_of 3)" ]; }
await "the capture nodes" last_node
step nodes v4l2-ctl --list-devices
step controls v4l2-ctl -d "$(node_of 2)" -l
step settings_before settings_of

step healthy "$RIGPROOF" line-check show.json --seconds "$SECONDS_EACH" --json
step settings_healthy settings_of

# The third loses a quarter on purpose; numbers of the first wrap; one picture of the fourth is damaged.
step wrap v4l2-ctl -d "$(node_of 0)" -c wrap_sequence_number=1
step drop v4l2-ctl -d "$(node_of 2)" -c percentage_of_dropped_buffers=25
step damage v4l2-ctl -d "$(node_of 3)" -c inject_v4l2_buf_flag_error=1
step faulty "$RIGPROOF" line-check show.json --seconds "$SECONDS_EACH" --json
step faulty_text "$RIGPROOF" line-check show.json --seconds 5
step drop_off v4l2-ctl -d "$(node_of 2)" -c percentage_of_dropped_buffers=0
step settings_faulty settings_of

# Without a profile: every capture node at its current mode, the one for metadata left out.
step all_nodes "$RIGPROOF" line-check --seconds 5 --json

# Another program streams from the second.
v4l2-ctl -d "$(node_of 1)" --stream-mmap --stream-count=100000 >/dev/null 2>&1 </dev/null &
other=$!
await "the other program's stream" streams "$other" 1
step busy "$RIGPROOF" line-check show.json --seconds 5 --json
step busy_forced "$RIGPROOF" line-check show.json --seconds 5 --even-in-use --json
asked() { printf 'y\n' | script -qec "$RIGPROOF line-check show.json --seconds 3 --json >/mnt/yes.out" /dev/null; }
step question asked
refused() { printf 'n\n' | script -qec "$RIGPROOF line-check show.json --seconds 3 --json >/mnt/no.out" /dev/null; }
step question_refused refused
step other_alive kill -0 "$other"
kill "$other"
wait "$other"

# Ctrl-C in the middle, then a device that goes away.
running() {  # NAME SECONDS: begins in the background and waits until all four stream
  "$RIGPROOF" line-check show.json --seconds "$2" --json >"/mnt/$1.out" 2>"/mnt/$1.err" </dev/null &
  pid=$!
  await "the streams of $1" streams "$pid" 5  # one thread waits for the four others
}
running interrupted 600
kill -INT "$pid"
wait "$pid"
echo $? >/mnt/interrupted.rc
step settings_interrupted settings_of

running vanishing 15
v4l2-ctl -d "$(node_of 3)" -c disconnect=1
wait "$pid"
echo $? >/mnt/vanishing.rc

dmesg >/mnt/dmesg.out 2>&1
touch /mnt/finished
sync
