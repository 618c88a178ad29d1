// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/other_pcs.h"

#include <algorithm>
#include <string>

#include "base/ip_address.h"
#include "profiles/demand/stream_url.h"
#include "profiles/words.h"

namespace profiles {
namespace {

/// What cannot be told to be this PC is taken for another.
bool LeadsElsewhere(const std::string& url) {
  if (url.empty() || url == kLoopback) {
    return false;
  }
  const std::string host = HostOf(url);
  const auto address = base::ParseIpAddress(host);
  return address ? !base::IsLoopback(*address) : host != "localhost";
}

}  // namespace

bool NamesOtherPcs(const Profile& profile) {
  return std::any_of(profile.outputs.begin(), profile.outputs.end(),
                     [](const Output& output) { return LeadsElsewhere(output.url); });
}

}  // namespace profiles
