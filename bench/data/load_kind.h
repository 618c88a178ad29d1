// SPDX-License-Identifier: Apache-2.0
//
// The kinds of extra load that a production is tried with.

#pragma once

#include <array>

#include "base/words.h"

namespace bench {

enum class LoadKind { kCpu, kMemory, kDisk };

}  // namespace bench

template <>
inline constexpr std::array<base::Word<bench::LoadKind>, 3> base::kWords<bench::LoadKind>{
    {{bench::LoadKind::kCpu, "cpu"},
     {bench::LoadKind::kMemory, "memory"},
     {bench::LoadKind::kDisk, "disk"}}};
