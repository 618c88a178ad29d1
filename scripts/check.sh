#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# The checks beside the tests: format, include directions, shell scripts, clang-tidy, a warning-free
# build with the second compiler under address and undefined-behaviour sanitizers, unit tests in it,
# and each fuzz target for some seconds.
# clang-tidy stops beginning new sources after RIGPROOF_TIDY_BUDGET seconds (45), newest changes
# first, and says what it left, and the sanitizers take what reads strangers' bytes or has threads;
# --all lifts both limits, and boots a virtual machine with cameras (tests/machine).
# Usage: scripts/check.sh [--all]
set -uo pipefail
here=$(cd "$(dirname "$0")" && pwd)
cd "$here/.." || exit 1
case ${1:-} in
  "") tidy_budget=(--budget "${RIGPROOF_TIDY_BUDGET:-45}"); sanitized=rigproof_sanitized; labels='^fuzz$' ;;
  --all) tidy_budget=(); sanitized=all; labels='^(unit|fuzz|fuzz-wide)$' ;;
  *) echo "usage: scripts/check.sh [--all]" >&2; exit 2 ;;
esac

failed=()
step() {  # NAME COMMAND...
  local name=$1 began=$SECONDS
  shift
  echo "== $name"
  if "$@" </dev/null; then
    echo "== $name: ok ($((SECONDS - began)) s)"
  else
    echo "== $name: FAILED ($((SECONDS - began)) s)"
    failed+=("$name")
  fi
}

check_format() { git ls-files -z '*.h' '*.cc' | xargs -0 clang-format --dry-run --Werror; }
check_shell() { git ls-files -z '*.sh' .ci/run | xargs -0 shellcheck; }
check_tidy() {
  # The compile database and the generated headers must be there; objects need not.
  scripts/build.sh release && python3 scripts/run_tidy.py build/release "${tidy_budget[@]}"
}
check_guest() {
  # Some 70 MB of kernel, kept for the next time.
  local kernel=${RIGPROOF_KERNEL:-${XDG_CACHE_HOME:-$HOME/.cache}/rigproof-kernel}
  scripts/install_packages.sh guest && tests/machine/fetch_kernel.sh "$kernel" &&
    RIGPROOF_KERNEL=$kernel ctest --test-dir build/release --output-on-failure --no-tests=error \
      -R '^machine\.'
}
run_whole() {  # PROGRAM: all its cases in one process; what it prints only where one fails
  local said
  if said=$(timeout 600 "$1" --gtest_brief=1 2>&1); then
    echo "$(basename "$1"): $(grep -F '[==========]' <<<"$said")"
  else
    printf '%s\n%s: FAILED\n' "$said" "$(basename "$1")"
    return 1
  fi
}
check_sanitized() {
  # Programs that were not built carry no label in ctest's list, and so are no part of this run.
  scripts/build.sh check "$sanitized" || return
  export LSAN_OPTIONS=suppressions=$PWD/tests/lsan_suppressions.txt:print_suppressions=0
  if [ "$sanitized" != all ]; then
    export -f run_whole
    # shellcheck disable=SC2016  # the inner shell's own argument
    xargs -P2 -I{} bash -c 'run_whole "$1"' _ {} <build/check/tests/sanitized.txt || return
  fi
  ctest --test-dir build/check --output-on-failure --no-tests=error -j2 -L "$labels"
}

scripts/install_packages.sh build run test lint || exit 1
step format check_format
step layers python3 scripts/check_layers.py
step shellcheck check_shell
step clang-tidy check_tidy
step "clang build, address and undefined-behaviour sanitizers, unit tests, some seconds of each fuzz target" check_sanitized
[ "$sanitized" != all ] || step "cameras in a virtual machine" check_guest

if [ ${#failed[@]} -gt 0 ]; then
  printf 'checks: FAILED: %s\n' "${failed[@]}"
  exit 1
fi
echo "checks: all passed"
