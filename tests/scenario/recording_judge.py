# SPDX-License-Identifier: Apache-2.0
"""Holds what explain says of one recording against what was injected and what was counted."""

import json
import subprocess

from recording_counts import counts, file_stamps
from recording_faults import KINDS

NOTHING = "nothing lost"
UNEVEN = "no constant beat"  # what it says where it counts nothing as missing, and names no cause
CLAIMS_NOTHING = (NOTHING, "not known", UNEVEN)
TAKEN_BY_OTHERS = "CPU taken by another process"
LATE_BY_ORDER = 3  # pictures that may wait for others which an early end took away


def explain(trial):
    """What it answers, or nothing where it refuses the file."""
    asked = [str(trial.program), "explain", str(trial.file()), "--log", str(trial.kept / "log"),
             "--json", "--quiet", "--page", str(trial.kept / "why.html")]
    done = subprocess.run(asked, check=False, capture_output=True, text=True)
    (trial.kept / "explain.json").write_text(done.stdout, encoding="utf-8")
    (trial.kept / "explain.txt").write_text(done.stderr, encoding="utf-8")
    if done.returncode == 2:
        return None
    if done.returncode not in (0, 4, 5):
        raise RuntimeError("explain failed: " + done.stderr[-300:])
    return json.loads(done.stdout)


def found(answer):
    """Missing frames by explain; holes that a step of the clock explains miss nothing."""
    return sum(moment["missing"] for moment in answer["moments"] if moment["cause"] != "clock step")


def first_of(answer):
    """What stands first: a cause, or what is said without one."""
    if answer["first_cause"]:
        return answer["first_cause"]
    return UNEVEN if UNEVEN in answer["headline"] else NOTHING


def jumps(trial):
    """Whether the stamps in the file leave out as much as a second: some writers take steps out."""
    times = file_stamps(trial.file())
    return any(later - earlier >= 1 for earlier, later in zip(times, times[1:]))


def allowed(trial, kind, lost, beside):
    """Causes that may stand first."""
    if kind == "clock step" and not jumps(trial):
        return (NOTHING,)
    if kind in ("none", "killed") and lost and beside:  # neither makes holes: the load beside was too much
        return (*KINDS[kind].causes, TAKEN_BY_OTHERS)
    if lost == 0 and not KINDS[kind].names_without_loss:
        return KINDS[kind].causes if kind == "none" else (NOTHING,)
    return KINDS[kind].causes


def same(trial, kind, told, by_file, by_ledger):
    """An early end may leave pictures away that the order of the file puts before the last one."""
    late = LATE_BY_ORDER if trial.writer.reorders and KINDS[kind].ends_early else 0
    return told == by_file and by_ledger <= by_file <= by_ledger + late


def judge(trial, kind, beside):
    answer = explain(trial)
    if answer is None:  # right where the end took the table away, and nobody else can read it either
        right = (KINDS[kind].ends_early and not trial.writer.readable_unfinished and
                 trial.file().stat().st_size > 0 and not file_stamps(trial.file()))
        return {"first": "refused", "right": right, "same": right, "invented": False, "refused": True}
    by_file, by_ledger = counts(trial, kind == "clock step")
    if by_file is None:
        raise RuntimeError("the file holds nothing that ffprobe reads")
    first = first_of(answer)
    right = first in allowed(trial, kind, by_ledger, beside)
    return {"first": first, "right": right, "refused": False, "found": found(answer), "ffprobe": by_file,
            "ledger": by_ledger, "same": same(trial, kind, found(answer), by_file, by_ledger),
            "invented": by_ledger == 0 and not right and first not in CLAIMS_NOTHING,
            "effect": by_ledger > 0 or KINDS[kind].names_without_loss,
            "place": answer["recordings"][0]["place"]["by"]}
