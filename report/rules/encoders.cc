// SPDX-License-Identifier: Apache-2.0
//
// Encoders and levels.

#include <cstddef>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/headroom/encoder_supply.h"
#include "report/loads/subjects.h"
#include "report/rules/rules.h"

namespace report::rules {
namespace {

bool Tried(const probes::CodecInventory& codecs) {
  return codecs.tried.known() && *codecs.tried;
}

}  // namespace

void EncoderMissing(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::CodecInventory& codecs = input.facts.machine().codecs;
  if (!Tried(codecs)) {
    return;
  }
  for (const EncoderNeed& need : EncoderNeeds(input.facts.profile())) {
    const EncoderSource supply = SupplyFor(need, codecs);
    const bool few = supply.works && supply.sessions && *supply.sessions < need.count;
    if (supply.works && !few) {
      continue;
    }
    Finding finding = NewFinding("encoder-missing", Severity::kStop);
    if (few) {
      finding.title = fmt::format("{} {} are needed and {} opens {} at once", need.count,
                                  need.What(), supply.encoder, *supply.sessions);
      finding.evidence.push_back("sessions counted by opening them: " +
                                 std::to_string(*supply.sessions));
      finding.action = "Let some outputs use a software encoder, or share one encode among them.";
    } else if (supply.tried) {
      finding.title =
          fmt::format("No {} of this PC opens", need.What().substr(0, need.What().size() - 1));
      finding.evidence = supply.refusals;
      finding.action = need.choice == profiles::EncoderChoice::kHardware
                           ? "Install the driver that the reason names, or set encoder to "
                             "\"software\" or \"any\"."
                           : "Repair what the reason names, or choose another codec.";
    } else {
      finding.title =
          fmt::format("FFmpeg has no {} here", need.What().substr(0, need.What().size() - 1));
      finding.evidence.push_back("FFmpeg " + base::Printable(codecs.ffmpeg_version, 60));
      finding.action = "Choose another codec, or install an FFmpeg that has the encoder.";
    }
    findings.push_back(finding);
  }
}

void EncoderRefused(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::CodecInventory& codecs = input.facts.machine().codecs;
  Finding finding = NewFinding("encoder-refused", Severity::kNote);
  for (const probes::CodecTrial& trial : codecs.trials) {
    if (trial.works || !Tried(codecs)) {
      continue;
    }
    finding.evidence.push_back(fmt::format("{}: {}", trial.name, base::Printable(trial.refusal)));
  }
  if (finding.evidence.empty()) {
    return;
  }
  finding.title = fmt::format("{} of {} encoders and decoders that FFmpeg lists do not open here",
                              finding.evidence.size(), codecs.trials.size());
  finding.action =
      "Do not plan on these; where one is wanted, install the driver that its reason names.";
  findings.push_back(finding);
}

void LevelUncommon(const RuleInput& input, std::vector<Finding>& findings) {
  for (const profiles::OutputDemand& output : input.facts.demand().outputs) {
    if (output.level_commonly_played) {
      continue;
    }
    Finding finding = NewFinding("level-uncommon", Severity::kWarn);
    finding.title = output.level.empty()
                        ? fmt::format("{} fits no level of its codec", base::Printable(output.name))
                        : fmt::format("{} needs level {}, above what players commonly take",
                                      base::Printable(output.name), output.level);
    if (!output.level_limit.empty()) {
      finding.evidence.push_back("what asks for it: " + output.level_limit);
    }
    finding.about = {OutputSubject(output.name)};
    finding.action = "Lower what asks for it, unless every player of the recording is known.";
    findings.push_back(finding);
  }
}

}  // namespace report::rules
