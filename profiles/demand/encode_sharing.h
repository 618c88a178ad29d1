// SPDX-License-Identifier: Apache-2.0
//
// Which outputs ask for the same encode: one encoder then serves them all.

#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "profiles/profile.h"

namespace profiles {

/// True when the packets of one encode suit both: the same picture taken, and
/// raster, rate, codec, bit rate, choice of encoder and effort alike. Where
/// the packets go and in which container does not matter.
bool SameEncode(const Output& one, const Output& other);

/// The outputs of each encode, as indices into `outputs`: encodes in the order
/// of their first output, every output in exactly one.
std::vector<std::vector<std::size_t>> Encodes(const std::vector<Output>& outputs);

/// One output of each encode, the first: what counts encoders goes through these.
std::vector<Output> OnePerEncode(const std::vector<Output>& outputs);

/// What an encode is called: its outputs' names, "Recording + Stream".
std::string EncodeName(const std::vector<Output>& outputs,
                       const std::vector<std::size_t>& of_encode);

}  // namespace profiles
