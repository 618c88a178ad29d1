// SPDX-License-Identifier: Apache-2.0
//
// Displays, memory, clock, rates.

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/words.h"
#include "report/loads/subjects.h"
#include "report/rules/rules.h"
#include "report/words/cautions.h"
#include "report/words/figures.h"

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

// "1920x1080", or "1920x1080i" for interlaced ones.
std::optional<profiles::Raster> ParseMode(std::string_view mode) {
  if (mode.ends_with('i')) {
    mode.remove_suffix(1);
  }
  const auto sides = base::Split(mode, 'x');
  const auto width = sides.size() == 2 ? base::ParseInt(sides[0]) : std::nullopt;
  const auto height = sides.size() == 2 ? base::ParseInt(sides[1]) : std::nullopt;
  constexpr std::int64_t kLargest = 100'000;
  if (!width || !height || *width <= 0 || *height <= 0 || *width > kLargest || *height > kLargest) {
    return std::nullopt;
  }
  return profiles::Raster{static_cast<int>(*width), static_cast<int>(*height)};
}

void AddKeepers(const probes::SettingsInventory& settings, std::vector<std::string>& evidence) {
  for (const probes::ClockKeeper& keeper :
       settings.clock_keepers.value_or(std::vector<probes::ClockKeeper>())) {
    evidence.push_back(fmt::format("{} {} ({})", base::Printable(keeper.name, 40),
                                   keeper.running ? "runs" : "is switched on",
                                   base::Printable(keeper.file)));
  }
}

std::ptrdiff_t UntoldDisplays(const probes::GpuInventory& gpu) {
  return std::count_if(gpu.displays.begin(), gpu.displays.end(),
                       [](const auto& display) { return !display.connected.known(); });
}

std::vector<std::string> DisplayLines(const probes::GpuInventory& gpu) {
  std::vector<std::string> lines;
  for (const probes::Display& display : gpu.displays) {
    lines.push_back(
        fmt::format("{}: {}", base::Printable(display.connector, 40),
                    !display.connected.known()
                        ? "unknown: " + display.connected.why_unknown()
                        : std::string(*display.connected ? "connected" : "nothing connected")));
  }
  return lines;
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
         .evidence = {gpu.connected_displays.known()
                          ? std::string("no connector is listed by the system")
                          : "unknown: " + gpu.connected_displays.why_unknown()},
         .action = "Connect every display of the show and check the pictures by eye.",
         .bears_on = {Resource::kDisplays}});
    return;
  }
  const auto connected =
      std::count_if(gpu.displays.begin(), gpu.displays.end(),
                    [](const auto& display) { return display.connected.value_or(false); });
  if (connected >= wanted) {
    return;
  }
  if (const auto untold = UntoldDisplays(gpu); connected + untold >= wanted) {
    findings.push_back(
        {.id = "displays-unreadable",
         .severity = Severity::kNote,
         .title = fmt::format("{} wanted, and {} not tell whether a display is connected",
                              CountText(wanted, "display is", "displays are"),
                              CountText(static_cast<int>(untold), "output does", "outputs do")),
         .evidence = DisplayLines(gpu),
         .action = "Connect every display of the show and check the pictures by eye.",
         .bears_on = {Resource::kDisplays}});
    return;
  }
  const bool lacking = static_cast<int>(gpu.displays.size()) < wanted;
  Finding finding = NewFinding("displays-fewer", lacking ? Severity::kStop : Severity::kWarn);
  finding.title = fmt::format("{} wanted, {} connected",
                              CountText(wanted, "display is", "displays are"), connected);
  finding.evidence = DisplayLines(gpu);
  finding.bears_on = {Resource::kDisplays};
  finding.action =
      lacking ? WithCaution(
                    "This PC has too few outputs: add a graphics adapter, or plan fewer displays.",
                    kCautionInside)
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
  finding.action = WithCaution("Close other programs, or add memory.", kCautionInside);
  findings.push_back(finding);
}

void DisplayModeSmall(const RuleInput& input, std::vector<Finding>& findings) {
  const profiles::Profile& profile = input.facts.profile();
  if (profile.displays <= 0 || !profile.multiview) {
    return;
  }
  const profiles::Raster& wanted = profile.multiview->raster;
  Finding finding = NewFinding("display-mode", Severity::kWarn);
  for (const probes::Display& display : input.facts.machine().gpu.displays) {
    const auto mode = display.connected.value_or(false) && display.mode.known()
                          ? ParseMode(*display.mode)
                          : std::nullopt;
    if (!display.connected.value_or(false) || !mode) {
      continue;  // nothing is known of what it shows
    }
    if (mode->width >= wanted.width && mode->height >= wanted.height) {
      return;
    }
    finding.evidence.push_back(fmt::format("{}: its first mode is {}",
                                           base::Printable(display.connector, 40),
                                           base::Printable(*display.mode, 40)));
  }
  if (finding.evidence.empty()) {
    return;
  }
  finding.title = fmt::format("No display that is connected shows the multiview's {} in full",
                              profiles::ToText(wanted));
  finding.action =
      "Connect a display of that size for the multiview, or make the multiview as large as the "
      "display.";
  findings.push_back(finding);
}

void ClockNotSynchronised(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::SettingsInventory& settings = input.facts.machine().settings;
  const base::Reading<bool>& synchronised = settings.clock_synchronised;
  const bool no_keeper = settings.clock_keepers.known() && settings.clock_keepers->empty();
  if (synchronised.known() ? *synchronised : !no_keeper) {
    return;
  }
  Finding finding = NewFinding("clock-not-synchronised", Severity::kNote);
  finding.title = "The system clock follows no time server";
  if (synchronised.known()) {
    finding.evidence.emplace_back("the kernel reports the clock as not synchronised");
  }
  if (no_keeper) {
    finding.evidence.emplace_back("no program that keeps the clock is switched on");
  }
  AddKeepers(settings, finding.evidence);
  finding.action =
      "Turn time synchronisation on before the show, not during it: a clock that is set jumps.";
  findings.push_back(finding);
}

void TwoClockKeepers(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::SettingsInventory& settings = input.facts.machine().settings;
  if (!settings.clock_keepers.known()) {
    return;
  }
  // A pair for precision time belongs together: one sets the network card's clock, one the PC's.
  const auto setters = std::count_if(settings.clock_keepers->begin(), settings.clock_keepers->end(),
                                     [](const auto& keeper) { return keeper.name != "ptp4l"; });
  if (setters < 2) {
    return;
  }
  Finding finding = NewFinding("clock-two-keepers", Severity::kWarn);
  finding.title = fmt::format("{} programs set the clock of this PC", setters);
  AddKeepers(settings, finding.evidence);
  finding.action = "Keep one of them: two pull the clock to and fro, and pictures' times with it.";
  findings.push_back(finding);
}

void RatesDiffer(const RuleInput& input, std::vector<Finding>& findings) {
  const profiles::Profile& profile = input.facts.profile();
  Finding finding = NewFinding("rates-differ", Severity::kWarn);
  for (const profiles::Source& source : profile.sources) {
    if (Beats(source.rate, profile.program_rate)) {
      finding.evidence.push_back(fmt::format("source {}, {}", base::Printable(source.name),
                                             BeatText(source.rate, profile.program_rate)));
      finding.about.push_back(SourceSubject(source.name));
    }
  }
  for (const profiles::Output& output : profile.outputs) {
    if (output.takes == profiles::kTakesProgram && Beats(profile.program_rate, output.rate)) {
      finding.evidence.push_back(fmt::format("output {}, {}", base::Printable(output.name),
                                             BeatText(profile.program_rate, output.rate)));
      finding.about.push_back(OutputSubject(output.name));
    }
  }
  if (finding.evidence.empty()) {
    return;
  }
  finding.title = "Frame rates differ: frames are repeated or dropped at a steady beat";
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
