#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Writes the samples in README.md and docs/ anew from real runs of the program.

Usage: scripts/refresh_samples.py PROGRAM [SAMPLE...]   (all without a name; names stand in <!-- sample: NAME -->)

demand and move-plan come out the same each time: the test e2e.docs looks at them. qualify and size rehearse the profile of
the README (never during a live event, on an idle PC, two minutes), as root, in a network of its own with one virtual
link, since a virtual machine's network card tells no speed; they are written only when the verdict is ready. examine needs
the program ffmpeg."""

import pathlib
import re
import subprocess
import sys
import tempfile

TOP = pathlib.Path(__file__).resolve().parent.parent
PAGES = [TOP / "README.md", *sorted((TOP / "docs").glob("*.md"))]
BLOCK = re.compile(r"(<!-- sample: (\S+) -->\n)((?:    .*\n|\n(?=    ))+)")
PROFILE = re.compile(r"<!-- profile: show\.json -->\n((?:    .*\n)+)")
NETWORK = """mount -t sysfs sysfs /sys && ip link set lo up && ip link add eth0 type veth peer name eth1 &&
ip addr add 192.0.2.1/24 dev eth0 && ip link set eth0 up && ip link set eth1 up &&
ip route add default via 192.0.2.2 dev eth0 && exec "$@" """
HOLES = "not(between(n,1000,1011)+between(n,1500,1507)+between(n,2200,2216))"


def output(*command, status=(0,), cwd=None):
    done = subprocess.run([str(word) for word in command], cwd=cwd, check=False, stdin=subprocess.DEVNULL,
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    if done.returncode not in status:
        raise SystemExit(f"{' '.join(map(str, command))}: status {done.returncode}\n{done.stdout}{done.stderr}")
    return done.stdout


def show_json(folder):
    """The profile of the README as a file."""
    found = PROFILE.search((TOP / "README.md").read_text("utf-8"))
    path = folder / "show.json"
    path.write_text("".join(line[4:] for line in found.group(1).splitlines(keepends=True)), "utf-8")
    return path


def paragraphs(text):
    return [part.strip("\n") for part in re.split(r"\n\s*\n", text)]


def demand(program, folder):
    return output(program, "demand", show_json(folder))


def move_plan(program, _):
    machine = next((TOP / "tests/fixtures/machines").glob("2xhci-2capture-hub-disk*"))
    text = output(program, "survey", "two-camera-talk", "--quiet", "--details", "--machine", machine, status=(5,))
    return next(part for part in paragraphs(text) if part.startswith("Move plan"))


def examine(program, folder):
    output("ffmpeg", "-loglevel", "error", "-f", "lavfi", "-i", "testsrc2=s=320x180:r=25:d=120", "-f", "lavfi", "-i",
           "sine=d=120", "-vf", f"select='{HOLES}'", "-fps_mode", "passthrough", "-c:v", "libx264", "-preset", "ultrafast",
           "-c:a", "aac", "take.mkv", cwd=folder)
    text = output(program, "examine", "--quiet", "take.mkv", status=(4,), cwd=folder)
    return "\n\n".join(part for part in paragraphs(text) if not part.startswith("Sound"))


def qualified(program, folder):
    """A ready result of the README's profile, made once for all samples; the text beside it."""
    text = folder / "qualify.txt"
    if not text.exists():
        show_json(folder)
        text.write_text(output("unshare", "-n", "-m", "sh", "-c", NETWORK, "sh", program, "qualify", "show.json", "--quiet",
                               cwd=folder), "utf-8")
    return text.read_text("utf-8")


def qualify(program, folder):
    parts = paragraphs(qualified(program, folder))
    if sum(part.count("\n") + 2 for part in parts) < 16:
        return "\n\n".join(parts)
    return "\n\n".join([parts[0], *[part for part in parts[1:] if part.startswith("Headroom (")]])


def size(program, folder):
    qualified(program, folder)
    text = output(program, "size", "rigproof-result", "--add", "1920x1080 50 network h264 8000 iso", "--quiet",
                  status=(0, 3, 4), cwd=folder)
    # Without the line that names the PC's processor.
    return "\n\n".join(part for part in paragraphs(text) if not part.startswith(("result", "Take care", "How")))


MAKERS = {"demand": demand, "examine": examine, "move-plan": move_plan, "qualify": qualify, "size": size}


def indented(text):
    return "".join(f"    {line}".rstrip() + "\n" for line in text.strip("\n").splitlines())


def main(program, wanted):
    program = pathlib.Path(program).resolve()
    with tempfile.TemporaryDirectory(prefix="rigproof-samples-") as made:
        for page in PAGES:
            before = page.read_text("utf-8")
            after = BLOCK.sub(lambda block: block.group(1) + indented(MAKERS[block.group(2)](program, pathlib.Path(made)))
                              if not wanted or block.group(2) in wanted else block.group(0), before)
            if after != before:
                page.write_text(after, "utf-8")
                print(f"wrote {page.relative_to(TOP)}")


if __name__ == "__main__":
    if len(sys.argv) < 2 or not set(sys.argv[2:]) <= set(MAKERS):
        sys.exit(f"usage: scripts/refresh_samples.py PROGRAM [{'|'.join(MAKERS)}]...")
    main(sys.argv[1], sys.argv[2:])
