# SPDX-License-Identifier: Apache-2.0
#
# The report page in a real browser: draws, asks for nothing, fits, and takes hostile text as text.
#
# usage: page_test.py RENDER_SAMPLE_PAGE   (exit status 77: there is no Chromium here)

import os
import subprocess
import sys
import tempfile
import unittest

sys.dont_write_bytecode = True
import browser  # noqa: E402

RENDER = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ''

INKED = '''[...document.querySelectorAll(".plot")].map((plot) => ({
  id: plot.id, drawn: plot.dataset.drawn === "yes" || plot.matches("[data-drawn] + .paper"),
  inked: [...plot.querySelectorAll("canvas")].some((canvas) => canvas.width > 0 &&
    canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data
      .some((level) => level > 0))}))'''


class Page(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory(prefix='rigproof-page-')
        cls.browser = browser.Browser(browser.find())

    @classmethod
    def tearDownClass(cls):
        cls.browser.close()
        cls.folder.cleanup()

    def show(self, kind, *look, scripted=True):
        path = os.path.join(self.folder.name, kind + '.html')
        if not os.path.exists(path):
            with open(path, 'wb') as file:
                subprocess.run([RENDER, kind], stdout=file, check=True)
        self.browser.look(*(look or (1280,)))
        (self.browser.open_and_wait if scripted else self.browser.open)(path)

    def told(self, *methods):
        return [e for e in self.browser.events if e.get('method') in methods]

    def test_draws_every_chart_and_says_nothing_on_the_console(self):
        self.show('plain')
        charts = self.browser.value(INKED)
        # Eight outputs, CPU, disk writing, flat out, one folder: on the screen and for paper.
        self.assertEqual(24, len(charts))
        self.assertEqual([], [c for c in charts if not (c['drawn'] and c['inked'])])
        self.assertEqual([], self.told('Log.entryAdded', 'Runtime.exceptionThrown',
                                       'Runtime.consoleAPICalled'))

    def test_asks_for_nothing_but_itself(self):
        self.show('plain')
        urls = [e['params']['request']['url'] for e in self.told('Network.requestWillBeSent')]
        self.assertEqual(['plain.html'], [url.rsplit('/', 1)[-1] for url in urls])

    def test_keeps_a_script_that_is_not_its_own_from_running(self):
        self.show('plain')
        self.browser.value('''(() => { const script = document.createElement("script");
          script.textContent = "window.strange = 1"; document.body.append(script); })()''')
        self.assertEqual('undefined', self.browser.value('typeof window.strange'))

    def test_hostile_text_makes_no_element_and_no_attribute(self):
        self.show('harmless')
        harmless = self.browser.value(browser.STRUCTURE)
        self.show('hostile')
        hostile = self.browser.value(browser.STRUCTURE)
        self.assertEqual(harmless, hostile)
        self.assertEqual([], self.told('Page.javascriptDialogOpening', 'Runtime.exceptionThrown'))

    def test_fits_a_phone(self):
        for kind in ('plain', 'hostile'):
            self.show(kind, 360, 760)
            self.assertEqual(360, self.browser.value('document.documentElement.scrollWidth'), kind)

    def test_without_script_every_table_is_open(self):
        self.browser.call('Emulation.setScriptExecutionDisabled', value=True)
        self.addCleanup(self.browser.call, 'Emulation.setScriptExecutionDisabled', value=False)
        self.show('plain', scripted=False)
        top = self.browser.call('DOM.getDocument')['root']['nodeId']

        def count(selector):
            return len(self.browser.call('DOM.querySelectorAll', nodeId=top,
                                         selector=selector)['nodeIds'])
        self.assertEqual(12, count('.stand-in[open] table'))
        self.assertEqual(0, count('.stand-in:not([open])'))
        self.assertEqual(0, count('canvas'))

    def test_dark_changes_the_ground(self):
        ground = 'getComputedStyle(document.documentElement).backgroundColor'
        self.show('plain', 1280, 900, 'light')
        light = self.browser.value(ground)
        self.show('plain', 1280, 900, 'dark')
        self.assertNotEqual(light, self.browser.value(ground))

    def test_names_what_a_screen_reader_meets(self):
        self.show('plain')
        self.assertEqual(1, self.browser.value('document.querySelectorAll("main h1").length'))
        for unnamed in ('table:not(:has(caption))', 'svg[role=img]:not([aria-label])',
                        'section:not([aria-labelledby]):not([aria-label])',
                        '[role=region]:not([aria-label])'):
            self.assertEqual(
                0, self.browser.value(f'document.querySelectorAll({unnamed!r}).length'), unnamed)
        dead = '''[...document.querySelectorAll('a[href^="#"]')].map((a) => a.hash.slice(1))
          .filter((id) => !document.getElementById(id))'''
        self.assertEqual([], self.browser.value(dead))
        doubled = '''(() => { const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
          return ids.filter((id, at) => ids.indexOf(id) !== at); })()'''
        self.assertEqual([], self.browser.value(doubled))

    def test_prints_its_charts_on_a_few_pages(self):
        self.show('plain', 1280, 900, 'dark')
        pdf = self.browser.paper()
        self.assertGreaterEqual(pdf.count(b'/Subtype /Image'), 12)  # PDF: an image XObject
        pages = pdf.count(b'/Type /Page\n')
        self.assertTrue(5 <= pages <= 20, pages)


if __name__ == '__main__':
    if browser.find() is None:
        print('SKIPPED: chromium is not installed, the page was not looked at')
        sys.exit(77)
    unittest.main(verbosity=2)
