// SPDX-License-Identifier: Apache-2.0
//
// Displays, memory, clock, rates.

#include "report/rules/machine_settings.h"

#include <algorithm>
#include <cmath>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/figures.h"

namespace report::rules {
namespace {

// Seconds from one repeated or dropped picture to the next.
double BeatSeconds(const base::Rational& a, const base::Rational& b) {
  const double difference = std::fabs(base::ToDouble(a) - base::ToDouble(b));
  return difference > 0 ? 1 / difference : 0;
}

std::string BeatText(const base::Rational& from, const base::Rational& to) {
  return fmt::format("{} to {}: one picture {} every {:.3f} s", base::ToShortText(from),
                     base::ToShortText(to), from > to ? "dropped" : "repeated",
                     BeatSeconds(from, to));
}

// A whole multiple (60 to 30) is regular, and no beat is seen.
bool Beats(const base::Rational& from, const base::Rational& to) {
  const base::Rational& slow = std::min(from, to);
  const base::Rational& fast = std::max(from, to);
  return fast.numerator() * slow.denominator() % (fast.denominator() * slow.numerator()) != 0;
}

}  // namespace

void TooFewDisplays(const RuleInput& input, std::vector<Finding>& findings) {
  const int wanted = input.facts.demand().displays;
  if (wanted <= 0) {
    return;
  }
  const probes::GpuInventory& gpu = input.facts.machine().gpu;
  if (gpu.displays.empty()) {
    findings.push_back(
        {.id = "displays-unreadable",
         .severity = Severity::kNote,
         .title = fmt::format("{} wanted, and this PC shows no display connector",
                              CountText(wanted, "display is", "displays are")),
         .evidence = {gpu.present.known() ? std::string("no connector is listed by the system")
                                          : "unknown: " + gpu.present.why_unknown()},
         .action = "Connect every display of the show and check the pictures by eye."});
    return;
  }
  const auto connected = std::count_if(gpu.displays.begin(), gpu.displays.end(),
                                       [](const auto& display) { return display.connected; });
  if (connected >= wanted) {
    return;
  }
  const bool lacking = static_cast<int>(gpu.displays.size()) < wanted;
  Finding finding = NewFinding("displays-fewer", lacking ? Severity::kStop : Severity::kWarn);
  finding.title = fmt::format("{} wanted, {} connected",
                              CountText(wanted, "display is", "displays are"), connected);
  for (const probes::Display& display : gpu.displays) {
    finding.evidence.push_back(fmt::format("{}: {}", base::Printable(display.connector, 40),
                                           display.connected ? "connected" : "nothing connected"));
  }
  finding.action = lacking ? "This PC has too few outputs: add a graphics adapter, or plan fewer "
                             "displays."
                           : "Connect the displays of the show, then run again.";
  findings.push_back(finding);
}

void SwapInUse(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::CpuInventory& cpu = input.facts.machine().cpu;
  const double pool = input.facts.demand().memory_pool_bytes;
  const bool tight = cpu.memory_available_bytes.known() &&
                     static_cast<double>(*cpu.memory_available_bytes) < 2 * pool;
  if (!cpu.swap_bytes.known() || *cpu.swap_bytes <= 0 || !tight) {
    return;
  }
  Finding finding = NewFinding("swap", Severity::kWarn);
  finding.title = "Memory is close enough to full that frames may be swapped out";
  finding.evidence.push_back(fmt::format(
      "{} available, about {} needed, {} of swap",
      base::FormatBytes(static_cast<double>(*cpu.memory_available_bytes)), base::FormatBytes(pool),
      base::FormatBytes(static_cast<double>(*cpu.swap_bytes))));
  finding.action = "Close other programs, or add memory.";
  findings.push_back(finding);
}

void ClockNotSynchronised(const RuleInput& input, std::vector<Finding>& findings) {
  const base::Reading<bool>& synchronised = input.facts.machine().settings.clock_synchronised;
  if (!synchronised.known() || *synchronised) {
    return;
  }
  findings.push_back({.id = "clock-not-synchronised",
                      .severity = Severity::kNote,
                      .title = "The system clock follows no time server",
                      .evidence = {"the kernel reports the clock as not synchronised"},
                      .action = "Turn time synchronisation on before the show, not during it: a "
                                "clock that is set jumps."});
}

void RatesDiffer(const RuleInput& input, std::vector<Finding>& findings) {
  const profiles::Profile& profile = input.facts.profile();
  Finding finding = NewFinding("rates-differ", Severity::kWarn);
  for (const profiles::Source& source : profile.sources) {
    if (Beats(source.rate, profile.program_rate)) {
      finding.evidence.push_back(fmt::format("source {}, {}", base::Printable(source.name),
                                             BeatText(source.rate, profile.program_rate)));
    }
  }
  for (const profiles::Output& output : profile.outputs) {
    if (output.takes == "program" && Beats(profile.program_rate, output.rate)) {
      finding.evidence.push_back(fmt::format("output {}, {}", base::Printable(output.name),
                                             BeatText(profile.program_rate, output.rate)));
    }
  }
  if (finding.evidence.empty()) {
    return;
  }
  finding.title = "Picture rates differ: pictures are repeated or dropped at a steady beat";
  finding.action = "Set every camera and output to the rate of the program.";
  findings.push_back(finding);
}

void ProbesFailed(const RuleInput& input, std::vector<Finding>& findings) {
  Finding finding = NewFinding("probe-failed", Severity::kNote);
  for (const probes::ProbeRun& run : input.facts.machine().runs) {
    if (!run.failure.empty()) {
      finding.evidence.push_back(run.probe + ": " + base::Printable(run.failure));
    }
  }
  if (finding.evidence.empty()) {
    return;
  }
  finding.title = "Parts of the machine could not be read";
  finding.action = "Run as a user who may read them, or check these parts by hand.";
  findings.push_back(finding);
}

}  // namespace report::rules
