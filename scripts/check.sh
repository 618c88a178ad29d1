#!/usr/bin/env bash
# The checks beside the tests: format, include directions, shell scripts, clang-tidy, a warning-free
# build with the second compiler under address and undefined-behaviour sanitizers, unit tests in it.
# Usage: scripts/check.sh
set -uo pipefail
here=$(cd "$(dirname "$0")" && pwd)
cd "$here/.." || exit 1

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
  scripts/build.sh release && python3 scripts/run_tidy.py build/release
}
check_sanitized() {
  scripts/build.sh check &&
    ctest --test-dir build/check --output-on-failure --no-tests=error -j2 -L '^unit$'
}

scripts/install_packages.sh build run test lint || exit 1
step format check_format
step layers python3 scripts/check_layers.py
step shellcheck check_shell
step clang-tidy check_tidy
step "clang build, address and undefined-behaviour sanitizers, unit tests" check_sanitized

if [ ${#failed[@]} -gt 0 ]; then
  printf 'checks: FAILED: %s\n' "${failed[@]}"
  exit 1
fi
echo "checks: all passed"
