// SPDX-License-Identifier: Apache-2.0
//
// Matches encoder needs with the encoders that were tried.

#include "report/headroom/encoder_supply.h"

#include <algorithm>

#include "base/text.h"
#include "profiles/demand/encode_sharing.h"

namespace report {
namespace {

bool Suits(const EncoderNeed& need, const probes::CodecTrial& trial) {
  if (!trial.encoder || trial.codec != need.codec) {
    return false;
  }
  switch (need.choice) {
    case profiles::EncoderChoice::kSoftware:
      return !trial.hardware;
    case profiles::EncoderChoice::kHardware:
      return trial.hardware;
    case profiles::EncoderChoice::kAny:
      return true;
  }
  return true;
}

void TakeWorking(const probes::CodecTrial& trial, EncoderSource& source) {
  source.works = true;
  if (!trial.hardware || !trial.sessions.known()) {
    source.encoder = trial.name;
    source.sessions.reset();
    return;
  }
  if (source.encoder.empty() || (source.sessions && *source.sessions < *trial.sessions)) {
    source.encoder = trial.name;
    source.sessions = *trial.sessions;
  }
}

}  // namespace

std::string EncoderNeed::What() const {
  const char* kind = "";
  if (choice == profiles::EncoderChoice::kHardware) {
    kind = " hardware";
  } else if (choice == profiles::EncoderChoice::kSoftware) {
    kind = " software";
  }
  return codec + kind + " encoders";
}

std::vector<EncoderNeed> EncoderNeeds(const profiles::Profile& profile) {
  std::vector<EncoderNeed> needs;
  for (const profiles::Output& output : profiles::OnePerEncode(profile.outputs)) {
    auto need = std::find_if(needs.begin(), needs.end(), [&](const EncoderNeed& one) {
      return one.codec == output.codec && one.choice == output.encoder;
    });
    if (need == needs.end()) {
      needs.push_back({output.codec, output.encoder, 0});
      need = needs.end() - 1;
    }
    ++need->count;
  }
  return needs;
}

EncoderSource SupplyFor(const EncoderNeed& need, const probes::CodecInventory& codecs) {
  EncoderSource source;
  for (const probes::CodecTrial& trial : codecs.trials) {
    if (!Suits(need, trial)) {
      continue;
    }
    source.tried = true;
    if (!trial.works) {
      source.refusals.push_back(trial.name + ": " + base::Printable(trial.refusal));
    } else if (!(source.works && !source.sessions)) {
      TakeWorking(trial, source);
    }
  }
  return source;
}

}  // namespace report
