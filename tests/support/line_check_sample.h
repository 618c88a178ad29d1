// SPDX-License-Identifier: Apache-2.0
//
// An invented line-check of two devices with nothing wrong.

#pragma once

#include <string>

#include "probes/data/line_check.h"
#include "report/data/document.h"

namespace tests {

inline probes::LineDevice GoodDevice(const std::string& source, const std::string& node) {
  probes::LineDevice device;
  device.source = source;
  device.at.node = node;
  device.at.card = "Lab Camera";
  device.asked = probes::LineMode{"yuyv422", 1280, 720, 25, 1};
  device.before = device.mode = device.asked;
  device.outcome = probes::LineOutcome::kRan;
  device.first_picture_ms = 210.0;
  device.settings_as_before = true;
  device.timestamps = "monotonic";
  device.pictures.delivered = 500;
  device.pictures.seconds = 20;
  device.pictures.start_seconds = 2;
  device.pictures.delivered_rate = probes::LineRate{25, 24.999, 25.001};
  device.pictures.device_rate = device.pictures.delivered_rate;
  device.pictures.jitter = probes::LineJitter{0.1, 0.4, 0.9, 3, 40, 37, 43};
  return device;
}

inline probes::LineCheck GoodCheck() {
  probes::LineCheck check;
  check.with_profile = true;
  check.profile = "Invented show";
  check.asked_seconds = check.seconds = 20;
  check.devices = {GoodDevice("Left 1", "video0"), GoodDevice("Left 2", "video2")};
  check.kernel_log.lines_read = 0;
  return check;
}

/// All that a finding says.
inline std::string TextOf(const report::Finding* finding) {
  if (finding == nullptr) {
    return "no such finding";
  }
  std::string text = finding->title + "\n" + finding->action;
  for (const std::string& line : finding->evidence) {
    text += "\n" + line;
  }
  return text;
}

}  // namespace tests
