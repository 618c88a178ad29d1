#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""How large the report page is and how soon it is there, in headless Chromium.

Makes the page of an invented result with the windows of an hour, opens it again and again in a
browser, and prints for each opening the time until it is ready (DOMContentLoaded, from the start of
the navigation; below 200 ms is wanted) and the slowest of 50 answers of its what-if part with their
drawing, then how many of all answers took no longer than an animation frame (16.7 ms), and its bytes.

Usage: scripts/measure_page.py [BUILD_FOLDER] [--times 9] [--seconds 3600]
"""

import argparse
import pathlib
import statistics
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
sys.dont_write_bytecode = True
sys.path.append(str(HERE.parent / "tests" / "e2e" / "page"))
import browser  # noqa: E402  pylint: disable=wrong-import-position

READY_MS = 'performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd'
ANSWERS_MS = """(() => {
  const field = document.querySelector("#what-if select"), took = [];
  for (let i = 0; i < 50; ++i) {
    field.value = i % field.options.length;
    field.dispatchEvent(new Event("change"));
    took.push(performance.getEntriesByName("what-if")[0].duration);
  }
  return took;
})()"""
FRAME_MS = 1000 / 60


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("build", type=pathlib.Path, nargs="?", default=HERE.parent / "build/release")
    parser.add_argument("--times", type=int, default=9)
    parser.add_argument("--seconds", type=int, default=3600)
    asked = parser.parse_args()
    found = browser.find()
    if found is None:
        sys.exit("measure_page: Chromium is not installed")
    render = asked.build / "tests/unit/report/render_sample_page"
    with tempfile.TemporaryDirectory(prefix="rigproof-page-") as folder:
        page = pathlib.Path(folder) / "report.html"
        with open(page, "wb") as file:
            subprocess.run([render, "plain", str(asked.seconds)], stdout=file, check=True)
        window = browser.Browser(found)
        ready, answers = [], []
        for _ in range(asked.times):
            window.look(1280)
            window.open_and_wait(str(page))
            ready.append(window.value(READY_MS))
            answers.append(window.value(ANSWERS_MS))
        window.close()
        for name, taken in (("ready after", ready), ("slowest answer", [max(each) for each in answers])):
            print(f"{name}, opening by opening: {', '.join(f'{ms:.0f}' for ms in taken)} ms; "
                  f"median {statistics.median(taken):.0f}")
        every = [ms for each in answers for ms in each]
        within = sum(ms <= FRAME_MS for ms in every)
        print(f"{within} of {len(every)} answers within one frame, median {statistics.median(every):.1f} ms; "
              f"{page.stat().st_size / 1e3:.0f} kB")


if __name__ == "__main__":
    main()
