# SPDX-License-Identifier: Apache-2.0
"""A running `rigproof open` and requests to it, as a browser sends them or as a stranger might."""

import http.client
import json
import pathlib
import signal
import socket
import subprocess
import time
import urllib.parse

from program import PROGRAM

HANGS_AFTER_S = 60  # far above any machine's need; only a hang reaches it


class Answer:
    """Status, headers and body."""

    def __init__(self, response):
        self.status = response.status
        self.headers = response.headers
        self.body = response.read()

    def json(self):
        return json.loads(self.body)

    def text(self):
        return self.body.decode("utf-8")


class LocalPage:
    """`rigproof open` on a folder, entered with its token."""

    def __init__(self, folder, *arguments):
        self.process = subprocess.Popen(  # pylint: disable=consider-using-with
            [PROGRAM, "open", str(folder), "--json", *map(str, arguments)],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL))
        line = self.process.stdout.readline()
        if not line:
            raise AssertionError("did not begin: " + self.process.stderr.read())
        told = json.loads(line)
        self.address, self.folder = told["address"], pathlib.Path(told["folder"])
        parts = urllib.parse.urlsplit(self.address)
        self.host, self.port = parts.hostname, parts.port
        self.authority = f"{self.host}:{self.port}"
        cookie, *rest = self.enter().headers["Set-Cookie"].split("; ")
        self.cookie = cookie
        # What browsers prefix to all that the page asks for.
        self.place = next(part for part in rest if part.startswith("Path=/"))[len("Path="):-1]

    def send(self, method, path, body=None, headers=()):
        """Exactly these headers, but for Content-Length."""
        connection = http.client.HTTPConnection(self.host, self.port, timeout=HANGS_AFTER_S)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in headers:
                connection.putheader(name, value)
            if body is not None:
                connection.putheader("Content-Length", str(len(body)))
            connection.endheaders(body)
            return Answer(connection.getresponse())
        finally:
            connection.close()

    def enter(self):
        parts = urllib.parse.urlsplit(self.address)
        return self.send("GET", f"/?{parts.query}", headers=[("Host", self.authority)])

    def get(self, path, **query):
        if query:
            path += "?" + urllib.parse.urlencode(query, doseq=True)
        return self.send("GET", self.place + path,
                         headers=[("Host", self.authority), ("Cookie", self.cookie)])

    def post_headers(self):
        return [("Host", self.authority), ("Cookie", self.cookie),
                ("Origin", "http://" + self.authority), ("Content-Type", "application/json")]

    def post(self, path, body, **query):
        if query:
            path += "?" + urllib.parse.urlencode(query)
        text = body if isinstance(body, (str, bytes)) else json.dumps(body)
        data = text if isinstance(text, bytes) else text.encode("utf-8")
        return self.send("POST", self.place + path, data, self.post_headers())

    def raw(self, data):
        """Bytes on a connection, and all that comes back."""
        with socket.create_connection((self.host, self.port), timeout=HANGS_AFTER_S) as link:
            link.sendall(data)
            link.shutdown(socket.SHUT_WR)
            back = b""
            while block := link.recv(65536):
                back += block
        return back

    def until(self, wanted):
        """The state of the rehearsal as soon as it is as wanted."""
        while True:
            state = self.get("/api/run").json()
            if wanted(state):
                return state
            time.sleep(0.01)

    def end(self, sent=signal.SIGINT):
        """Status and standard error after a signal."""
        if self.process.poll() is None:
            self.process.send_signal(sent)
        try:
            _, complaints = self.process.communicate(timeout=HANGS_AFTER_S)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.communicate()
            raise
        return self.process.returncode, complaints
