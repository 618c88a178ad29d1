// SPDX-License-Identifier: Apache-2.0
//
// What a production asks of a PC and a PC may run short of.

#pragma once

#include <array>
#include <string>
#include <string_view>

#include "base/words.h"

namespace report {

enum class Resource {
  kCpu,
  kOneThread,  // work that one CPU must carry alone
  kMemory,
  kMemoryTraffic,
  kEncoder,
  kEncodeSessions,
  kDisk,  // rate of writing
  kSpace,
  kFileSize,
  kUsb,
  kPcie,
  kNetwork,
  kUplink,
  kDisplays,
};

/// "cpu", "disk /recordings": a resource by its word, with which of its kind where there is one.
std::string RowName(Resource resource, const std::string& item, std::string_view between = " ");

}  // namespace report

template <>
inline constexpr std::array<base::Word<report::Resource>, 14> base::kWords<report::Resource>{
    {{report::Resource::kCpu, "cpu"},
     {report::Resource::kOneThread, "one thread"},
     {report::Resource::kMemory, "memory"},
     {report::Resource::kMemoryTraffic, "memory traffic"},
     {report::Resource::kEncoder, "encoder"},
     {report::Resource::kEncodeSessions, "encode sessions"},
     {report::Resource::kDisk, "disk"},
     {report::Resource::kSpace, "space"},
     {report::Resource::kFileSize, "file size"},
     {report::Resource::kUsb, "usb"},
     {report::Resource::kPcie, "pcie"},
     {report::Resource::kNetwork, "network"},
     {report::Resource::kUplink, "uplink"},
     {report::Resource::kDisplays, "displays"}}};
