#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Installs what is missing, builds Release, runs every test.
# Usage: scripts/test.sh [CTEST ARGUMENT...]   such as -L unit, or -R UsbTree
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
top=$(dirname "$here")

"$here/install_packages.sh" build run test
"$here/build.sh" release
"$top/tests/e2e/page/fetch_axe.sh"

cd "$top/build/release"
status=0
ctest --output-on-failure --no-tests=error -j2 -LE '^(scenario|trial)$' "$@" </dev/null || status=$?
# Scenarios load the PC on purpose: one at a time, beside nothing else.
ctest --output-on-failure --no-tests=ignore -j1 -L '^scenario$' "$@" </dev/null || status=$?
exit "$status"
