# SPDX-License-Identifier: Apache-2.0
#
# The report page audited by axe-core, which is no part of this repository: what it calls serious or
# critical fails. fetch_axe.sh gets it through npm where there is one.
#
# usage: accessibility_test.py RENDER_SAMPLE_PAGE   (exit status 77: no Chromium or no axe-core here)

import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.dont_write_bytecode = True
import browser  # noqa: E402

RENDER = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ''
CACHE = pathlib.Path(os.environ.get('XDG_CACHE_HOME', pathlib.Path.home() / '.cache'))
AXE = pathlib.Path(os.environ.get('RIGPROOF_AXE', CACHE / 'rigproof-axe/axe.min.js'))

AUDIT = '''axe.run(document, {resultTypes: ["violations"], ...RULES}).then((done) => ({
  passed: done.passes.length,
  found: done.violations.map((one) => one.impact + " " + one.id + " (" + one.nodes.length + "): " +
    one.nodes[0].target.join(" ") + " " + (one.nodes[0].failureSummary || "").slice(0, 300))}))'''


class Accessibility(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory(prefix='rigproof-page-')
        cls.browser = browser.Browser(browser.find())
        cls.axe = AXE.read_text(encoding='utf-8')

    @classmethod
    def tearDownClass(cls):
        cls.browser.close()
        cls.folder.cleanup()

    def audit(self, kind, *look):
        path = os.path.join(self.folder.name, kind + '.html')
        if not os.path.exists(path):
            with open(path, 'wb') as file:
                subprocess.run([RENDER, kind], stdout=file, check=True)
        self.browser.look(*look)
        self.browser.open_and_wait(path)
        self.browser.value(self.axe + ';0')
        # Dark is the same page in other colours.
        dark = 'dark' in look
        done = self.browser.value(AUDIT.replace('RULES', '{runOnly: ["color-contrast", "link-in-text-block"]}' if dark else '{}'))
        self.assertGreater(done['passed'], 0 if dark else 10)  # it looked at something
        for line in done['found']:
            print(kind, *look, line, file=sys.stderr)
        return [line for line in done['found'] if line.startswith(('serious', 'critical'))]

    def test_nothing_serious(self):
        for kind in ('plain', 'two-cameras'):
            for look in ((1280, 900, 'light'), (1280, 900, 'dark'), (390, 844, 'light')):
                with self.subTest(kind=kind, look=look):
                    self.assertEqual([], self.audit(kind, *look))


if __name__ == '__main__':
    if browser.find() is None or not AXE.is_file():
        print('SKIPPED: ' + ('chromium is not installed' if browser.find() is None else
                             f'axe-core is not at {AXE} (tests/e2e/page/fetch_axe.sh gets it)')
              + ', the page was not audited')
        sys.exit(77)
    unittest.main(verbosity=2)
