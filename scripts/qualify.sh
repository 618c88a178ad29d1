#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# From a bare machine to a verdict: installs, builds, qualifies this PC, and says where the report lies.
# Usage: scripts/qualify.sh [PROFILE]   (a profile file or a starter's name; the default starter otherwise)
# Exit status: 0 for any verdict, 2 for bad input, 1 when something failed.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
top=$(dirname "$here")

[ $# -le 1 ] || { echo "usage: scripts/qualify.sh [PROFILE]" >&2; exit 2; }
profile=("$@")
if [ $# -eq 1 ] && [ -e "$1" ]; then
  profile=("$(realpath -- "$1")")
fi

"$here/install_packages.sh" build run
"$here/build.sh" release rigproof_all
into=$top/rigproof-result
mkdir -p -- "$into"

status=0
"$top/build/release/cli/rigproof" qualify --length quick --into "$into" "${profile[@]}" || status=$?
case $status in
  0) verdict="ready: nothing was dropped, every margin stays free" ;;
  3) verdict="tight: it held, but a resource is below its margin, or a few allowed frames were dropped" ;;
  4) verdict="short: frames were dropped, or a resource is overloaded" ;;
  5) verdict="unproven: something needed was not measured, or the test was not fair" ;;
  *) exit "$status" ;;
esac
echo
echo "verdict  $verdict (exit status $status of rigproof)"
echo "report   $into/report.html"
