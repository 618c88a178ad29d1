#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Installs the Debian packages that are missing, and nothing when none is.
# Usage: scripts/install_packages.sh SECTION...   (sections of scripts/packages.txt: build run test lint guest)
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)

say() { echo "install_packages: $*" >&2; }

packages_of() {  # SECTION -> its packages
  awk -v section="[$1]" '/^#/ || !NF {next} /^\[/ {inside = ($1 == section); next} inside {print $1}' \
    "$here/packages.txt"
}

[ $# -gt 0 ] || { say "usage: scripts/install_packages.sh SECTION... (build run test lint guest)"; exit 2; }
wanted=()
for section in "$@"; do
  mapfile -t listed < <(packages_of "$section")
  [ ${#listed[@]} -gt 0 ] || { say "no section \"$section\" in scripts/packages.txt (build run test lint guest)"; exit 2; }
  wanted+=("${listed[@]}")
done

if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
  say "this is no Debian system; install what stands for these yourself: ${wanted[*]}"
  exit 1
fi

missing=()
for package in "${wanted[@]}"; do
  status=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null || true)
  [ "$status" = installed ] || missing+=("$package")
done
[ ${#missing[@]} -gt 0 ] || exit 0

as_root=()
if [ "$(id -u)" -ne 0 ]; then
  if ! command -v sudo >/dev/null; then
    say "not root and no sudo here; ask an administrator for: apt-get install ${missing[*]}"
    exit 1
  fi
  as_root=(sudo)
fi

install() {
  # As in runlevel 1, services that come along (nginx, prometheus) are not started.
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive RUNLEVEL=1 \
    apt-get install -y -q --no-install-recommends "${missing[@]}" </dev/null
}
say "installing ${missing[*]}"
# Package lists that are missing or old make the first try fail; only then are they fetched.
if ! install; then
  "${as_root[@]}" apt-get update -q </dev/null
  install
fi
