# SPDX-License-Identifier: Apache-2.0
"""A production is watched, the log survives whatever ends the watch, and metrics are served."""

import binascii
import json
import os
import pathlib
import re
import shutil
import signal
import struct
import subprocess
import tempfile
import unittest
import urllib.error
import urllib.request

from program import PROGRAM, InFolder, run, wait_for

HANGS_AFTER_S = 60  # far above any machine's need; only a hang reaches it
SAMPLES, HEAD, END = 3, 1, 9


def records(log):
    """Kinds and payloads of whole records, read independently: "GRPL", length, CRC-32 as zlib's
    over length, kind and payload, kind, payload; numbers lowest byte first."""
    found = []
    for part in sorted(pathlib.Path(log).glob("part-*.rigproof-log")):
        data = part.read_bytes()
        while len(data) >= 13 and data[:4] == b"GRPL":
            length, check = struct.unpack("<II", data[4:12])
            body = data[12:12 + length]
            if len(body) < length or binascii.crc32(data[4:8] + body) != check:
                break
            found.append((body[0], body[1:]))
            data = data[12 + length:]
    return found


def samples(log):
    """A record of samples begins with their number, which is below 128: one byte."""
    return sum(payload[0] for kind, payload in records(log) if kind == SAMPLES)


def start(*arguments):
    return subprocess.Popen(  # pylint: disable=consider-using-with
        [PROGRAM, "watch", *map(str, arguments)], stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL))  # as without nohup


class Watching(InFolder):
    def setUp(self):
        super().setUp()
        self.log = self.folder / "log"

    def begin(self, *arguments):
        process = start("--into", self.log, *arguments)
        self.addCleanup(self.end, process)
        return process

    @staticmethod
    def end(process):
        if process.poll() is None:
            process.kill()
        process.communicate()

    def until_samples(self, process, count):
        def there():
            self.assertIsNone(process.poll(), "ended by itself")
            return samples(self.log) >= count
        wait_for(there)

    def test_a_timed_watch_leaves_a_whole_log(self):
        done = run("watch", "--into", self.log, "--seconds", 3, "--json")
        self.assertEqual(done.returncode, 0, done.stderr)
        told = json.loads(done.stdout)
        self.assertEqual(told["format"], "rigproof-watch")
        self.assertTrue(told["complete"])
        self.assertEqual(told["samples"], samples(self.log))
        self.assertGreater(told["samples"], 0)
        kinds = [kind for kind, _ in records(self.log)]
        self.assertEqual((kinds[0], kinds[-1]), (HEAD, END))
        self.assertEqual(told["log_bytes"],
                         sum(part.stat().st_size for part in self.log.iterdir()))

    def test_messages_stay_out_of_a_log_that_got_the_number_of_standard_error(self):
        for closed in ("2>&-", "<&- >&- 2>&-", "<&- 2>&-"):
            with self.subTest(closed=closed):
                self.log = self.folder / str(len(closed))
                subprocess.run(["sh", "-c", f'exec "$0" watch --into "$1" --seconds 2 {closed}',
                                PROGRAM, self.log], check=False, timeout=HANGS_AFTER_S)
                whole = sum(13 + len(payload) for _, payload in records(self.log))
                self.assertEqual(whole, sum(part.stat().st_size for part in self.log.iterdir()))

    def test_names_of_host_and_user_stay_out(self):
        run("watch", "--into", self.log, "--seconds", 2)
        data = b"".join(part.read_bytes() for part in self.log.iterdir())
        boot = pathlib.Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
        self.assertNotIn(boot.encode(), data)
        self.assertNotIn(str(self.folder).encode(), data)
        host = os.uname().nodename.encode()
        if len(host) > 5:
            self.assertNotIn(host, data)

    def test_a_killed_watch_loses_less_than_its_last_second(self):
        process = self.begin("--program", os.getpid())
        self.until_samples(process, 30)
        before = samples(self.log)
        process.kill()
        process.wait()
        after = samples(self.log)
        self.assertGreaterEqual(after, before)
        again = run("watch", "--into", self.log)  # what is left is a log, and is kept
        self.assert_refused(again, "never written over")
        self.assertEqual(samples(self.log), after)
        # Each second is one record: what was not in the file was of the second that went on.
        sizes = [payload[0] for kind, payload in records(self.log) if kind == SAMPLES]
        self.assertLessEqual(max(sizes), 11)

    def test_signals_end_it_and_leave_a_whole_log(self):
        for sent in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            with self.subTest(signal=sent.name):
                self.log = self.folder / sent.name
                process = self.begin("--json")
                self.until_samples(process, 10)
                process.send_signal(sent)
                out, err = process.communicate(timeout=HANGS_AFTER_S)
                self.assertEqual(process.returncode, 0, err)
                self.assertEqual(json.loads(out)["samples"], samples(self.log))
                self.assertEqual(records(self.log)[-1][0], END)

    def test_the_program_is_named_and_so_is_what_stands_for_it(self):
        process = self.begin("--program", os.getpid(), "--json")
        self.until_samples(process, 10)
        process.send_signal(signal.SIGINT)
        out, _ = process.communicate(timeout=HANGS_AFTER_S)
        self.assertEqual(json.loads(out)["program"]["pid"], os.getpid())
        self.assertTrue(json.loads(out)["program"]["as_asked"])
        none = run("watch", "--into", self.folder / "other", "--program", "no-such-name",
                   "--seconds", 1)
        self.assertIn('none is called "no-such-name"', none.stdout)

    def test_what_is_in_the_way_is_refused_and_kept(self):
        file = self.folder / "file"
        file.write_text("mine", encoding="ascii")
        self.assert_refused(run("watch", "--into", file), str(file), "no folder")
        self.assertEqual(file.read_text(encoding="ascii"), "mine")
        full = self.folder / "full"
        full.mkdir()
        (full / "mine").write_text("mine", encoding="ascii")
        self.assert_refused(run("watch", "--into", full), str(full), "never written over")
        self.assertEqual(os.listdir(full), ["mine"])

    def test_wrong_use(self):
        self.assert_refused(run("watch"), "--into")
        into = ("--into", self.log)
        for option, value in (("--hz", "0"), ("--hz", "21"), ("--seconds", "0"),
                              ("--most-size", "7MB"), ("--most-size", "9"),
                              ("--metrics", "9123"), ("--metrics", "localhost:9123"),
                              ("--metrics", "127.0.0.1:70000"), ("--metrics", "127.0.0.1")):
            with self.subTest(option=option, value=value):
                self.assert_refused(run("watch", *into, option, value), option, "allowed")
        self.assertFalse(self.log.exists())

    def test_help_tells_policy_and_cautions(self):
        text = re.sub(r"\s+", " ", run("watch", "--help").stdout)
        for part in ("oldest part is dropped", "never written over", "Example:", "no root",
                     "last 10 s", "127.0.0.1"):
            self.assertIn(part, text)


class WithoutRoot(unittest.TestCase):
    """As another user than the program's: the core set is there, the rest is told."""

    def test_says_what_it_could_not_read(self):
        if os.geteuid() != 0 or shutil.which("setpriv") is None:
            self.skipTest("SKIPPED: only root may become another user")
        with tempfile.TemporaryDirectory(prefix="rigproof-e2e-") as name:
            folder = pathlib.Path(name)
            folder.chmod(0o777)
            as_nobody = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups", PROGRAM]
            if subprocess.run([*as_nobody, "--version"], check=False,
                              capture_output=True).returncode != 0:
                self.skipTest("SKIPPED: that user may not start the program where it is built")
            done = subprocess.run(
                [*as_nobody, "watch", "--into", str(folder / "log"), "--seconds", "5",
                 "--program", str(os.getpid()), "--json"],
                stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
                timeout=HANGS_AFTER_S)
            self.assertEqual(done.returncode, 0, done.stderr)
            told = json.loads(done.stdout)
            self.assertGreater(told["samples"], 0)
            text = "\n".join(told["not_read"])
            self.assertIn("only its own user and root may see", text)
            self.assertIn("files that the program writes", text)
            closed = folder / "closed"
            closed.mkdir(mode=0o755)
            refused = subprocess.run(
                [*as_nobody, "watch", "--into", str(closed / "log")], stdin=subprocess.DEVNULL,
                capture_output=True, text=True, check=False, timeout=HANGS_AFTER_S)
            self.assertEqual(refused.returncode, 2, refused.stderr)
            self.assertIn("cannot be made", refused.stderr)


class FullDisk(InFolder):
    """On a small disk of its own that another program fills."""

    def test_stops_with_a_clear_line_and_leaves_room(self):
        disk = self.folder / "disk"
        disk.mkdir()
        script = """set -e
            mount -t tmpfs -o size=4m none "$DISK"
            "$PROGRAM" watch --into "$DISK/log" --quiet --json &
            until [ -s "$DISK/log/part-000001.rigproof-log" ] || ! kill -0 $!; do sleep 0.02; done
            head -c 4050000 /dev/zero > "$DISK/other"
            set +e
            wait $!
            echo "status $?"
            stat -f -c 'blocks free %a of %b' "$DISK"
            """
        done = subprocess.run(["unshare", "--mount", "sh", "-c", script], check=False, text=True,
                              stdin=subprocess.DEVNULL, capture_output=True, timeout=HANGS_AFTER_S,
                              env={**os.environ, "DISK": str(disk), "PROGRAM": PROGRAM})
        if "unshare" in done.stderr or "mount" in done.stderr:
            self.skipTest("SKIPPED: no disk of one's own may be mounted here: " + done.stderr)
        self.assertIn("status 1\n", done.stdout)
        self.assertIn("disk guard", done.stderr)
        self.assertIn("nothing more is written", done.stderr)
        self.assertIn('"complete": false', done.stdout)
        free, blocks = map(int, re.search(r"free (\d+) of (\d+)", done.stdout).groups())
        self.assertGreater(free, 0, blocks)


class Metrics(InFolder):
    def setUp(self):
        super().setUp()
        self.process = start("--into", self.folder / "log", "--metrics", "127.0.0.1:0")
        self.addCleanup(Watching.end, self.process)
        for line in self.process.stderr:
            found = re.search(r"metrics at (http://127\.0\.0\.1:(\d+)/metrics)", line)
            if found:
                self.url, self.port = found.group(1), int(found.group(2))
                return
        self.fail("no metrics")

    def get(self, path=None, **headers):
        request = urllib.request.Request(path or self.url, headers=headers)
        with urllib.request.urlopen(request, timeout=HANGS_AFTER_S) as answer:
            return answer.headers["Content-Type"], answer.read().decode("utf-8")

    def after_first_samples(self, **headers):
        def with_samples():
            kind, text = self.get(**headers)
            found = re.search(r"^rigproof_samples_total (\d+)$", text, re.MULTILINE)
            return (kind, text) if found and int(found.group(1)) > 0 else None
        return wait_for(with_samples)

    def status(self, **headers):
        with self.assertRaises(urllib.error.HTTPError) as refused:
            self.get(**headers)
        refused.exception.close()
        return refused.exception.code

    def test_openmetrics_by_two_readers_of_others(self):
        kind, text = self.after_first_samples()
        self.assertEqual(kind, "application/openmetrics-text; version=1.0.0; charset=utf-8")
        self.assertTrue(text.endswith("\n# EOF\n"))
        with self.subTest("prometheus_client"):
            try:
                from prometheus_client.openmetrics import parser  # pylint: disable=C0415
            except ImportError:
                self.skipTest("SKIPPED: no python3-prometheus-client")
            families = {family.name: family
                        for family in parser.text_string_to_metric_families(text)}
            self.assertEqual(families["rigproof_samples"].type, "counter")
            self.assertEqual(families["rigproof_log_bytes"].unit, "bytes")
            self.assertGreater(len(families), 20)
            for family in families.values():
                self.assertTrue(family.documentation, family.name)

    def test_promtool(self):
        promtool = shutil.which("promtool")
        if promtool is None:
            self.skipTest("SKIPPED: no promtool")
        _, plain = self.after_first_samples(Accept="text/plain")
        checked = subprocess.run([promtool, "check", "metrics"], input=plain, text=True,
                                 capture_output=True, check=False, timeout=HANGS_AFTER_S)
        self.assertEqual((checked.returncode, checked.stderr), (0, ""), checked.stdout)
        # Its OpenMetrics reader wants a time with each value.
        _, text = self.get()
        stamped = re.sub(r"^([^#\n].*)$", r"\1 1700000000", text, flags=re.MULTILINE)
        file = self.folder / "stamped"
        file.write_text(stamped, encoding="utf-8")
        made = subprocess.run([promtool, "tsdb", "create-blocks-from", "openmetrics", file,
                               self.folder / "blocks"], text=True, capture_output=True,
                              check=False, timeout=HANGS_AFTER_S)
        self.assertEqual(made.returncode, 0, made.stderr)

    def test_only_under_its_own_address(self):
        self.assertEqual(self.status(Host="rebound.example"), 403)
        self.assertEqual(self.status(Host=f"rebound.example:{self.port}"), 403)
        self.assertEqual(self.status(Host="192.0.2.1"), 403)
        self.get(Host=f"localhost:{self.port}")

    def test_nothing_else_is_served(self):
        self.assertEqual(self.status(path=self.url.replace("/metrics", "/")), 404)
        self.assertEqual(self.status(path=self.url.replace("/metrics", "/../etc/passwd")), 404)
        request = urllib.request.Request(self.url, data=b"x", method="POST")
        with self.assertRaises(urllib.error.HTTPError) as refused:
            urllib.request.urlopen(request, timeout=HANGS_AFTER_S)
        refused.exception.close()
        self.assertEqual(refused.exception.code, 405)

    def test_a_port_that_is_taken_is_refused_and_leaves_no_log(self):
        other = self.folder / "other"
        self.assert_refused(run("watch", "--into", other, "--metrics", f"127.0.0.1:{self.port}"),
                            "cannot be listened on")
        self.assertFalse(other.exists())


if __name__ == "__main__":
    unittest.main()
