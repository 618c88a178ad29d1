# SPDX-License-Identifier: Apache-2.0
"""Holds what `rigproof examine --json` says of a recording against its truth, question by question."""

import json
import subprocess
from fractions import Fraction

import truth

RIGHT, REFUSED, WRONG = "right", "refused", "wrong"


def shapes(told):
    """Words for the shape of the losses that their places allow; what is between two words allows both."""
    lost = [first + place for first, count in told["removed"] for place in range(count)]
    if not lost:
        return {"none"}
    rate, slots = float(Fraction(told["true_rate"])), told["slots"]
    early, late = (lost[-1] + 1) / slots, 1 - lost[0] / slots
    allowed = set()
    if early < 0.35:
        allowed.add("start only")
    if late < 0.35:
        allowed.add("end only")
    apart = [after - before for before, after in zip(lost, lost[1:])]
    if len(lost) > 4 and min(apart) > 1 and max(apart) - min(apart) <= 0.1 * min(apart):
        return allowed | {"regular"}
    usual = sorted(apart)[len(apart) // 2] if apart else 0
    if len(lost) > 9 and sum(abs(each - usual) <= 1 for each in apart) > 0.85 * len(apart) and usual > 1:
        allowed.add("regular")
    seconds = min(lost[-1] + 1, slots - lost[0]) / rate
    if len(lost) > 4 and seconds < 4.9 and min(early, late) < 0.25 and crowded(lost, rate) < 0.3:
        return allowed
    if len(lost) > 3 and spread_of(apart) < 0.25 and crowded(lost, rate) < 0.3:
        allowed.add("regular")
    if len({place * 12 // slots for place in lost}) >= 10:
        allowed.add("throughout")
    share = crowded(lost, rate)
    return allowed | ({"bursts"} if share > 0.3 else set()) | ({"scattered"} if share < 0.6 else set())


def crowded(lost, rate):
    """The share of the losses of which three or more are within a second."""
    return sum(any(lost[place + first + 2] - lost[place + first] <= rate
                   for first in (-2, -1, 0) if 0 <= place + first and place + first + 2 < len(lost))
               for place in range(len(lost))) / len(lost)


def spread_of(apart):
    """Coefficient of variation."""
    mean = sum(apart) / len(apart)
    return (sum((each - mean) ** 2 for each in apart) / len(apart)) ** 0.5 / mean


class Said:
    """One answer of the program, and whether it binds itself."""

    def __init__(self, status, text, complaint):
        self.status, self.complaint = status, complaint.strip()
        self.recordings = json.loads(text)["recordings"] if text.strip() else []
        self.first = self.recordings[0] if self.recordings else None
        tracks = self.first["tracks"] if self.first else []
        self.pictures = [track for track in tracks if track["kind"] == "pictures"]
        self.sounds = [track for track in tracks if track["kind"] == "sound"]

    @property
    def verdict(self):
        return self.first["verdict"] if self.first else f"status {self.status}"

    @property
    def refused(self):
        """No verdict on what is missing, and a reason for it."""
        if self.first is None:
            return self.status == 2 and bool(self.complaint)
        return self.verdict == "unproven" and bool(self.first["headline"])

    @property
    def noted(self):
        """Something is said that a reader cannot take for a whole recording."""
        if self.refused or self.first is None:
            return self.refused
        odd = any(track["damaged"] or track["untimed"] or track["step_count"] or track["repeated"]
                  or track["out_of_order"] or track["missing"] or track["gap_count"]
                  for track in self.first["tracks"])
        return self.first["state"] != "whole" or bool(self.first["remarks"]) or odd \
            or self.verdict != "nothing missing"

    def words(self):
        if self.first is None:
            return f"status {self.status}: {self.complaint}"
        parts = [f"{self.verdict}: {self.first['headline']}"]
        if self.first["remarks"]:
            parts.append("; ".join(self.first["remarks"]))
        return " | ".join(parts)


def examine(program, files):
    """The answer for one recording, of one file or of several that follow each other."""
    more = ["--in-sequence"] if len(files) > 1 else []
    done = subprocess.run([program, "examine", "--json", "--quiet", *more, *map(str, files)],
                          check=False, capture_output=True, timeout=60, stdin=subprocess.DEVNULL,
                          encoding="utf-8", errors="replace")
    return Said(done.returncode, done.stdout if done.returncode in (0, 4, 5) else "", done.stderr)


def judge(case, said):
    """Question: (standing, what was said, what is true)."""
    if said.status not in (0, 2, 4, 5):
        return {"answers": (WRONG, f"status {said.status}: {said.complaint[-200:]}", "0, 2, 4 or 5")}
    if case["damage"]:
        return judge_damaged(case, said)
    if case.get("apart"):
        return {"tracks apart": judge_apart(case, said), "drift": judge_drift(case, said)}
    told = case["programmes"][0]["pictures"]
    if told["variable"]:
        return {"variable": judge_variable(told, said), "drift": judge_drift(case, said)}
    if case["family"] == "odd rate":
        return {"rate": judge_rate(told, said), "drift": judge_drift(case, said)}
    answers = judge_pictures(case, said, 0)
    if len(case["programmes"]) > 1:
        for question, answer in judge_pictures(case, said, 1).items():
            answers[question] = max(answer, answers[question], key=lambda each: ORDER[each[0]])
        answers["programmes"] = judge_programmes(said)
    if case["programmes"][0]["sound"]:
        answers["drift"] = judge_drift(case, said)
        answers["sound"] = judge_sound(case, said)
    for question in case.get("not_asked", ()):
        answers.pop(question, None)
    return answers


ORDER = {RIGHT: 0, REFUSED: 1, WRONG: 2}


def judge_pictures(case, said, place):
    told = case["programmes"][place]["pictures"]
    missing, doubled, swapped = told["missing"], len(told["doubled"]), len(told["swapped"])
    if said.first is None or len(said.pictures) <= place:
        standing = REFUSED if said.refused else WRONG
        return {question: (standing, said.words(), "readable") for question in ("missing", "places")}
    track = said.pictures[place]
    if len(case["programmes"]) > 1:  # in which order a reader lists them is its own affair
        true_rate = float(Fraction(told["true_rate"]))
        track = min(said.pictures, key=lambda each: abs(each["rate_numerator"] / max(
            1, each["rate_denominator"]) - true_rate))
    answers = {}
    untold = any("cannot be told" in remark for remark in said.first["remarks"])  # between two files

    def compare(question, holds, words, true):
        standing = RIGHT if holds else REFUSED if said.refused or untold else WRONG
        answers[question] = (standing, words, true)

    unclear = told.get("unclear", 0)
    words = f"{track['missing']}, {said.words()}"
    compare("missing", abs(track["missing"] - missing) <= unclear and verdict_holds(case, said), words,
            missing)
    if missing and said.verdict == "nothing missing":
        answers["missing"] = (WRONG, f"SILENT {words}", missing)
    holds, words = places_of(told, track)
    holds = holds or bool(unclear)
    compare("places", holds, words, told["removed"][:8])
    compare("repeated", abs(track["repeated"] - doubled) <= unclear, track["repeated"], doubled)
    stored_wrong = track["out_of_order"] + track["swapped"]
    compare("order", stored_wrong == swapped, stored_wrong, swapped)
    compare("clock", track["step_count"] == 0, f"{track['step_count']} steps {track['steps'][:2]}", 0)
    if case["pattern"]:
        shape = next(each["missing"]["shape"] for each in said.first["patterns"]
                     if each["track"] == track["index"])
        allowed = shapes(told)
        compare("pattern", shape in allowed, shape, f"{' or '.join(sorted(allowed))} ({case['pattern']})")
    return answers


def verdict_holds(case, said):
    """'nothing missing' and 'parts missing' are said only where it is so; what else is missing is sound."""
    gone = any(each["pictures"]["missing"] or each["sound"] and each["sound"]["holes"]
               for each in case["programmes"])
    if "sound" in case.get("not_asked", ()) and not gone:
        return said.verdict == "nothing missing" or "sound" in said.first["headline"]
    return said.verdict == ("parts missing" if gone else "nothing missing")


def places_of(told, track):
    """Whether every hole is told at its place, and no other."""
    rate = float(Fraction(told["true_rate"]))
    near = told.get("page_s", 0) + 1.6 / rate + 2 * told["jitter_ms"] / 1000 + 0.002
    true = [(first / rate, count) for first, count in joined(told["removed"])]
    heard = [(gap["at_s"] - track["first_s"], gap["missing"]) for gap in track["gaps"]
             if gap["missing"]]
    words = [[round(at * rate, 1), count] for at, count in heard[:8]]
    if len(true) != track["gap_count"] and len(true) != len(heard):
        return False, f"{track['gap_count']} holes {words}"
    holds = all(abs(at - true_at) <= near and count == true_count
                for (at, count), (true_at, true_count) in zip(heard, true))
    return holds, words


def joined(removed):
    whole = []
    for first, count in removed:
        if whole and whole[-1][0] + whole[-1][1] == first:
            whole[-1][1] += count
        else:
            whole.append([first, count])
    return whole


def judge_drift(case, said):
    """Certain and wrong is the worst; certain, or an interval that holds the truth, is right."""
    sounds = [each["sound"] for each in case["programmes"] if each["sound"]]
    if said.first is None or not said.first["lip_sync"]:
        return REFUSED, "nothing on drift", [each["ppm"] for each in sounds]
    worst = None
    for place, lips in enumerate(said.first["lip_sync"]):
        ppm = sounds[min(place, len(sounds) - 1)]["ppm"]
        true = ppm * 3.6  # milliseconds an hour
        low, high = sorted((lips["low_ms_per_hour"], lips["high_ms_per_hour"]))
        room = 2 + abs(true) * 0.02
        inside = low - room <= -true <= high + room
        words = (f"{'certain' if lips['certain'] else 'not certain'}, {lips['early_ms_per_hour']:+.1f} "
                 f"ms an hour ({low:.1f} to {high:.1f}) from {lips['from']}")
        if lips["certain"] and ppm == 0 and abs(lips["early_ms_per_hour"]) >= 5:
            standing, words = WRONG, "INVENTED " + words
        elif not lips["certain"] and case["family"] == "hour" and abs(ppm) >= 50:
            standing = REFUSED if inside or not lips["from"] else WRONG
        else:
            standing = RIGHT if inside else WRONG if lips["certain"] else REFUSED
        answer = standing, words, f"{ppm} ppm, early {-true:+.1f} ms an hour"
        worst = answer if worst is None else max(worst, answer, key=lambda each: ORDER[each[0]])
    return worst


def judge_programmes(said):
    """Sound and pictures of one programme begin together: only those of two programmes are apart."""
    apart = [round(each["starts_after_ms"]) for each in said.first["drifts"]] if said.first else []
    return (RIGHT if all(abs(each) < 100 for each in apart) else WRONG,
            f"sound begins {apart} ms after its pictures", "0")


def judge_sound(case, said):
    true = [hole for each in case["programmes"] if each["sound"] for hole in each["sound"]["holes"]]
    heard = [[round(gap["at_s"], 2), round(gap["length_s"], 3)] for track in said.sounds
             for gap in track["gaps"]]
    holds = len(true) == len(heard) and all(
        abs(gap[1] - hole[1]) < 0.09 for gap, hole in zip(heard, true))
    if not true and heard and said.verdict == "parts missing":
        return WRONG, f"holes in sound {heard[:6]}", true
    return (RIGHT if holds else REFUSED if said.refused else WRONG), heard[:6], true


def judge_variable(told, said):
    if said.first is None or not said.pictures:
        return (REFUSED if said.refused else WRONG), said.words(), f"variable: {told['variable']}"
    track = said.pictures[0]
    words = f"{track['beat']}, {said.words()}"
    if track["beat"] == "variable":
        return RIGHT, words, "variable"
    stated = track["rate_numerator"] / max(1, track["rate_denominator"])
    if told["variable"] == "cadence" and track["missing"] == 0 and abs(stated - 24) < 0.01:
        return RIGHT, words, "24 a second on a grid of 60: none is missing"
    return (REFUSED if said.refused else WRONG), words, f"variable: {told['variable']}"


def judge_rate(told, said):
    """A beat a little off its stated rate: nothing is missing, and the true rate is told somewhere."""
    if not said.pictures:
        return (REFUSED if said.refused else WRONG), said.words(), told["true_rate"]
    track = said.pictures[0]
    stated = track["rate_numerator"] / max(1, track["rate_denominator"])
    true = float(Fraction(told["true_rate"]))
    clock = (track["clock"] or {}).get("ppm", 0)
    off = (true / stated - 1) * 1e6 if stated else 0
    words = f"{stated:.4f}, clock {clock:+.0f} ppm, missing {track['missing']}, {said.words()}"
    # The true beat is told as the rate itself or as how far the clock is off it, either sign.
    holds = track["missing"] == 0 and (abs(off) < 100 or abs(abs(clock) - abs(off)) < 60)
    return (RIGHT if holds else REFUSED if said.refused else WRONG), words, told["true_rate"]


def judge_apart(case, said):
    """Where one track goes on for many seconds without the other, something is not there."""
    if said.verdict == "nothing missing":
        return WRONG, "SILENT " + said.words(), case["apart"]
    return (RIGHT if said.verdict == "parts missing" else REFUSED if said.refused else WRONG,
            said.words(), case["apart"])


def overdone(case, said, gone):
    """More is said to be missing than the damage can have taken: an end lost takes no pictures from within."""
    told = case["programmes"][0]["pictures"]
    missing = sum(track["missing"] for track in said.pictures) - 2 * told["missing"]
    if case["damage"]["kind"] == "later part":  # a step of minutes may as well be a hole
        return False
    ends = case["damage"]["kind"] in ("cut", "unfinished", "part twice", "appended")
    silence = sum(track["gap_seconds"] for track in said.sounds)
    return missing > (4 if ends else max(0, gone) + 5) and not (said.first["remarks"] and not ends) \
        or silence > truth.length_of(told) or ends and "before the recording does" in said.first["headline"]


def judge_damaged(case, said):
    kind = case["damage"]["kind"]
    told = case["programmes"][0]["pictures"]
    written = case["damage"].get("written", told["kept"])
    true = f"{kind}, {case['damage'].get('readable', '?')} of {written} pictures readable"
    if said.first is None:
        return {"damage": (REFUSED if said.refused else WRONG, said.words(), true)}
    present = sum(track["present"] for track in said.pictures)
    words = f"{present} pictures, {said.words()}"
    if said.noted:
        return {"damage": (WRONG if overdone(case, said, written - present) else RIGHT, words, true)}
    # Nothing was said: that is right only where an independent reader finds all that was written.
    whole = case["damage"].get("readable") == written == present
    open_end = case["writer"].endswith("ts") or kind == "unfinished" and case["writer"] in (
        "gst-mp4-fragmented", "gst-mp4-robust")  # up to its last part such a file is whole
    open_end = open_end and kind in ("cut", "unfinished") and present == case["damage"].get("readable")
    if whole or open_end:
        return {"damage": (RIGHT, words, true)}
    return {"damage": (WRONG, f"SILENT {words}", true)}
