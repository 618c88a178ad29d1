# SPDX-License-Identifier: Apache-2.0
"""Network sources arrive over real sockets, and every picture of theirs is accounted for."""

import json
import signal
import unittest

from interrupt_test import HANGS_AFTER_S, read_until, start
from program import InFolder, run, starter


class NetworkSources(InFolder):
    def profile(self, transport):
        """The starter with a network source, in pictures that any machine carries."""
        profile = starter("lecture-capture")
        picture = {"raster": "320x180", "rate": 25}
        profile["program"] = picture
        profile["multiview"] = None
        for source in profile["sources"]:
            source.update(picture)
        for output in profile["outputs"]:
            output.pop("raster", None)
            output.update(bitrate_kbps=500, encoder="software", effort="least")
        room = profile["sources"][0]
        self.assertEqual(room["arrives_by"], "network")
        room.update(bitrate_kbps=1000, transport=transport)
        return self.write_profile(profile)

    def check(self, result):
        rehearsal = result["rehearsal"]
        for output in rehearsal["outputs"]:
            self.assertEqual(output["due"], output["delivered"] + output["dropped"])
        feeds = {feed["name"]: feed for feed in rehearsal["feeds"]}
        for feed in feeds.values():
            self.assertEqual(feed["due"], feed["delivered"] + feed["dropped"])
        return feeds

    def test_rehearsal_receives_and_decodes(self):
        for transport in ("rtp", "rtsp"):
            with self.subTest(transport=transport):
                done = run("rehearse", self.profile(transport), "--seconds", 3, "--json",
                           "--record-to", self.folder)
                self.assertIn(done.returncode, (0, 3, 4, 5), done.stderr)
                result = json.loads(done.stdout)
                feeds = self.check(result)
                room = feeds["Room"]
                self.assertEqual(room["transport"], transport)
                self.assertEqual(room["decoder"], "h264")
                self.assertEqual(feeds["Close"]["transport"], "")
                self.assertGreater(room["delivered"], 0)
                if transport == "rtp":
                    self.assertGreater(room["packets_received"], 0)
                    self.assertGreater(room["socket_buffer_bytes"], 0)
                stages = {cost["stage"] for cost in result["rehearsal"]["stages"]}
                self.assertLessEqual({"simulate", "receive", "decode"}, stages)
                self.assertTrue(any("Cost of simulating" in line for line in result["method"]))
                self.assertTrue(any("Room: arrives by RT" in line for line in result["method"]))

    def test_interrupt_while_sockets_wait(self):
        for transport in ("rtp", "rtsp"):
            with self.subTest(transport=transport):
                process = start("rehearse", self.profile(transport), "--seconds", 3600, "--json",
                                "--record-to", self.folder)
                read_until(process, "rehearsal, about")
                process.send_signal(signal.SIGINT)
                out, _ = process.communicate(timeout=HANGS_AFTER_S)
                result = json.loads(out)
                self.assertFalse(result["complete"])
                if "rehearsal" in result and result["rehearsal"]:
                    self.check(result)


if __name__ == "__main__":
    unittest.main()
