# SPDX-License-Identifier: Apache-2.0
#
# A headless Chromium, driven over its debugging pipe with Python's own library only.

import base64
import json
import os
import select
import shutil
import signal
import subprocess
import tempfile
import time

FLAGS = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
         '--disable-background-networking', '--disable-component-update', '--disable-sync',
         '--hide-scrollbars', '--remote-debugging-pipe']


def find():
    """The path of a Chromium, or nothing."""
    return shutil.which('chromium') or shutil.which('chromium-browser')


# What a page is made of. Which regions scroll, and so can be reached by keyboard, depends on the length of texts.
STRUCTURE = '''[...document.querySelectorAll("*")].map((element) => element.tagName + " " +
  element.getAttributeNames().filter((name) => name !== "tabindex").sort().join(" "))'''


class Browser:
    """One page of one browser; `events` keeps all that it told."""

    def __init__(self, program):
        self.folder = tempfile.mkdtemp(prefix='rigproof-page-')
        to_browser, self.to_browser = os.pipe()
        self.from_browser, from_browser = os.pipe()

        def take_pipes():  # the browser reads commands at 3 and answers at 4
            spare_in, spare_out = os.dup(to_browser), os.dup(from_browser)
            os.dup2(spare_in, 3)
            os.dup2(spare_out, 4)

        self.process = subprocess.Popen(
            [program, *FLAGS, '--user-data-dir=' + self.folder, 'about:blank'],
            preexec_fn=take_pipes, close_fds=False, start_new_session=True,
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_browser)
        os.close(from_browser)
        self.number, self.rest, self.events, self.session = 0, b'', [], None
        self.profile = None
        targets = self.call('Target.getTargets')['targetInfos']
        self._take(next(t['targetId'] for t in targets if t['type'] == 'page'))

    def _take(self, page):
        self.session = self.call('Target.attachToTarget', targetId=page, flatten=True)['sessionId']
        for domain in ('Page', 'Runtime', 'Log', 'Network'):
            self.call(domain + '.enable')

    def begin_anew(self):
        """Another page that knows nothing of those before it: no cookie, nothing stored."""
        self.session = None
        if self.profile:
            self.call('Target.disposeBrowserContext', browserContextId=self.profile)
        self.profile = self.call('Target.createBrowserContext')['browserContextId']
        page = self.call('Target.createTarget', url='about:blank', browserContextId=self.profile)
        self._take(page['targetId'])
        self.events.clear()

    def _message(self, deadline):
        while b'\0' not in self.rest:
            left = deadline - time.monotonic()
            if left <= 0 or not select.select([self.from_browser], [], [], left)[0]:
                raise TimeoutError('the browser does not answer')
            chunk = os.read(self.from_browser, 1 << 16)
            if not chunk:
                raise ConnectionError('the browser has ended')
            self.rest += chunk
        text, self.rest = self.rest.split(b'\0', 1)
        return json.loads(text)

    def call(self, method, **params):
        """One command of the debugging protocol; its result."""
        self.number += 1
        message = {'id': self.number, 'method': method, 'params': params}
        if self.session:
            message['sessionId'] = self.session
        os.write(self.to_browser, json.dumps(message).encode() + b'\0')
        deadline = time.monotonic() + 90
        while True:
            answer = self._message(deadline)
            if answer.get('id') == self.number:
                if 'error' in answer:
                    raise RuntimeError(f"{method}: {answer['error']['message']}")
                return answer['result']
            self.events.append(answer)

    def open(self, path):
        """Opens a file and waits until the page has loaded."""
        self.events.clear()
        self.call('Page.navigate', url='file://' + os.path.abspath(path))
        deadline = time.monotonic() + 90
        while not any(e.get('method') == 'Page.loadEventFired' for e in self.events):
            self.events.append(self._message(deadline))

    def open_and_wait(self, path):
        """Opens a page of ours and waits until its scripts have drawn all that they draw."""
        self.open(path)
        self.value("""new Promise((done) => { const look = () => {
          const part = document.getElementById("what-if");
          const drawn = document.documentElement.dataset.charts && (!part || part.dataset.verdict);
          if (drawn) done(true); else setTimeout(look, 5); }; look(); })""")

    def value(self, expression):
        """What a script expression gives, as plain data."""
        answer = self.call('Runtime.evaluate', expression=expression, returnByValue=True,
                           awaitPromise=True)
        if 'exceptionDetails' in answer:
            raise RuntimeError(f"{expression}: {answer['exceptionDetails']}")
        return answer['result'].get('value')

    def look(self, width, height=900, scheme='light'):
        """Sets the size of the window and the colour scheme."""
        self.call('Emulation.setDeviceMetricsOverride', width=width, height=height,
                  deviceScaleFactor=1, mobile=width < 600)
        self.call('Emulation.setEmulatedMedia',
                  features=[{'name': 'prefers-color-scheme', 'value': scheme}])

    def picture(self, path):
        """Writes the whole page as PNG."""
        size = self.call('Page.getLayoutMetrics')['cssContentSize']
        whole = {'x': 0, 'y': 0, 'width': size['width'], 'height': size['height'], 'scale': 1}
        data = self.call('Page.captureScreenshot', captureBeyondViewport=True, clip=whole)['data']
        with open(path, 'wb') as file:
            file.write(base64.b64decode(data))

    def paper(self, width=None, height=None):
        """The page as PDF bytes, on A4 or on paper of that many inches."""
        size = {'paperWidth': width, 'paperHeight': height} if width else {'preferCSSPageSize': True}
        return base64.b64decode(self.call('Page.printToPDF', printBackground=True, **size)['data'])

    def close(self):
        try:
            os.killpg(self.process.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
        self.process.wait()
        os.close(self.to_browser)
        os.close(self.from_browser)
        shutil.rmtree(self.folder, ignore_errors=True)
