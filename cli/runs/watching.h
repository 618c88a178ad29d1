// SPDX-License-Identifier: Apache-2.0
//
// The watch of a production, as the options ask for it.

#pragma once

#include "base/result.h"
#include "cli/options/options.h"

namespace cli {

/// Until its time is over or a signal comes. 0: ended as asked, 1: the log could not be written.
base::Result<int> Watch(const Options& options);

}  // namespace cli
