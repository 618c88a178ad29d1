// SPDX-License-Identifier: Apache-2.0
//
// Capture nodes of a PC, and what became of them when all were opened together for a while.

#pragma once

#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

/// A process that holds a capture node open.
struct NodeUser {
  int pid = 0;
  std::string process;
};

/// One video capture node of this PC; nodes that only carry metadata are none.
struct CaptureNode {
  std::string node;                        // "video0"
  std::string name;                        // as the kernel lists it
  std::string card;                        // as the driver calls it
  std::string driver;                      // "uvcvideo"
  std::string usb_path;                    // "2-1.4"; empty: not on USB
  std::string pci_address;                 // nearest PCI function above; may be empty
  std::vector<std::string> pixel_formats;  // that it lists; ours, else the driver's four characters
  std::vector<NodeUser> users;             // other processes
  std::string not_looked_into;             // why it could not be asked what it is; else empty
};

struct CaptureNodes {
  std::vector<CaptureNode> nodes;
  std::string why_none;          // nodes could not be listed at all; else empty
  int unreadable_processes = 0;  // whose open files we may not see
};

/// A picture mode as asked or as a driver tells it.
struct LineMode {
  std::string pixel_format;  // ours ("yuyv422"), else the driver's four characters
  int width = 0;
  int height = 0;
  std::int64_t rate_numerator = 0;  // pictures in rate_denominator seconds; 0: not told
  std::int64_t rate_denominator = 1;
};

/// Pictures a second; 0: not told.
inline double PicturesPerSecond(const LineMode& mode) {
  return mode.rate_numerator > 0 && mode.rate_denominator > 0
             ? static_cast<double>(mode.rate_numerator) / static_cast<double>(mode.rate_denominator)
             : 0;
}

/// Raster, format and, where both are told, the rate within half of what parts
/// 59.94 from 60 (intervals come in steps of 100 ns and are not exact).
inline bool SameMode(const LineMode& a, const LineMode& b) {
  constexpr double kRateTolerance = 0.0005;
  const double rate_a = PicturesPerSecond(a);
  const double rate_b = PicturesPerSecond(b);
  const bool rates = rate_a <= 0 || rate_b <= 0 || std::abs(rate_a / rate_b - 1) <= kRateTolerance;
  return a.pixel_format == b.pixel_format && a.width == b.width && a.height == b.height && rates;
}

/// How a device's part of the check ended.
enum class LineOutcome {
  kRan,             // delivered until the end of the run
  kNotThere,        // no device for this source
  kInUse,           // another process has it: left alone, or it refused
  kNotTried,        // left alone because of another device
  kDenied,          // we may not open it
  kRefused,         // could not be opened or set up
  kNoBandwidth,     // the link has no room for its stream
  kNeverDelivered,  // streaming, and no picture came
  kStalled,         // delivered, then no more
  kVanished,        // went away
  kNoAnswer,        // a call into its driver did not return
};

/// Deviation of the intervals between pictures from their mean, by the driver's timestamps.
struct LineJitter {
  double p50_ms = 0;
  double p95_ms = 0;
  double p99_ms = 0;
  double longest_ms = 0;
  double mean_interval_ms = 0;
  double shortest_interval_ms = 0;
  double longest_interval_ms = 0;
};

/// A rate with its 95 % interval.
struct LineRate {
  double per_second = 0;
  std::optional<double> low;  // absent: the run was too short to tell
  std::optional<double> high;
};

/// Pictures that the driver's own numbers say were lost one after another.
struct LineGap {
  double at_s = 0;  // after the first picture
  std::int64_t lost = 0;
};

/// Account of the pictures of one device.
struct LinePictures {
  std::int64_t delivered = 0;
  std::int64_t lost = 0;             // by the driver's own numbers, after the start
  std::int64_t lost_at_start = 0;    // within `start_seconds`
  std::int64_t lost_unserved = 0;    // of `lost`: while we held all buffers too long
  std::int64_t flagged = 0;          // with the driver's error flag
  std::int64_t short_pictures = 0;   // fewer bytes than the format has
  std::int64_t missing_by_time = 0;  // holes in time that the driver's numbers do not show
  std::int64_t timestamp_jumps = 0;  // back, or away from when pictures arrived
  std::int64_t number_faults = 0;    // numbers that repeat or go back
  bool numbered = true;              // false: the driver does not number pictures
  double start_seconds = 0;
  double seconds = 0;         // from the first picture to the last
  std::vector<LineGap> gaps;  // the first ones
  base::Reading<LineRate> delivered_rate;
  base::Reading<LineRate> device_rate;  // with the lost ones: what the device made
  base::Reading<LineJitter> jitter;
};

/// One device, or one source that no device was found for.
struct LineDevice {
  std::string source;  // of the profile; empty without one
  CaptureNode at;
  std::optional<LineMode> asked;  // nothing: its current mode
  std::optional<LineMode> before;
  std::optional<LineMode> mode;  // that it ran at
  LineOutcome outcome = LineOutcome::kNotTried;
  std::string reason;        // in words, with the driver's own error
  std::string input_status;  // "no signal" and the like; empty: nothing to complain of
  std::string timestamps;    // clock: "monotonic", or as the driver says
  base::Reading<double> first_picture_ms;  // after streaming was asked for
  LinePictures pictures;
  base::Reading<bool> settings_as_before;  // mode and rate read again at the end
};

/// A line of the kernel's log that a known signature matches.
struct KernelLogLine {
  double at_s = 0;  // after the run began
  std::string text;
  std::string cause;  // "usb-errors"
  std::string meaning;
  std::string weight;  // "fatal", "serious", "warning", "note"
  std::string source;  // file of the kernel that writes it
};

struct KernelLog {
  base::Reading<std::int64_t> lines_read;  // within the run
  std::vector<KernelLogLine> matches;
};

struct LineCheck {
  std::string started_at;  // ISO 8601, UTC
  std::string program_version;
  bool with_profile = false;
  std::string profile;  // its name
  double asked_seconds = 0;
  double seconds = 0;  // that all ran together
  bool interrupted = false;
  std::vector<std::string> not_checked;  // sources that arrive by network
  std::vector<LineDevice> devices;
  std::vector<CaptureNode> others_in_use;  // no part of the check, held by other processes
  std::string why_no_nodes;
  int unreadable_processes = 0;
  KernelLog kernel_log;
};

}  // namespace probes
