// SPDX-License-Identifier: Apache-2.0
//
// Evidence to document.

#include "report/assess/assess.h"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/assess/verdict.h"
#include "report/explain/rehearsal.h"
#include "report/explain/speed_steps.h"
#include "report/headroom/ballast_figures.h"
#include "report/headroom/fair_test.h"
#include "report/headroom/headroom.h"
#include "report/loads/facts.h"
#include "report/loads/wiring.h"
#include "report/moves/plan.h"
#include "report/predict/room.h"
#include "report/rules/all.h"
#include "report/words/cautions.h"
#include "report/words/figures.h"

namespace report {
namespace {

// How each figure came about, and what to be careful about.

void DescribeNetworkFeeds(const bench::Rehearsal& rehearsal, std::vector<std::string>& lines) {
  std::int64_t packets = 0;
  std::int64_t lost = 0;
  int feeds = 0;
  for (const bench::FeedLedger& feed : rehearsal.feeds) {
    feeds += feed.transport.empty() ? 0 : 1;
    packets += feed.packets_received;
    lost += feed.packets_lost;
  }
  if (feeds > 0) {
    lines.push_back(fmt::format(
        "Network sources: {} arrived over the loopback interface and were received, depacketised "
        "and decoded for real ({} RTP packets over UDP, {} lost by their sequence numbers). A "
        "picture that lacks a packet counts as dropped; so does one that never came out. A picture "
        "leaves its simulated camera all at once, at its moment. Driver and cable are left out.",
        feeds, packets, lost));
  }
  if (rehearsal.simulation_cpu_seconds > 0) {
    lines.push_back(fmt::format(
        "Cost of simulating: {:.2f} s of CPU in all for the cameras that send over the network and "
        "for the sinks that take the streams; it is not counted as the production's. The kernel's "
        "work to deliver a datagram on the loopback is done for the sender and is in it.",
        rehearsal.simulation_cpu_seconds));
  }
}

void DescribeRehearsal(const Facts& facts, std::vector<std::string>& lines) {
  const auto& rehearsal = facts.results().rehearsal;
  if (!rehearsal) {
    lines.emplace_back("Nothing was run: figures are read or computed, and the rest is unproven.");
    return;
  }
  lines.push_back(fmt::format(
      "Rehearsal: the whole profile in real time for {} with simulated cameras; the first {} are "
      "warm-up and not judged. Frame k of a feed is due at its start + k x the exact period; a "
      "frame that finds its queue full is dropped there and charged to the stage that held it up.",
      base::FormatSeconds(rehearsal->seconds), base::FormatSeconds(rehearsal->warm_up_seconds)));
  DescribeNetworkFeeds(*rehearsal, lines);
  if (!rehearsal->writeback_policy.empty()) {
    lines.push_back("Files: " + base::Printable(rehearsal->writeback_policy, 400));
  }
  for (const std::string& choice : rehearsal->plan) {
    lines.push_back("Choice: " + base::Printable(choice, 400));
  }
}

void DescribeMeasurements(const Facts& facts, std::vector<std::string>& lines) {
  if (const auto& telemetry = facts.evidence.telemetry) {
    lines.push_back(fmt::format(
        "Telemetry: one sample every {:g} s, {:.2f} s of CPU in all; shares are medians over the "
        "judged samples.",
        telemetry->period_s, telemetry->cost_cpu_seconds));
    for (const std::string& missing : telemetry->not_read) {
      lines.push_back("Not sampled: " + base::Printable(missing, 400));
    }
  }
  if (const auto& flat_out = facts.results().flat_out) {
    lines.push_back(fmt::format(
        "Full-speed run: the same pipeline with cameras that wait instead of dropping, {} long.",
        base::FormatSeconds(flat_out->seconds)));
  }
  for (const bench::BallastRun& ballast : facts.results().ballast) {
    lines.push_back(fmt::format(
        "Extra load {}: {}; {} beside one running production, each judged by its ledgers; headroom "
        "is "
        "extra load / (extra load + what the production itself needs).",
        base::WordOf(ballast.kind), base::Printable(ballast.method, 400),
        CountText(static_cast<long long>(ballast.steps.size()), "load step", "load steps")));
  }
  for (const bench::DiskRun& disk : facts.results().disks) {
    lines.push_back(fmt::format(
        "Disk {}: {} written ({}), {}; steady by the SNIA performance test criterion (spread "
        "within 20 % and slope within 10 % of the mean over the window).",
        base::Printable(disk.folder), base::FormatBytes(static_cast<double>(disk.bytes)),
        base::Printable(disk.method), disk.steady ? "steady" : "not steady"));
  }
  if (const auto& costs = facts.results().costs) {
    lines.push_back(
        costs->failure.empty()
            ? fmt::format("Micro-costs: {} stages timed for one frame each.", costs->entries.size())
            : "Micro-costs are missing: " + base::Printable(costs->failure, 400));
  }
}

std::vector<std::string> MethodLines(const Facts& facts) {
  std::vector<std::string> lines;
  lines.emplace_back(
      "Headroom is (available - needed) / available. What is needed are sums over the profile "
      "unless a row "
      "says that they were measured.");
  DescribeRehearsal(facts, lines);
  DescribeMeasurements(facts, lines);
  if (facts.run) {
    lines.emplace_back(
        "Drops an hour: exact upper 95 % bound of a Poisson rate (half a chi-squared quantile with "
        "2 x (drops + 1) degrees of freedom over the judged time); with no drop it is the rule of "
        "three.");
  }
  if (!facts.evidence.inventory.usb.devices.empty()) {
    lines.emplace_back(
        "USB: payload of the matched captures against the usable share of each link: 53.2 MB/s "
        "(bulk) or 41.0 MB/s (isochronous, 80 % of the microframe) at 480 Mb/s; four fifths of the "
        "rate after line code from 5 Gb/s up (common practice), below the 90 % that may be "
        "periodic.");
    lines.emplace_back(
        "USB time: a picture's bytes with a header of 12 bytes for each interval choose the "
        "smallest "
        "alternate setting that holds them, as the uvcvideo driver does; what the settings reserve "
        "on one bus (a root port; all ports under EHCI) is held against 100 of 125 us at 480 Mb/s "
        "and 112.5 us from 5 Gb/s up. More than that by the "
        "standard's sum is refused, less by the kernel's stricter sum is granted, and between them "
        "only trying tells.");
  }
  if (!facts.machine().live) {
    lines.push_back("The machine was read from a stored copy (" +
                    base::Printable(facts.machine().machine_root) + "), not from this PC.");
  }
  return lines;
}

/// What a person must know who repeats it; a survey puts no load on the PC.
std::vector<std::string> Cautions(const Evidence& evidence) {
  if (evidence.length == kSurvey) {
    return {std::string(kCautionMains), std::string(kCautionInside)};
  }
  return {std::string(kCautionSimulated), std::string(kCautionLive),  std::string(kCautionHeat),
          std::string(kCautionFlash),     std::string(kCautionMains), std::string(kCautionInside)};
}

}  // namespace

Document Assess(Evidence evidence) {
  Document document;
  document.evidence = std::move(evidence);
  document.causes = ExplainDrops(document.evidence);
  document.steps = FindSpeedSteps(document.evidence);
  document.proof = ProofOf(document.evidence);
  const Facts facts = GatherFacts(document.evidence);
  document.headroom = AllHeadroom(facts);
  document.fair_test = JudgeFairness(facts, document.headroom);
  document.by_ballast = BallastFigures(facts);
  document.findings = rules::AllFindings(
      {facts, document.headroom, document.causes, document.steps, document.fair_test});
  if (document.evidence.length != kRehearsalOnly) {
    document.move_plan = PlanMoves(facts, document.findings);
  }
  for (const UsbStream& stream : facts.streams) {
    document.streams.push_back(stream.shown);
    document.streams.back().reserved_us = ReservedUs(facts.links, stream);
  }
  document.wiring = BuildWiring(facts.links, facts.streams, document.findings);
  document.verdict = Judge(facts, document.headroom);
  document.complete = Complete(facts);
  document.headline = Headline(facts, document.headroom);
  document.first_limit = FirstLimit(facts, document.headroom);
  document.reasons = Reasons(facts, document.headroom);
  document.capacity = PredictCapacity(document.evidence);
  document.method = MethodLines(facts);
  document.cautions = Cautions(document.evidence);
  return document;
}

}  // namespace report
