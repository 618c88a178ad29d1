// SPDX-License-Identifier: Apache-2.0
//
// A stored production with what is wished for it.

#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "profiles/profile.h"

namespace cli {

struct Wishes {
  std::vector<std::string> added;    // as --add takes them
  std::vector<std::string> changes;  // as --change takes them
  bool files = true;                 // what is added may be a file
};

/// What is added first, so that a change reaches it too. kInvalid names the wish.
base::Result<profiles::Profile> WithWishes(const profiles::Profile& stored, const Wishes& wishes);

}  // namespace cli
