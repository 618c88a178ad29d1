#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
#
# Gets axe-core (MPL-2.0, not part of this repository) through npm into the cache, for
# accessibility_test.py. Ends with 0 also where there is no npm or no registry: the test skips then.
# Usage: tests/e2e/page/fetch_axe.sh
set -uo pipefail
version=4.10.3
into=${XDG_CACHE_HOME:-$HOME/.cache}/rigproof-axe
[ -s "$into/axe.min.js" ] && exit 0
if ! command -v npm >/dev/null; then
  echo "axe-core: no npm here, the report page is not audited"
  exit 0
fi
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 0
# npm itself checks the package against the digest in the registry.
if timeout 60 npm pack --silent "axe-core@$version" >/dev/null 2>&1 &&
   tar -xzf "axe-core-$version.tgz" package/axe.min.js; then
  mkdir -p "$into"
  mv package/axe.min.js "$into/axe.min.js"
else
  echo "axe-core: npm could not fetch it, the report page is not audited"
fi
exit 0
