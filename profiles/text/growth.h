// SPDX-License-Identifier: Apache-2.0
//
// A production with more sources of a kind that it has already.

#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "profiles/profile.h"

namespace profiles {

/// Sources that ask the same of a PC: alike in all but name and device, and
/// with isos that are alike.
struct SourceKind {
  std::string like;                  // name of the first one
  std::vector<std::string> members;  // names, profile order
  std::vector<std::string> isos;     // outputs of kind iso that take the first one
};

/// Every source is in exactly one kind; kinds in the order of their first source.
std::vector<SourceKind> KindsOfSources(const Profile& profile);

/// The kind of most sources, the first of them when several have as many.
SourceKind CommonestKind(const Profile& profile);

/// `added` sources like the one named `like` behind all others, each with a
/// name of its own, no device, and isos as that one has. Sources and outputs
/// of `profile` keep their places. kInvalid when there is no such source or
/// the format would not take so many sources or outputs.
base::Result<Profile> WithMoreSources(const Profile& profile, const std::string& like, int added);

/// The most that WithMoreSources adds; 0 when there is no such source.
int MostAddedSources(const Profile& profile, const std::string& like);

}  // namespace profiles
