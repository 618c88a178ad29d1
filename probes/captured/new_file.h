// SPDX-License-Identifier: Apache-2.0
//
// A file that is new, or takes the place of another only where that was asked for.

#pragma once

#include <filesystem>

#include "base/result.h"
#include "base/system/descriptor.h"

namespace probes {

/// What to do where a file of that name is there already.
enum class IfThere { kRefuse, kReplace };

/// Whether anything is called so, a link that leads nowhere too.
bool IsThere(const std::filesystem::path& path);

/// Whether a file called `path` may be made; kInvalid, in words for people, where it may not. A
/// folder, a device or a pipe is never replaced; of a link the link itself is.
base::Status MayBeMade(const std::filesystem::path& path, IfThere if_there);

/// Opens a file that was not there, for its owner alone, through no link; kInvalid where it cannot
/// be.
base::Result<base::Descriptor> MakeNewFile(const std::filesystem::path& path);

/// Renames, with MayBeMade() once more: one that came meanwhile is not replaced unasked.
base::Status PutInPlace(const std::filesystem::path& from, const std::filesystem::path& to,
                        IfThere if_there);

}  // namespace probes
