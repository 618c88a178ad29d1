#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Downloads Debian's kernel package and unpacks it beside nothing else: it is not installed.
# Usage: tests/machine/fetch_kernel.sh FOLDER   (what RIGPROOF_KERNEL is then set to)
set -euo pipefail
folder=${1:?usage: fetch_kernel.sh FOLDER}
if compgen -G "$folder/boot/vmlinuz-*" >/dev/null; then
  echo "kernel already in $folder"
  exit 0
fi
package=$(apt-cache depends linux-image-amd64 | awk '/Depends: linux-image/ {print $2; exit}')
[ -n "$package" ] || { echo "no package linux-image-amd64 in this system's lists" >&2; exit 1; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
(cd "$work" && apt-get download "$package")
mkdir -p "$folder"
dpkg-deb -x "$work"/*.deb "$folder"
echo "kernel $package in $folder"
