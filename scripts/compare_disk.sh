#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Sustained write of our disk run against fio, direct and in order, same size,
# neither preallocated, taking turns in one run. Usage: compare_disk.sh PROGRAM FOLDER [MIB] [TURNS]
# where PROGRAM is the built bench_disk. Prints each turn and the median ratio.
set -euo pipefail
program=${1:?usage: compare_disk.sh PROGRAM FOLDER [MIB] [TURNS]}
folder=${2:?usage: compare_disk.sh PROGRAM FOLDER [MIB] [TURNS]}
mib=${3:-2048}
turns=${4:-7}
command -v fio >/dev/null || { echo "fio is not installed: nothing to compare with" >&2; exit 1; }

ours() { "$program" "$folder" 600 "$mib"; }
theirs() {  # flushes before its last block, the only way to have the flush in its time, as ours is
  fio --name=sequential --directory="$folder" --filename=.fio-compare --direct=1 --rw=write \
    --bs=1M --ioengine=psync --size="${mib}M" --fallocate=none --fdatasync=$((mib - 1)) \
    --unlink=1 --output-format=json
}
trap 'rm -f "$folder/.fio-compare"' EXIT

theirs >/dev/null  # the first writer pays for waking the disk
for ((turn = 1; turn <= turns; ++turn)); do
  if ((turn % 2)); then ours_json=$(ours); theirs_json=$(theirs)
  else theirs_json=$(theirs); ours_json=$(ours); fi
  python3 - "$turn" "$ours_json" "$theirs_json" <<'PY'
import json, sys
turn, ours, theirs = sys.argv[1], json.loads(sys.argv[2]), json.loads(sys.argv[3])
write = theirs["jobs"][0]["write"]
fio = write["io_bytes"] / (write["runtime"] / 1000)
print(f"{turn} {ours['sustained_bytes_per_second'] / 1e6:.1f} "
      f"{ours['all_bytes_per_second'] / 1e6:.1f} {fio / 1e6:.1f} "
      f"{'steady' if ours['steady'] else 'restless'}")
PY
done | python3 -c '
import statistics, sys
rows = [line.split() for line in sys.stdin]
print("turn  sustained MB/s  all bytes / all time MB/s  fio MB/s  steady")
for row in rows:
    print("{:>4}  {:>14}  {:>25}  {:>8}  {}".format(*row))
for name, column in (("sustained", 1), ("all bytes / all time", 2)):
    ratios = [float(row[column]) / float(row[3]) for row in rows]
    print(f"{name} / fio: median {statistics.median(ratios):.3f}, "
          f"from {min(ratios):.3f} to {max(ratios):.3f}, {len(ratios)} turns")
'
