// SPDX-License-Identifier: Apache-2.0
//
// What one device's part of a line-check means.

#include "report/line_check/findings.h"

#include <algorithm>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "report/line_check/line_check.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using probes::LineDevice;
using probes::LineOutcome;
using probes::LinePictures;
using probes::LineRate;

// Common practice: crystals are within 100 ppm, so 200 part two honest clocks; 59.94 for 60 is
// 999 ppm. What is half a percent slow is another mode or a camera that slows itself.
constexpr double kRateOff = 200e-6;
constexpr double kRateSlow = 0.005;
// Common practice: beyond half an interval a picture falls into its neighbour's place.
constexpr double kJitterShare = 0.5;
constexpr std::size_t kMostGapsShown = 4;

LineFinding Make(std::string id, Severity severity, Verdict least, std::string title) {
  LineFinding made;
  made.finding.id = std::move(id);
  made.finding.severity = severity;
  made.finding.title = std::move(title);
  made.least = least;
  return made;
}

std::string Where(const LineDevice& device) {
  if (!device.at.usb_path.empty()) {
    return "on USB at " + device.at.usb_path;
  }
  return device.at.pci_address.empty() ? std::string() : "on PCI at " + device.at.pci_address;
}

struct OutcomeWords {
  const char* id = nullptr;  // null: nothing to tell here
  Severity severity = Severity::kStop;
  Verdict least = Verdict::kShort;
  const char* title = "";
};

OutcomeWords WordsOf(const LineDevice& device) {
  switch (device.outcome) {
    case LineOutcome::kRan:
    case LineOutcome::kNotTried:
    case LineOutcome::kNoBandwidth:  // told with its link
      break;
    case LineOutcome::kNotThere:
      return {"line-not-there", Severity::kWarn, Verdict::kUnproven, "Not there"};
    case LineOutcome::kInUse:
      return {"line-in-use", Severity::kWarn, Verdict::kUnproven, "In use"};
    case LineOutcome::kDenied:
      return {"line-denied", Severity::kWarn, Verdict::kUnproven, "May not be opened"};
    case LineOutcome::kRefused:
      return {"line-refused", Severity::kStop, Verdict::kShort, "Does not start"};
    case LineOutcome::kNeverDelivered:
      // Without a signal nothing is proven of the device.
      return device.input_status.empty()
                 ? OutcomeWords{"line-no-pictures", Severity::kStop, Verdict::kShort,
                                "No frame ever came"}
                 : OutcomeWords{"line-no-signal", Severity::kWarn, Verdict::kUnproven,
                                "No frame came, and no signal"};
    case LineOutcome::kStalled:
      return {"line-stalled", Severity::kStop, Verdict::kShort, "Stopped delivering"};
    case LineOutcome::kVanished:
      return {"line-vanished", Severity::kStop, Verdict::kShort, "Went away"};
    case LineOutcome::kNoAnswer:
      return {"line-no-answer", Severity::kStop, Verdict::kShort, "Its driver hangs"};
  }
  return {};
}

std::string OutcomeAction(const LineDevice& device) {
  switch (device.outcome) {
    case LineOutcome::kNotThere:
      return "Plug in every camera where it will be during the show, then check again.";
    case LineOutcome::kInUse:
      return LeftAlone(device) ? "Close the program that uses it, then check again; --even-in-use "
                                 "tries it all the same."
                               : "Close the program that uses it, then check again.";
    case LineOutcome::kDenied:
      return "Run the check as a user who may open /dev/" + device.at.node +
             " (on most systems a member of the group video).";
    case LineOutcome::kVanished:
      return "Look at its plug, cable and power: the device left the bus. Fasten it, use a shorter "
             "cable or a powered hub, then check again.";
    case LineOutcome::kNoAnswer:
      return "Unplug the device and plug it in again; if that does not help, start the PC again.";
    default:
      break;
  }
  return device.input_status.empty()
             ? "Unplug the device and plug it in again, try another cable and another port, then "
               "check again."
             : "Switch the camera on, check its cable, and set it to a mode that the device takes.";
}

void OutcomeFinding(const LineDevice& device, std::vector<LineFinding>& findings) {
  const OutcomeWords words = WordsOf(device);
  if (words.id == nullptr) {
    return;
  }
  LineFinding made = Make(words.id, words.severity, words.least,
                          std::string(words.title) + ": " + LineDeviceLabel(device));
  std::vector<std::string>& evidence = made.finding.evidence;
  for (const probes::NodeUser& user : device.at.users) {
    evidence.push_back(fmt::format("held open by {} (process {})", user.process, user.pid));
  }
  if (device.pictures.delivered > 0) {
    evidence.push_back(fmt::format("after {} in {:.1f} s",
                                   Plural(device.pictures.delivered, "frame"),
                                   device.pictures.seconds));
  }
  if (!device.reason.empty()) {
    evidence.push_back(device.reason);
  }
  if (!device.input_status.empty()) {
    evidence.push_back("the device says: " + device.input_status);
  }
  if (const std::string where = Where(device); !where.empty()) {
    evidence.push_back(where);
  }
  made.finding.action = OutcomeAction(device);
  findings.push_back(std::move(made));
}

void ModeFinding(const LineDevice& device, std::vector<LineFinding>& findings) {
  if (!device.asked || !device.mode || probes::SameMode(*device.asked, *device.mode)) {
    return;
  }
  LineFinding made = Make("line-other-mode", Severity::kStop, Verdict::kShort,
                          "Not the mode that was asked for: " + LineDeviceLabel(device));
  made.finding.evidence = {"asked for " + LineModeText(*device.asked),
                           "the driver gave " + LineModeText(*device.mode)};
  made.finding.action =
      "Take a mode that the device offers (rigproof inventory lists them), set "
      "the camera to the mode of the profile, or plug the device into a faster "
      "port.";
  findings.push_back(std::move(made));
}

std::string GapsText(const LinePictures& pictures) {
  std::string text = "first at";
  for (std::size_t i = 0; i < std::min(kMostGapsShown, pictures.gaps.size()); ++i) {
    text += fmt::format("{} {:.1f} s ({})", i == 0 ? "" : ",", pictures.gaps[i].at_s,
                        pictures.gaps[i].lost);
  }
  return text + " after its first frame";
}

void LossFindings(const LineDevice& device, std::vector<LineFinding>& findings) {
  const LinePictures& pictures = device.pictures;
  const std::string label = LineDeviceLabel(device);
  if (pictures.lost > 0) {
    const std::int64_t made_by_device = pictures.delivered + pictures.lost + pictures.lost_at_start;
    LineFinding made = Make("line-frames-lost", Severity::kStop, Verdict::kShort,
                            fmt::format("{} dropped {} of {}", label, FormatCount(pictures.lost),
                                        Plural(made_by_device, "frame")));
    made.finding.evidence = {"by the driver's own numbers; " + GapsText(pictures)};
    const bool ours = pictures.lost_unserved * 2 > pictures.lost;
    if (pictures.lost_unserved > 0) {
      made.finding.evidence.push_back(fmt::format(
          "{} of them while this PC was too late to give buffers back", pictures.lost_unserved));
    }
    if (device.at.driver == "uvcvideo") {
      // uvc_queue.c: unless nodrop is set, a damaged buffer is filled again.
      made.finding.evidence.push_back(
          "its driver also counts frames that arrived damaged as dropped");
    }
    if (const std::string where = Where(device); !where.empty()) {
      made.finding.evidence.push_back(where);
    }
    made.finding.action =
        ours ? "Find what keeps this PC busy (rigproof rehearse names it), close other programs, "
               "then check again."
             : "Check its cable and plug first, then give it a port of its own; lines of the "
               "kernel's log stand among the findings where there are any.";
    findings.push_back(std::move(made));
  }
  if (pictures.missing_by_time > 0) {
    LineFinding made = Make("line-frames-missing", Severity::kStop, Verdict::kShort,
                            fmt::format("{}: {} missing by the clock", label,
                                        Plural(pictures.missing_by_time, "frame")));
    made.finding.evidence = {
        "holes between timestamps that the driver's numbers do not show: the "
        "frames never reached the driver"};
    made.finding.action =
        "Check the camera (light, exposure, its own rate) and the cable between "
        "camera and device.";
    findings.push_back(std::move(made));
  }
  if (pictures.lost_at_start > 0) {
    LineFinding made = Make("line-lost-at-start", Severity::kNote, Verdict::kReady,
                            fmt::format("{} dropped {} while starting", label,
                                        Plural(pictures.lost_at_start, "frame")));
    made.finding.evidence = {
        fmt::format("within {:.1f} s of its first frame; not again later", pictures.start_seconds)};
    if (pictures.lost > 0) {
      made.finding.evidence = {
          fmt::format("within {:.1f} s of its first frame", pictures.start_seconds)};
    }
    made.finding.action = "Start the cameras some seconds before the recording.";
    findings.push_back(std::move(made));
  }
}

std::string RateText(const LineRate& rate) {
  if (!rate.low || !rate.high) {
    return fmt::format("{:.3f} frames a second", rate.per_second);
  }
  return fmt::format("{:.3f} frames a second (95 %: {:.3f} to {:.3f})", rate.per_second, *rate.low,
                     *rate.high);
}

void RateFinding(const LineDevice& device, std::vector<LineFinding>& findings) {
  const double wanted = WantedRate(device);
  const auto& told =
      device.pictures.device_rate ? device.pictures.device_rate : device.pictures.delivered_rate;
  if (wanted <= 0 || !told) {
    return;
  }
  const double low = told->low.value_or(told->per_second);
  const double high = told->high.value_or(told->per_second);
  const std::string label = LineDeviceLabel(device);
  LineFinding made;
  if (high < wanted * (1 - kRateSlow)) {
    made = Make("line-slow", Severity::kStop, Verdict::kShort,
                fmt::format("{} makes {:.2f} frames a second, not {:.2f}", label, told->per_second,
                            wanted));
    made.finding.action =
        "Give the camera light or switch off the control that lets it lower its "
        "rate in the dark; check that camera and profile ask for the same rate.";
  } else if (told->low && (low > wanted * (1 + kRateOff) || high < wanted * (1 - kRateOff))) {
    made = Make("line-rate-off", Severity::kWarn, Verdict::kTight,
                fmt::format("{} runs {:+.0f} ppm off its rate", label,
                            (told->per_second / wanted - 1) * 1e6));
    made.finding.action =
        "Set camera, device and program to the same rate (59.94 with 59.94): "
        "otherwise a frame is repeated or dropped at a steady beat.";
  } else {
    return;
  }
  made.finding.evidence = {RateText(*told)};
  findings.push_back(std::move(made));
}

void JitterFinding(const LineDevice& device, std::vector<LineFinding>& findings) {
  const auto& jitter = device.pictures.jitter;
  if (!jitter || jitter->p99_ms <= kJitterShare * jitter->mean_interval_ms) {
    return;
  }
  LineFinding made = Make("line-jitter", Severity::kWarn, Verdict::kTight,
                          LineDeviceLabel(device) + " delivers unevenly");
  made.finding.evidence = {
      fmt::format("one frame in a hundred comes {:.1f} ms off the mean interval of {:.1f} ms; the "
                  "worst {:.1f} ms",
                  jitter->p99_ms, jitter->mean_interval_ms, jitter->longest_ms)};
  made.finding.action =
      "Record with constant rate, and try the device on another port; an uneven "
      "source looks like judder.";
  findings.push_back(std::move(made));
}

void DamageFindings(const LineDevice& device, std::vector<LineFinding>& findings) {
  const LinePictures& pictures = device.pictures;
  const std::string label = LineDeviceLabel(device);
  const auto add = [&](std::int64_t count, const char* id, const std::string& title,
                       const char* action) {
    if (count > 0) {
      LineFinding made = Make(id, Severity::kWarn, Verdict::kTight, title);
      made.finding.evidence = {fmt::format("of {}", Plural(pictures.delivered, "frame"))};
      made.finding.action = action;
      findings.push_back(std::move(made));
    }
  };
  add(pictures.flagged, "line-damaged",
      fmt::format("{}: {} damaged by the driver's flag", label, Plural(pictures.flagged, "frame")),
      "Check its cable and plug, then try another port: damaged data come from the link.");
  add(pictures.short_pictures, "line-short-pictures",
      fmt::format("{}: {} with less data than the format has", label,
                  Plural(pictures.short_pictures, "frame")),
      "Check its cable and plug, then try another port: data got lost on the way.");
  add(pictures.timestamp_jumps, "line-timestamps",
      fmt::format("{}: timestamps jump {}", label, Plural(pictures.timestamp_jumps, "time")),
      "Sound and picture may part: let the program take the time of arrival, or update the "
      "device's firmware.");
  add(pictures.number_faults, "line-numbers",
      fmt::format("{}: the driver's numbers repeat or go back {}", label,
                  Plural(pictures.number_faults, "time")),
      "What this driver counts cannot be relied on for losses; judge by the recording.");
}

void SettingsFindings(const LineDevice& device, std::vector<LineFinding>& findings) {
  if (device.pictures.delivered > 0 && !device.pictures.numbered) {
    LineFinding made = Make("line-unnumbered", Severity::kNote, Verdict::kReady,
                            LineDeviceLabel(device) + ": its driver does not number frames");
    made.finding.evidence = {"losses are told by the timestamps alone"};
    findings.push_back(std::move(made));
  }
  if (device.settings_as_before && !*device.settings_as_before) {
    LineFinding made = Make("line-settings", Severity::kWarn, Verdict::kTight,
                            LineDeviceLabel(device) + " did not take its settings back");
    if (device.before) {
      made.finding.evidence = {"before: " + LineModeText(*device.before)};
    }
    made.finding.action = "Set the mode in the program that uses the device.";
    findings.push_back(std::move(made));
  }
}

}  // namespace

double WantedRate(const LineDevice& device) {
  const double asked = device.asked ? probes::PicturesPerSecond(*device.asked) : 0;
  if (asked > 0) {
    return asked;
  }
  return device.mode ? probes::PicturesPerSecond(*device.mode) : 0;
}

std::vector<Subject> SubjectsOf(const LineDevice& device) {
  std::vector<Subject> about;
  if (!device.at.usb_path.empty()) {
    about.push_back({SubjectKind::kUsb, device.at.usb_path});
  } else if (!device.at.pci_address.empty()) {
    about.push_back({SubjectKind::kPci, device.at.pci_address});
  }
  if (!device.source.empty()) {
    about.push_back({SubjectKind::kSource, device.source});
  }
  return about;
}

void AddDeviceFindings(const LineDevice& device, std::vector<LineFinding>& findings) {
  const std::size_t before = findings.size();
  OutcomeFinding(device, findings);
  ModeFinding(device, findings);
  LossFindings(device, findings);
  RateFinding(device, findings);
  JitterFinding(device, findings);
  DamageFindings(device, findings);
  SettingsFindings(device, findings);
  for (std::size_t i = before; i < findings.size(); ++i) {
    findings[i].finding.about = SubjectsOf(device);
  }
}

}  // namespace report
