# SPDX-License-Identifier: Apache-2.0
"""Streams arrive whole at a server that is not ours: nginx with its RTMP module records them, and
ffprobe counts the frames of the recording."""

import json
import os
import pathlib
import shutil
import socket
import subprocess
import unittest

from program import InFolder, run, starter, wait_for

MODULE = pathlib.Path("/usr/lib/nginx/modules/ngx_rtmp_module.so")
NGINX = shutil.which("nginx", path=os.environ.get("PATH", "") + ":/usr/sbin")
HANGS_AFTER_S = 60  # far above any machine's need

CONFIG = """
load_module {module};
daemon off;
master_process off;
pid {folder}/nginx.pid;
error_log {folder}/error.log info;
events {{ worker_connections 64; }}
rtmp {{
  access_log off;
  server {{
    listen 127.0.0.1:{port};
    application live {{
      live on;
      record all;
      record_path {folder}/recorded;
    }}
  }}
}}
"""


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def video_packets(path):
    counted = subprocess.run(
        ["ffprobe", "-v", "error", "-select_streams", "v:0", "-count_packets", "-show_entries",
         "stream=nb_read_packets,codec_name", "-of", "json", path],
        check=True, capture_output=True, text=True, stdin=subprocess.DEVNULL)
    stream = json.loads(counted.stdout)["streams"][0]
    return stream["codec_name"], int(stream["nb_read_packets"])


class IngestServer(InFolder):
    def start_server(self):
        for name in ("recorded", "logs"):
            (self.folder / name).mkdir()
        port = free_port()
        config = self.folder / "nginx.conf"
        config.write_text(CONFIG.format(module=MODULE, folder=self.folder, port=port),
                          encoding="utf-8")
        server = subprocess.Popen(  # pylint: disable=consider-using-with
            [NGINX, "-p", self.folder, "-c", config, "-e", self.folder / "error.log"],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        self.addCleanup(self.end_server, server)

        def listens():
            self.assertIsNone(server.poll(), "the server did not start")
            with socket.socket() as probe:
                return probe.connect_ex(("127.0.0.1", port)) == 0

        wait_for(listens)
        return port

    @staticmethod
    def end_server(server):
        server.terminate()
        server.wait(timeout=HANGS_AFTER_S)
        server.stderr.close()

    def profile(self, port):
        profile = starter("one-camera-talk")
        picture = {"raster": "320x180", "rate": 25}
        profile["program"] = picture
        profile["multiview"] = None
        for source in profile["sources"]:
            source.update(picture)
        profile["outputs"] = [
            {"name": "Air", "kind": "stream", "takes": "program", "codec": "h264",
             "bitrate_kbps": 500, "encoder": "software", "effort": "least", "container": "flv",
             "url": f"rtmp://127.0.0.1:{port}/live/invented"}]
        return self.write_profile(profile)

    @unittest.skipUnless(NGINX and MODULE.exists(),
                         "SKIPPED: nginx and libnginx-mod-rtmp are not installed")
    def test_every_delivered_frame_is_in_the_servers_recording(self):
        port = self.start_server()
        done = run("rehearse", self.profile(port), "--seconds", "4", "--send-streams", "--json",
                   "--record-to", self.folder, timeout=HANGS_AFTER_S)
        self.assertIn(done.returncode, (0, 3, 4, 5), done.stderr)
        output = json.loads(done.stdout)["rehearsal"]["outputs"][0]
        self.assertEqual(output["received"], -1, "no sink of our own took part")
        self.assertGreater(output["delivered"], 0)
        recorded = wait_for(lambda: sorted((self.folder / "recorded").glob("*.flv")))
        self.assertEqual(len(recorded), 1, "flat out, nothing is sent to a server of others")
        wait_for(lambda: video_packets(recorded[0])[1] >= output["delivered"], every_s=0.1)
        self.assertEqual(video_packets(recorded[0]), ("h264", output["delivered"]))


if __name__ == "__main__":
    unittest.main()
