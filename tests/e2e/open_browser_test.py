# SPDX-License-Identifier: Apache-2.0
"""The local page in a real browser: a profile by form, a rehearsal from start to stop, results."""

import http.server
import json
import pathlib
import sys
import threading
import time
import unittest

from local_page import LocalPage
from program import InFolder, run, small, starter

sys.path.append(str(pathlib.Path(__file__).parent / "page"))
import browser  # noqa: E402  pylint: disable=wrong-import-position

HOSTILE = "<img src=x onerror=alert(1)><script>alert(1)<\\script>\"' onfocus=alert(1)"
HANGS_AFTER_S = 90  # far above any machine's need; only a hang reaches it


class Visitor(browser.Browser):
    """A browser that goes to addresses and fills in forms."""

    def go(self, address):
        """Opens it, and waits for what a page that goes on by itself goes on to."""
        self.events.clear()
        self.call("Page.navigate", url=address)
        self.until("document.querySelector('.view:not([hidden])') !== null && "
                   "document.querySelectorAll('#pick option').length > 1")
        # What is said stands only until the next is said.
        self.value("""(() => { const say = document.querySelector('#say'); window.said = [say.innerText];
          new MutationObserver(() => window.said.push(say.innerText))
            .observe(say, {childList: true, characterData: true, subtree: true}); })()""")

    def until(self, expression):
        deadline = time.monotonic() + HANGS_AFTER_S
        while True:
            try:
                if self.value(expression):
                    return
            except RuntimeError:
                pass  # between two pages
            if time.monotonic() > deadline:
                raise AssertionError(f"never: {expression}; page: " +
                                     self.value("document.body.innerText")[:2000])
            time.sleep(0.01)

    def until_said(self, text):
        self.until(f"window.said.some((one) => one.includes({text!r}))")

    def type_into(self, selector, text):
        """As a person would: focus, all selected, typed over, left."""
        self.value(f"document.querySelector({selector!r}).focus()")
        self.value(f"document.querySelector({selector!r}).select()")
        self.call("Input.insertText", text=text)
        self.value(f"document.querySelector({selector!r}).dispatchEvent(new Event('change'))")

    def choose(self, selector, value):
        self.value(f"(() => {{ const s = document.querySelector({selector!r});"
                   f" s.value = {value!r}; s.dispatchEvent(new Event('change'));"
                   f" s.dispatchEvent(new Event('input')); }})()")

    def press(self, selector):
        self.value(f"document.querySelector({selector!r}).click()")

    def shown(self, selector):
        return self.value(f"document.querySelector({selector!r})?.innerText ?? ''")


@unittest.skipIf(browser.find() is None, "SKIPPED: chromium is not installed")
class InBrowser(InFolder):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.visitor = Visitor(browser.find())
        cls.addClassCleanup(cls.visitor.close)

    def setUp(self):
        super().setUp()
        self.shelf = self.folder / "shows"
        self.page = LocalPage(self.shelf)
        self.addCleanup(self.page.end)
        self.visitor.begin_anew()

    def come_in(self, width=1280):
        self.visitor.look(width)
        self.visitor.go(self.page.address)

    def told(self, *methods):
        return [e for e in self.visitor.events if e.get("method") in methods]

    def assert_quiet(self):
        """No script failed, nothing was kept back by the policy, nobody else was asked."""
        troubles = [e["params"] for e in self.told("Runtime.exceptionThrown")]
        troubles += [e["params"]["entry"] for e in self.told("Log.entryAdded")
                     if "400 (Bad Request)" not in e["params"]["entry"]["text"]]
        self.assertEqual([], troubles)
        self.assertEqual([], self.told("Page.javascriptDialogOpening"))
        for event in self.told("Network.requestWillBeSent"):
            url = event["params"]["request"]["url"]
            self.assertTrue(url.startswith(("http://" + self.page.authority + "/", "data:")), url)

    def test_a_profile_by_form(self):
        self.come_in()
        visitor = self.visitor
        visitor.until("document.querySelector('#demand table') !== null")
        visitor.until("document.querySelector('#survey table') !== null")
        visitor.type_into("#at-sources-0-rate", "fast")
        visitor.until("document.querySelector('#at-sources-0-rate').getAttribute('aria-invalid')")
        wrong = visitor.shown("#at-sources-0-rate-problem")
        self.assertIn("fast", wrong)
        self.assertIn("allowed", wrong)
        self.assertIn("at-sources-0-rate-problem",
                      visitor.value("document.querySelector('#at-sources-0-rate')"
                                    ".getAttribute('aria-describedby')"))
        visitor.type_into("#at-sources-0-rate", "30000/1001")
        visitor.until("document.querySelector('#form .problem') === null")
        visitor.type_into("#at-sources-0-name", "Desk")
        visitor.type_into("#at-duration_minutes", "45")
        visitor.choose("#at-sources-1-arrives_by", "network")
        visitor.until("document.querySelector('#at-sources-1-codec') !== null")
        visitor.press("#addoutputs")
        visitor.type_into("#at-outputs-2-name", "Second stream")
        visitor.type_into("#file-name", "friday")
        visitor.until("document.querySelector('#mend').hidden")
        visitor.press("#keep")
        visitor.until_said("Saved as friday")
        kept = json.loads((self.shelf / "friday.json").read_text())
        wanted = starter()
        wanted["sources"][0] |= {"name": "Desk", "rate": "30000/1001"}
        wanted["duration_minutes"] = 45
        network = wanted["sources"][1]
        del network["pixel_format"]
        network |= {"arrives_by": "network", "codec": "h264", "bitrate_kbps": 8000}
        wanted["outputs"].append(wanted["outputs"][1] | {"name": "Second stream"})
        self.assertEqual(kept, wanted)
        self.assert_quiet()

    def test_nothing_is_lost_by_editing(self):
        profile = starter() | {
            "camera_control": [{"name": "Chain", "interface": "rs422", "speed_baud": 9600,
                                "cameras": [{"source": "Lectern", "address": 1,
                                             "cable_metres": 10}]}],
            "margins": {"cpu_percent": 31.5}}
        profile["sources"][0]["cable"] = {"kind": "sdi-coax", "metres": 40, "grade": "mini"}
        self.page.post("/api/profile?name=friday", profile)
        self.come_in()
        self.visitor.until("document.querySelector('#at-name')?.value === 'Two-camera talk'")
        self.visitor.type_into("#at-name", "Invented: a new name")
        self.visitor.type_into("#at-sources-0-name", "Desk")
        self.visitor.until("document.querySelector('#raw').value.includes('\"source\": \"Desk\"')")
        self.visitor.press("#keep")
        self.visitor.until_said("Saved as friday")
        profile["name"] = "Invented: a new name"
        profile["sources"][0]["name"] = "Desk"
        profile["camera_control"][0]["cameras"][0]["source"] = "Desk"
        self.assertEqual(json.loads((self.shelf / "friday.json").read_text()), profile)
        # A key that nothing knows stays in the text, and the page says so.
        (self.shelf / "odd.json").write_text(json.dumps(profile | {"colour": "red"}))
        self.visitor.go(self.page.address)
        self.visitor.choose("#pick", "stored:odd")
        self.visitor.until("document.querySelector('#mend').innerText.includes('/colour')")
        self.assertIn('"colour"', self.visitor.value("document.querySelector('#raw').value"))
        self.assert_quiet()

    def test_no_other_server_of_this_pc_gets_the_cookie(self):
        """Cookies do not know ports (RFC 6265, 8.5): another server's own proves that here."""
        received = []

        class Other(http.server.BaseHTTPRequestHandler):
            def do_GET(self):  # pylint: disable=invalid-name
                received.append((self.path, self.headers.get("Cookie", "")))
                self.send_response(200)
                self.send_header("Set-Cookie", "others=1; Path=/")
                self.end_headers()
                self.wfile.write(b"<title>other</title>")

            def log_message(self, *_):
                pass

        other = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Other)
        self.addCleanup(other.server_close)
        threading.Thread(target=other.serve_forever, daemon=True).start()
        self.addCleanup(other.shutdown)
        self.come_in()
        for path in ("/", "/page.js", "/?token=x"):
            self.visitor.call("Page.navigate", url=f"http://127.0.0.1:{other.server_port}{path}")
            self.visitor.until("document.title === 'other'")
            self.visitor.call("Page.navigate", url="about:blank")
            self.visitor.until("location.href === 'about:blank'")
        self.assertIn("others=1", received[-1][1])
        for path, cookies in received:
            self.assertNotIn("rigproof", cookies, path)
        # The page itself goes on with its own.
        self.visitor.go("http://" + self.page.authority + self.page.place + "/")

    def raw(self):
        return json.loads(self.visitor.value("document.querySelector('#raw').value"))

    def rename(self, at, name):
        self.visitor.type_into(f"#at-sources-{at}-name", name)
        self.visitor.until(f"document.querySelectorAll('#form legend')[{at}].innerText"
                           f".endsWith(': ' + {name!r})")

    def test_a_rename_is_followed_where_a_name_means_one_source(self):
        profile = starter()
        one, two = profile["sources"]
        profile["sources"] = [one | {"name": "Camera"}, two | {"name": "Camera 2"},
                              one | {"name": "Desk", "count": 2}]
        iso = profile["outputs"][0] | {"kind": "iso"}
        profile["outputs"] = [iso | {"name": name, "takes": name}
                              for name in ("Camera", "Camera 2", "Desk 1", "Desk 2")]
        self.page.post("/api/profile?name=friday", profile)
        self.come_in()
        self.visitor.until("document.querySelector('#at-sources-2-name')?.value === 'Desk'")
        for at, name, taken in (
                (0, "Left", ["Left", "Camera 2", "Desk 1", "Desk 2"]),
                (2, "Stage", ["Left", "Camera 2", "Stage 1", "Stage 2"]),
                (0, "Camera 2", ["Left", "Camera 2", "Stage 1", "Stage 2"]),
                (0, "Right", ["Right", "Camera 2", "Stage 1", "Stage 2"])):
            with self.subTest(at=at, name=name):
                self.rename(at, name)
                self.assertEqual(taken, [output["takes"] for output in self.raw()["outputs"]])
        self.assert_quiet()

    def test_what_is_selected_stays_so_when_the_form_is_drawn_anew(self):
        self.page.post("/api/profile?name=friday", starter())
        self.come_in()
        visitor = self.visitor
        visitor.until("document.querySelector('#at-name')?.value === 'Two-camera talk'")
        # As by the tabulator key: the next field is entered, all of it selected, and the rename is
        # followed only then.
        selected = visitor.value("""(() => {
          const name = document.querySelector('#at-sources-0-name');
          name.value = 'Desk';
          for (const event of ['input', 'change']) name.dispatchEvent(new Event(event));
          const next = document.querySelector('#at-duration_minutes');
          next.focus();
          next.select();
          next.dataset.before = 'yes';
          return next.value; })()""")
        visitor.until("!('before' in document.querySelector('#at-duration_minutes').dataset)")
        visitor.call("Input.insertText", text="45")
        self.assertNotEqual("45", selected)
        self.assertEqual("45", visitor.value("document.querySelector('#at-duration_minutes').value"))
        self.assertEqual(45, self.raw()["duration_minutes"])
        self.assert_quiet()

    def test_what_is_typed_while_it_is_kept_is_not_taken_for_kept(self):
        self.page.post("/api/profile?name=friday", starter())
        self.come_in()
        visitor = self.visitor
        visitor.until("document.querySelector('#at-name')?.value === 'Two-camera talk'")
        visitor.value("""(() => { const real = window.fetch; window.asked = [];
          window.confirm = (text) => { window.asked.push(text); return false; };
          window.fetch = async (path, options) => {
            if (options?.method === 'POST' && path.startsWith('api/profile')) {
              await new Promise((go) => { window.go_on = go; });
            }
            return real(path, options); }; })()""")
        visitor.type_into("#at-name", "Invented: sent")
        visitor.press("#keep")
        visitor.until("window.go_on !== undefined")
        visitor.type_into("#at-name", "Invented: typed later")
        visitor.value("window.go_on()")
        visitor.until_said("Saved as friday")
        self.assertEqual("Invented: sent",
                         json.loads((self.shelf / "friday.json").read_text())["name"])
        visitor.choose("#pick", "starter:two-camera-talk")
        self.assertEqual(1, visitor.value("window.asked.length"))
        self.assertEqual("Invented: typed later", self.raw()["name"])
        self.assert_quiet()

    def test_what_somebody_else_has_changed_is_not_written_over(self):
        self.page.post("/api/profile?name=friday", starter())
        self.come_in()
        visitor = self.visitor
        visitor.until("document.querySelector('#at-name')?.value === 'Two-camera talk'")
        theirs = json.dumps(starter() | {"name": "Invented: theirs"})
        (self.shelf / "friday.json").write_text(theirs)
        visitor.type_into("#at-name", "Invented: mine")
        visitor.press("#keep")
        visitor.until("!document.querySelector('#file-problem').hidden")
        self.assertIn("has changed", visitor.shown("#file-problem"))
        self.assertEqual(theirs, (self.shelf / "friday.json").read_text())
        visitor.type_into("#file-name", "saturday")
        visitor.press("#keep")
        visitor.until_said("Saved as saturday")
        self.assertEqual("Invented: mine",
                         json.loads((self.shelf / "saturday.json").read_text())["name"])
        self.assert_quiet()

    def test_a_profile_of_a_result_replaces_no_edit_unasked(self):
        self.page.post("/api/profile?name=friday", starter())
        run("survey", "two-camera-talk", "--into", self.shelf / "a", "--quiet")
        self.come_in()
        visitor = self.visitor
        visitor.until("document.querySelector('#at-name')?.value === 'Two-camera talk'")
        visitor.value("""(() => { window.asked = []; window.answer = false;
          window.confirm = (text) => { window.asked.push(text); return window.answer; }; })()""")
        visitor.type_into("#at-name", "Invented: an edit")
        visitor.press("#cards .card button")
        visitor.until("window.asked.length === 1")
        self.assertEqual("Invented: an edit", self.raw()["name"])
        visitor.value("window.answer = true")
        visitor.press("#cards .card button")
        visitor.until("document.querySelector('#at-name').value === 'Two-camera talk'")
        self.assert_quiet()

    def test_whether_an_addition_fits_is_told_in_the_words_of_the_command(self):
        run("survey", "two-camera-talk", "--into", self.shelf / "a", "--quiet")
        self.come_in()
        visitor = self.visitor
        visitor.value("location.hash = '#size'")
        visitor.until("document.querySelector('#added-result')?.value === 'a'")
        visitor.value("document.querySelector('#size-form').requestSubmit()")
        visitor.until("document.querySelector('#size-answer table') !== null")
        said = run("size", self.shelf / "a", "--add", "1920x1080 25 usb nv12 talk").stdout
        for title in ("Calculated from", "Not proven", "Headroom then", "Take care", "How"):
            self.assertIn(title, visitor.shown("#size-answer"))
            self.assertIn(f"\n{title}\n", said)
        self.assertRegex(visitor.shown("#size-answer"), r"memory\t.*✓ \d+ %")
        self.assert_quiet()

    def test_a_rehearsal_from_start_to_stop(self):
        self.page.post("/api/profile?name=friday", small())
        self.come_in()
        visitor = self.visitor
        visitor.value("location.hash = 'rehearsal'")
        visitor.until("document.querySelector('#run-profile').value === 'friday'")
        visitor.press("#start")
        visitor.until("!document.querySelector('#start-problem').hidden")
        self.assertIn("cautions", visitor.shown("#start-problem"))
        self.assertEqual(self.page.get("/api/run").json()["stage"], "none")
        visitor.press("#understood")
        visitor.press("#start")
        visitor.until("document.querySelector('.phase-now')?.innerText.includes('disk')")
        visitor.until_said("Now: disk")
        # A look that fails is not the last one.
        visitor.value("""(() => { const real = window.fetch; window.to_fail = 2;
          window.fetch = (path, options) => (path === 'api/run' && window.to_fail > 0
            ? (window.to_fail -= 1, Promise.reject(new TypeError())) : real(path, options)); })()""")
        visitor.until("window.to_fail === 0")
        visitor.press("#stop")
        # Short or unproven: what was measured by then depends on how soon the stop came.
        visitor.until("document.querySelector('#run-end').innerText.includes('Stopped before its end')")
        visitor.value("location.hash = 'results'")
        visitor.until("document.querySelectorAll('#cards .card').length === 1")
        self.assertIn("incomplete", visitor.shown("#cards .card"))
        self.assert_quiet()
        result, = self.shelf.glob("*/result.json")
        address = visitor.value("document.querySelector('#cards a.main').href")
        visitor.call("Page.navigate", url=address)
        verdict = json.loads(result.read_text())["verdict"]
        self.assertIn(verdict, ("short", "unproven"))
        visitor.until("document.querySelector('.verdict')?.innerText.toLowerCase()"
                      f".includes({verdict!r})")
        # The report stands apart: no cookie, no way to ask.
        self.assertEqual("null", visitor.value("self.origin"))

    def test_hostile_text_stays_text(self):
        profile = starter()
        name = HOSTILE.replace("\\", "")
        profile["name"] = profile["sources"][0]["name"] = profile["outputs"][0]["name"] = name
        profile["note"] = profile["sources"][0]["device"] = HOSTILE
        answer = self.page.post("/api/profile?name=friday", profile)
        self.assertEqual(answer.status, 200, answer.text())
        folder = self.shelf / HOSTILE.replace("\\", "")
        folder.mkdir()
        (folder / "result.json").write_text(json.dumps(
            {"format": "rigproof-result", "verdict": HOSTILE, "headline": HOSTILE,
             "started_at": HOSTILE, "length": HOSTILE, "profile": {"name": HOSTILE},
             "headroom": [{"resource": HOSTILE, "headroom_percent": 1, "margin_percent": 1}]}))
        self.come_in()
        self.visitor.until("document.querySelector('#survey table') !== null")
        for view in ("rehearsal", "results", "size", "production"):
            self.visitor.value(f"location.hash = {view!r}")
            self.visitor.until(f"!document.querySelector('[data-view={view}]').hidden")
        self.assertIn("onerror", self.visitor.value(
            "document.querySelector('#cards').textContent"))
        self.assertEqual(0, self.visitor.value(
            "document.querySelectorAll('img, main script, [onerror], [onfocus]').length"))
        self.assert_quiet()

    def test_fits_a_phone_and_names_what_a_screen_reader_meets(self):
        self.page.post("/api/profile?name=friday", starter())
        self.come_in(width=360)
        self.visitor.until("document.querySelector('#survey table') !== null")
        for view in ("production", "rehearsal", "results", "size"):
            self.visitor.value(f"location.hash = {view!r}")
            self.visitor.until(f"!document.querySelector('[data-view={view}]').hidden")
            self.assertEqual(360, self.visitor.value("document.documentElement.scrollWidth"), view)
            unnamed = """[...document.querySelectorAll('.view:not([hidden]) ' +
                ':is(input, select, textarea, button, a)')].filter((one) =>
                !(one.labels?.length || one.getAttribute('aria-label') || one.textContent.trim()))
                .map((one) => one.outerHTML)"""
            self.assertEqual([], self.visitor.value(unnamed))
            self.assertEqual(1, self.visitor.value(
                "document.querySelectorAll('.view:not([hidden]) h1').length"))
        self.visitor.value("location.hash = 'production'")
        doubled = """(() => { const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);
          return ids.filter((id, at) => ids.indexOf(id) !== at); })()"""
        self.assertEqual([], self.visitor.value(doubled))
        self.assert_quiet()


if __name__ == "__main__":
    unittest.main()
