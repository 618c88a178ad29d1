// SPDX-License-Identifier: Apache-2.0
//
// Members of a line-check, and the words of its outcomes.

#pragma once

#include "probes/data/line_check.h"
#include "report/fields/fields.h"
#include "report/fields/words.h"

template <>
inline constexpr std::array<base::Word<probes::LineOutcome>, 11> base::kWords<probes::LineOutcome>{
    {{probes::LineOutcome::kRan, "ran"},
     {probes::LineOutcome::kNotThere, "not there"},
     {probes::LineOutcome::kInUse, "in use"},
     {probes::LineOutcome::kNotTried, "not tried"},
     {probes::LineOutcome::kDenied, "may not be opened"},
     {probes::LineOutcome::kRefused, "did not start"},
     {probes::LineOutcome::kNoBandwidth, "no bandwidth"},
     {probes::LineOutcome::kNeverDelivered, "never delivered"},
     {probes::LineOutcome::kStalled, "stalled"},
     {probes::LineOutcome::kVanished, "vanished"},
     {probes::LineOutcome::kNoAnswer, "no answer"}}};

namespace report::stored {

RIGPROOF_FIELDS(probes::NodeUser, pid, process)
RIGPROOF_FIELDS(probes::CaptureNode, node, name, card, driver, usb_path, pci_address, pixel_formats,
                users, not_looked_into)
RIGPROOF_FIELDS(probes::LineMode, pixel_format, width, height, rate_numerator, rate_denominator)
RIGPROOF_FIELDS(probes::LineJitter, p50_ms, p95_ms, p99_ms, longest_ms, mean_interval_ms,
                shortest_interval_ms, longest_interval_ms)
RIGPROOF_FIELDS(probes::LineRate, per_second, low, high)
RIGPROOF_FIELDS(probes::LineGap, at_s, lost)
RIGPROOF_FIELDS(probes::LinePictures, delivered, lost, lost_at_start, lost_unserved, flagged,
                short_pictures, missing_by_time, timestamp_jumps, number_faults, numbered,
                start_seconds, seconds, gaps, delivered_rate, device_rate, jitter)
RIGPROOF_FIELDS(probes::LineDevice, source, at, asked, before, mode, outcome, reason, input_status,
                timestamps, first_picture_ms, pictures, settings_as_before)
RIGPROOF_FIELDS(probes::KernelLogLine, at_s, text, cause, meaning, weight, source)
RIGPROOF_FIELDS(probes::KernelLog, lines_read, matches)
RIGPROOF_FIELDS(probes::LineCheck, started_at, program_version, with_profile, profile,
                asked_seconds, seconds, interrupted, not_checked, devices, others_in_use,
                why_no_nodes, unreadable_processes, kernel_log)

}  // namespace report::stored
