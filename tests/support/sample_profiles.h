// SPDX-License-Identifier: Apache-2.0
//
// One profile that uses everything, and what each way to spoil it must be answered with.

#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace tests {

/// An invented production with every kind of source, output and setting.
std::string_view GoodProfileJson();

/// GoodProfileJson changed by a JSON patch (RFC 6902).
struct Variant {
  const char* label;  // letters and digits only
  const char* patch;
};

struct BadVariant {
  Variant variant;
  const char* pointer;      // where the error must point
  const char* says;         // part of its detail
  bool schema_sees = true;  // false: a rule that a JSON Schema cannot express
};

std::string Apply(const Variant& variant);

const std::vector<Variant>& GoodVariants();
const std::vector<BadVariant>& BadVariants();
/// Those of cables and of chains of camera control, which BadVariants() has too.
const std::vector<BadVariant>& BadCables();

}  // namespace tests
