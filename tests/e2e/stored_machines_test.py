# SPDX-License-Identifier: Apache-2.0
"""What survey says of every stored machine with every starter stays as it is, byte for byte.

tests/golden/stored_machines.json holds the exit status, the verdict, and a digest of each member of
result.json and of the text. UPDATE_GOLDENS=1 writes it anew (and fails once): say in CHANGELOG.md
what changed. To see a change itself, run the program of before and this one, and compare."""

import hashlib
import json
import os
import pathlib
import re
import unittest

from program import FIXTURES, run

SOURCE = pathlib.Path(os.environ["RIGPROOF_SOURCE"])
MACHINES = sorted((FIXTURES / "machines").iterdir())
STARTERS = sorted(path.stem for path in (SOURCE / "profiles/starters").glob("*.json"))
STARTED = re.compile(r"started\s+\d{4}-\d\d-\d\d\s+\d\d:\d\d\s+UTC")
GOLDEN = SOURCE / "tests/golden/stored_machines.json"


def digest(value):
    text = value if isinstance(value, str) else json.dumps(value)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def without_times(result):
    """What changes from run to run, or with each version, is left out."""
    result = {name: value for name, value in result.items() if name not in ("started_at", "program_version")}
    for probe in result["machine"]["runs"]:
        del probe["seconds"]
    return result


def text_of(machine, *arguments):
    """Without the moment when it was started."""
    return STARTED.sub("started", run(*arguments, "--details", "--machine", machine).stdout)


def said_of(machine):
    said = {"inventory": digest(text_of(machine, "inventory"))}
    for starter in STARTERS:
        done = run("survey", starter, "--json", "--machine", machine)
        result = without_times(json.loads(done.stdout))
        said[starter] = {"status": done.returncode, "verdict": result["verdict"],
                         "headline": result["headline"],
                         "text": digest(text_of(machine, "survey", starter)),
                         **{f"json.{name}": digest(value) for name, value in result.items()}}
    return said


def changes(before, now, where=""):
    if isinstance(before, dict) and isinstance(now, dict):
        return [change for name in sorted({*before, *now})
                for change in changes(before.get(name), now.get(name), f"{where}/{name}")]
    return [] if before == now else [f"{where}: {before} is now {now}"]


class StoredMachines(unittest.TestCase):
    def test_answers_stay(self):
        now = {machine.name: said_of(machine) for machine in MACHINES}
        self.assertGreaterEqual(len(MACHINES) * len(STARTERS), 18)
        before = json.loads(GOLDEN.read_text("utf-8")) if GOLDEN.exists() else {}
        changed = changes(before, now)
        if changed and os.environ.get("UPDATE_GOLDENS"):
            GOLDEN.write_text(json.dumps(now, indent=1, sort_keys=True, ensure_ascii=False) + "\n", "utf-8")
            self.fail(f"rewrote {GOLDEN}; look at git diff, then run again")
        self.assertEqual(changed, [], "\n".join(changed[:40]))


if __name__ == "__main__":
    unittest.main()
