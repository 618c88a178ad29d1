// SPDX-License-Identifier: Apache-2.0
//
// Evidence for tests of the assessment: an invented PC and production where all is well.

#pragma once

#include <string>

#include "report/data/document.h"

namespace report::testing {

/// Two 720p cameras on two controllers, a recording and a loopback stream,
/// rehearsed for a minute without a drop: ready.
Evidence GoodEvidence();

/// A capture device with one 1280x720 yuyv422 mode at 30 and isochronous transfers.
probes::UsbDevice Capture(const std::string& path, const std::string& parent, int bus,
                          double speed_mbps);
probes::UsbDevice Hub(const std::string& path, const std::string& parent, int bus,
                      double speed_mbps);
probes::UsbDevice RootHub(int bus, double speed_mbps);

/// Puts `count` cameras behind one hub of the first controller, at 5 Gb/s.
void PutBehindOneHub(Evidence& evidence, int count);

/// Adds a source with this payload at the end of the profile.
void AddSource(Evidence& evidence, const std::string& name, double bytes_per_second);

/// A run of drops of the recording, in ledger and list.
void Drop(Evidence& evidence, std::int64_t frames, double at_s, bench::Stage stage);

/// What one frame took, and of what: as the costs program tells it.
bench::CostEntry Cost(bench::Stage stage, const std::string& detail, double cpu_ms);

const Finding* Find(const Document& document, const std::string& id);
const Headroom* Row(const Document& document, const std::string& resource);

}  // namespace report::testing
