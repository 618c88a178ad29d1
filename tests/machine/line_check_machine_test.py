# SPDX-License-Identifier: Apache-2.0
"""Inventory and line-check in a virtual machine: real kernel, real drivers, four virtual cameras
(the kernel's vivid driver, told to lose and damage pictures) and emulated USB devices."""

import json
import math
import os
import pathlib
import re
import shutil
import tempfile
import unittest

import guest
from program import PROGRAM, starter

GUEST_S = 1500  # without hardware help everything in the guest is some twenty times slower
SECONDS_EACH = 15
RATE = 10
DROPPED = 0.25
LOSER = "Camera 3"
DAMAGED = "Camera 4"


def show():
    """An invented production: four cameras on the virtual devices."""
    profile = starter()
    profile["name"] = "Four virtual cameras"
    profile["note"] = "Invented production."
    profile["sources"] = [
        {"name": f"Camera {i + 1}", "arrives_by": "pcie", "raster": "320x180", "rate": RATE,
         "pixel_format": "yuyv422", "content": "talk", "device": f"vivid-00{i}-vid-cap"}
        for i in range(4)]
    profile["outputs"] = [each for each in profile["outputs"]
                          if each.get("takes", "program") in ("program", "multiview")]
    return profile


SHARED = None  # what the guest left behind


def setUpModule():  # pylint: disable=invalid-name
    """One boot for all tests."""
    global SHARED  # pylint: disable=global-statement
    why = guest.why_not()
    if why:
        print(f"SKIPPED: {why}", flush=True)
        raise unittest.SkipTest(why)
    SHARED = pathlib.Path(tempfile.mkdtemp(prefix="rigproof-guest-"))
    shutil.copy(guest.HERE / "guest.sh", SHARED)
    (SHARED / "show.json").write_text(json.dumps(show()), encoding="utf-8")
    (SHARED / "settings.sh").write_text(f"RIGPROOF={PROGRAM}\nSECONDS_EACH={SECONDS_EACH}\n",
                                        encoding="utf-8")
    guest.run(SHARED, GUEST_S)
    console = (SHARED / "console.txt").read_text(encoding="utf-8", errors="replace")
    assert (SHARED / "finished").exists(), console[-4000:]


def tearDownModule():  # pylint: disable=invalid-name
    if SHARED and "RIGPROOF_KEEP_GUEST" not in os.environ:
        shutil.rmtree(SHARED, ignore_errors=True)


class Guest(unittest.TestCase):
    def text(self, name):
        return (SHARED / name).read_text(encoding="utf-8", errors="replace")

    def status(self, step):
        return int(self.text(f"{step}.rc"))

    def result(self, step):
        """The one JSON value on standard output, and nothing else."""
        try:
            return json.loads(self.text(f"{step}.out"))
        except json.JSONDecodeError:
            self.fail(f"{step}: {self.text(f'{step}.out')[:500]}\n{self.text(f'{step}.err')}")

    def devices(self, step):
        return {device["source"]: device for device in self.result(step)["devices"]}

    def finding_ids(self, step):
        # Lines of the kernel's log are the guest's own affair.
        return {finding["id"] for finding in self.result(step)["findings"]} - {
            "line-kernel-log", "line-lost-at-start"}


class Inventory(Guest):
    def test_usb_is_what_lsusb_sees(self):
        told = set()
        for device in self.result("inventory")["usb"]["devices"]:
            for interface in device["interfaces"]:
                if interface["alternate"] == 0 and device["parent"]:
                    told.add((device["path"], interface["number"], interface["driver"],
                              round(device["speed_mbps"])))
        self.assertEqual(told, self.seen_by_lsusb())
        self.assertGreaterEqual(len({path for path, *_ in told}), 4)

    def seen_by_lsusb(self):
        """(path, interface, driver, Mb/s) of every line below a root hub."""
        seen = set()
        ports = []
        bus = 0
        for line in self.text("lsusb.out").splitlines():
            if found := re.match(r"/:  Bus (\d+)\.Port", line):
                bus = int(found[1])
                continue
            found = re.match(r"( *)\|__ Port (\d+): Dev \d+, If (\d+), .*Driver=([^/,]*)[^,]*, (\d+)M",
                             line)
            self.assertTrue(found, line)
            depth = len(found[1]) // 4
            ports[depth - 1:] = [found[2]]
            seen.add((f"{bus}-" + ".".join(ports), int(found[3]), found[4], int(found[5])))
        return seen


class Disks(Guest):
    """Held against nvme-cli and smartctl, which ask the same disks by themselves."""

    def disk(self, transport, step="disks"):
        found = [disk for disk in self.result(step)["disks"]["disks"]
                 if disk["device"]["transport"] == transport]
        self.assertEqual(len(found), 1, self.text(f"{step}.out"))
        return found[0]

    def test_nvme_tells_what_another_program_reads(self):
        health = self.disk("nvme")["health"]
        log = {key: int(value) for key, value in self.result("nvme_log").items()}
        self.assertEqual(log["temperature"], 0x143)  # QEMU's hw/nvme/ctrl.c, NVME_TEMPERATURE
        self.assertAlmostEqual(health["temperature_c"], log["temperature"] - 273.15, delta=1)
        self.assertEqual(health["sound"], log["critical_warning"] == 0)
        self.assertEqual(health["wear_percent"], log["percent_used"])
        self.assertEqual(health["spare_percent"], log["avail_spare"])
        self.assertEqual(health["powered_hours"], log["power_on_hours"])
        self.assertEqual(health["written_bytes"], 512_000 * log["data_units_written"])
        self.assertEqual(health["media_errors"], log["media_errors"])

    def test_ata_tells_what_another_program_reads(self):
        health = self.disk("sata")["health"]
        self.assertEqual(health["sound"], self.result("ata_health")["smart_status"]["passed"])
        # QEMU's disk has no log of device statistics (hw/ide/core.c: no READ LOG EXT).
        self.assertNotIn("ata_device_statistics", self.result("ata_statistics"))
        for unknown in ("wear_percent", "powered_hours", "written_bytes", "media_errors"):
            self.assertIn("keeps no statistics", health[unknown]["unknown"])

    def test_the_text_tells_it_too(self):
        text = self.text("disks_text.out")
        self.assertRegex(text, r"sound by its own word, wear 0 %, temperature 50 C")
        self.assertRegex(text, r"sound by its own word, wear unknown, temperature unknown")

    def test_a_captured_machine_tells_it_too(self):
        for transport in ("nvme", "sata"):
            health = self.disk(transport)["health"]
            again = self.disk(transport, "disks_again")["health"]
            known = {key: value for key, value in health.items() if not isinstance(value, dict)}
            self.assertEqual({key: again[key] for key in known}, known)
            self.assertTrue(known)

    def test_who_may_not_ask_is_told_so(self):
        for transport in ("nvme", "sata"):
            health = self.disk(transport, "disks_unasked")["health"]
            self.assertIn("only root may ask", health["wear_percent"]["unknown"])


class LineCheck(Guest):
    def test_without_devices(self):
        self.assertEqual(self.status("no_devices"), 5)
        self.assertEqual(self.result("no_devices")["devices"], [])

    def test_healthy_cameras_lose_nothing(self):
        result = self.result("healthy")
        self.assertEqual(self.finding_ids("healthy"), set(), self.text("healthy.out"))
        self.assertEqual(len(result["devices"]), 4)
        for device in result["devices"]:
            self.assertEqual(device["outcome"], "ran")
            self.assertEqual(device["pictures"]["lost"], 0)
            self.assertEqual(device["mode"]["width"], 320)
            self.assertEqual(device["timestamps"], "monotonic")
            rate = device["pictures"]["device_rate"]
            self.assertLess(abs(rate["per_second"] / RATE - 1), 0.005)

    def test_just_the_camera_that_loses_is_told(self):
        self.assertEqual(self.status("faulty"), 4)
        result = self.result("faulty")
        self.assertEqual(result["verdict"], "short")
        lost = [f for f in result["findings"] if f["id"] == "line-frames-lost"]
        self.assertEqual(len(lost), 1)
        self.assertIn(LOSER, lost[0]["title"])
        for name, device in self.devices("faulty").items():
            pictures = device["pictures"]
            self.assertEqual(pictures["number_faults"], 0, name)
            if name == LOSER:
                made = pictures["delivered"] + pictures["lost"] + pictures["lost_at_start"]
                expected = DROPPED * made
                spread = math.sqrt(made * DROPPED * (1 - DROPPED))  # binomial
                self.assertLess(abs(pictures["lost"] + pictures["lost_at_start"] - expected),
                                4 * spread)
            else:
                self.assertEqual(pictures["lost"], 0, name)

    def test_the_damaged_picture_is_counted(self):
        flagged = {name: device["pictures"]["flagged"]
                   for name, device in self.devices("faulty").items()}
        self.assertEqual(flagged, {"Camera 1": 0, "Camera 2": 0, LOSER: 0, DAMAGED: 1})
        self.assertEqual(self.finding_ids("faulty"), {"line-frames-lost", "line-damaged"})

    def test_the_terminal_says_it_too(self):
        self.assertEqual(self.status("faulty_text"), 4)
        self.assertRegex(self.text("faulty_text.out"), rf"SHORT +{LOSER}.* lost \d+ of \d+ pictures")

    def test_nodes_for_metadata_are_left_out(self):
        nodes = [device["at"]["name"] for device in self.result("all_nodes")["devices"]]
        self.assertEqual(nodes, [f"vivid-00{i}-vid-cap" for i in range(4)])

    def test_settings_are_as_they_were(self):
        # What the driver itself moves, and the controls that this test set, are no settings of ours.
        moving = re.compile(r"^ *(wrap_sequence_number|percentage_of_dropped_buffers) .*\n|"
                            r"^.*flags=.*(volatile|read-only).*\n", re.M)
        before = moving.sub("", self.text("settings_before.out"))
        self.assertEqual(before.count("Video input"), 4, before)
        self.assertIn("Frames per second", before)
        for step in ("settings_healthy", "settings_faulty", "settings_interrupted"):
            self.assertEqual(moving.sub("", self.text(f"{step}.out")), before, step)

    def test_device_in_use_is_left_alone(self):
        self.assertEqual(self.status("busy"), 5)
        devices = self.devices("busy")
        self.assertEqual(devices["Camera 2"]["outcome"], "in use")
        self.assertEqual([user["process"] for user in devices["Camera 2"]["at"]["users"]],
                         ["v4l2-ctl"])
        self.assertEqual({devices[name]["outcome"] for name in ("Camera 1", LOSER, DAMAGED)},
                         {"not tried"})

    def test_device_in_use_can_be_tried_and_goes_on(self):
        devices = self.devices("busy_forced")
        self.assertEqual(devices["Camera 2"]["outcome"], "in use")
        self.assertIn("busy", devices["Camera 2"]["reason"])
        self.assertEqual({devices[name]["outcome"] for name in ("Camera 1", LOSER, DAMAGED)},
                         {"ran"})
        self.assertEqual(self.status("other_alive"), 0)

    def test_person_at_a_terminal_is_asked(self):
        question = "Camera 2 (video"
        for step, outcome in (("yes", "ran"), ("no", "not tried")):
            said = self.text("question.out" if step == "yes" else "question_refused.out")
            self.assertIn(question, said)
            self.assertIn("held open by v4l2-ctl", said)
            self.assertEqual(self.devices(step)["Camera 1"]["outcome"], outcome)

    def test_interrupted_run_keeps_its_count(self):
        self.assertEqual(self.status("interrupted"), 5)
        result = self.result("interrupted")
        self.assertFalse(result["complete"])
        self.assertLess(result["seconds"], 600)

    def test_device_that_goes_away_is_told(self):
        self.assertEqual(self.status("vanishing"), 4)
        devices = self.devices("vanishing")
        self.assertEqual(devices[DAMAGED]["outcome"], "vanished")
        self.assertGreater(devices[DAMAGED]["pictures"]["delivered"], 0)
        self.assertEqual(devices["Camera 1"]["outcome"], "ran")


if __name__ == "__main__":
    unittest.main()
