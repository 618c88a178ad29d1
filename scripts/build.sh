#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Configures a preset and builds it. Usage: scripts/build.sh PRESET [TARGET]
# Target rigproof_all is the program alone: a new folder is then configured without tests, so that
# their packages are not needed.
set -euo pipefail
cd "$(dirname "$0")/.."
preset=${1:?usage: scripts/build.sh PRESET [TARGET]}

configure=(--preset "$preset" -DRIGPROOF_PCH=ON)
if [ "${2:-}" != rigproof_all ]; then
  configure+=(-DRIGPROOF_TESTS=ON)
elif [ ! -e "build/$preset/CMakeCache.txt" ]; then
  configure+=(-DRIGPROOF_TESTS=OFF)
fi
if command -v ccache >/dev/null; then
  configure+=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache)
  # Let a second clone of the same sources find what the first one compiled.
  export CCACHE_BASEDIR=$PWD CCACHE_NOHASHDIR=1 CCACHE_SLOPPINESS=pch_defines,time_macros
fi
cmake "${configure[@]}" -Wno-dev
cmake --build "build/$preset" --parallel "$(nproc)" ${2:+--target "$2"}
