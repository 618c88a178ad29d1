# SPDX-License-Identifier: Apache-2.0
"""What is true of a recording, written before the recording is made."""

from fractions import Fraction

RATES = ("24000/1001", "24", "25", "30000/1001", "30", "50", "60000/1001", "60", "120000/1001")


def losses(dice, shape, slots, rate):
    """Slots whose pictures are taken out, as [first, count]; the first and the last slot stay."""
    inside = range(2, slots - 2)
    apart = round(0.55 * float(Fraction(rate)))  # no three single ones within a second: that is a burst
    if shape == "none":
        return []
    if shape == "single":
        return [[dice.choice(inside), 1]]
    if shape == "scattered":
        return spread(dice, inside, max(6, slots // 70), apart)
    if shape == "bursts":
        starts = [slots * (2 * place + 1) // 10 + dice.randrange(slots // 14) for place in range(5)]
        return [[first, dice.randint(3, max(4, min(14, slots // 40)))]
                for first in sorted(dice.sample(starts, dice.randint(3, 5)))]
    if shape == "even":
        step = dice.choice([5, 7, 10, 12, 20, 25])
        return [[first, 1] for first in range(step, slots - 2, step)]
    if shape == "second":
        return [[first, 1] for first in range(1, slots - 1, 2)]
    if shape == "beginning":
        return spread(dice, range(2, min(slots // 4, 8 * apart)), 6, apart)  # within 4.4 s
    if shape == "end":
        return spread(dice, range(slots - min(slots // 4, 8 * apart), slots - 2), 6, apart)
    seconds = dice.choice([1.0, 1.4, 2.3, 4.0])  # one hole
    count = min(round(seconds * float(Fraction(rate))), slots // 2)
    return [[dice.randrange(slots // 5, slots * 4 // 5 - count), count]]


def spread(dice, inside, count, apart):
    """Single slots at random, at least so many slots from one to the next."""
    room = len(inside) - (count - 1) * apart
    if room < 2:
        return spread(dice, inside, count - 1, apart)
    return [[inside[at] + place * apart, 1]
            for place, at in enumerate(sorted(dice.choices(range(room), k=count)))]


def pictures(base, rate, slots, removed=(), **more):
    return {"base": base, "rate": rate, "slots": slots, "removed": [list(each) for each in removed],
            "doubled": [], "swapped": [], "variable": None, "jitter_ms": 0, "begins_s": 0,
            "true_rate": rate, **more}


def sound(base, begins_s, ends_s, **more):
    return {"base": base, "begins_s": begins_s, "ends_s": ends_s, "ppm": 0, "holes": [],
            "jitter_ms": 0, **more}


def length_of(told):
    return told["slots"] / float(Fraction(told["true_rate"]))


def trimmed(told, shown):
    """The truth of as many pictures as the base can give whole: a stream ends where none waits."""
    kept = kept_slots(told)
    gone = set(range(told["slots"])) - set(kept)
    told["doubled"] = [slot for slot in told["doubled"] if slot not in gone]
    told["swapped"] = [slot for slot in told["swapped"] if not {slot, slot + 1} & gone]
    whole = highest = 0
    for place, shows in enumerate(shown[:len(kept)]):
        highest = max(highest, shows)
        if highest == place:
            whole = place + 1
    if whole < len(kept):
        last = kept[whole - 1]
        told["slots"] = told["count"] = last + 1
        told["removed"] = [[first, count] for first, count in told["removed"] if first < last]
        told["doubled"] = [slot for slot in told["doubled"] if slot < last]
        told["swapped"] = [slot for slot in told["swapped"] if slot < last - 1]
        del kept[whole:]
    told["kept"] = len(kept)
    told["missing"] = told["slots"] - len(set(kept))
    return kept


def kept_slots(told):
    """The slots that have a picture, in the order in which they are shown; doubled ones twice."""
    if told["variable"]:
        return list(range(told.setdefault("count", told["slots"])))
    gone = {first + place for first, count in told["removed"] for place in range(count)}
    kept = []
    for slot in range(told["slots"]):
        if slot not in gone:
            kept += [slot] * (2 if slot in told["doubled"] else 1)
    return kept


def picture_stamps(told, kept, dice):
    """Seconds of the kept pictures in the order in which they are shown."""
    beat = 1 / float(Fraction(told["true_rate"]))
    if told["variable"]:
        stamps = variable_stamps(told, len(kept), beat, dice)
    else:
        stamps = [told["begins_s"] + slot * beat for slot in kept]
    if told["jitter_ms"]:
        most = told["jitter_ms"] / 1000
        stamps = [at + dice.uniform(-most, most) if place else at for place, at in enumerate(stamps)]
        for place in range(1, len(stamps)):
            stamps[place] = max(stamps[place], stamps[place - 1] + 0.0005)
    for slot in told["swapped"]:
        place = kept.index(slot)
        stamps[place], stamps[place + 1] = stamps[place + 1], stamps[place]
    return stamps


def variable_stamps(told, count, beat, dice):
    """A grid that is used when something changes, a cadence of 3 and 2, a rate halved in between."""
    at, stamps = told["begins_s"], []
    for place in range(count):
        stamps.append(at)
        if told["variable"] == "grid":
            at += beat * dice.choice([1, 1, 2, 2, 3, 4, 5, 7, 12])
        elif told["variable"] == "cadence":
            at += beat * (2 + place % 2)
        elif told["variable"] == "halved":
            at += beat * (2 if count // 3 <= place < 2 * count // 3 else 1)
        else:  # a beat that wanders, as a telephone's does
            at += beat * dice.uniform(0.7, 1.5)
    told["slots"] = round((at - told["begins_s"]) / beat)
    return stamps


def sound_stamps(told, samples, rate, dice):
    """Seconds of the sound's packets: the clock of the sound runs fast by so many ppm."""
    step = samples / rate / (1 + told["ppm"] / 1e6)
    stamps, place = [], 0
    while (at := told["begins_s"] + place * step) < told["ends_s"]:
        if not any(first <= at < first + long for first, long in told["holes"]):
            most = told["jitter_ms"] / 1000
            stamps.append(at + (dice.uniform(0, most) if place else 0))
        place += 1
    return stamps
