// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: the parser of a USB device's list of capabilities.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "probes/usb/bos.h"

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto bos = probes::ParseBos({data, size});
  if (bos.super_speed_mbps && (*bos.super_speed_mbps < 5000 || *bos.super_speed_mbps > 20000)) {
    std::abort();
  }
  if (bos.capabilities.size() > size / 3) {
    std::abort();  // no capability without its three bytes
  }
  const std::string clean =
      probes::WithoutContainerIds(std::string(reinterpret_cast<const char*>(data), size));
  const auto again =
      probes::ParseBos({reinterpret_cast<const std::uint8_t*>(clean.data()), clean.size()});
  if (clean.size() > size || again.super_speed_mbps != bos.super_speed_mbps ||
      again.capabilities != bos.capabilities || probes::WithoutContainerIds(clean) != clean) {
    std::abort();  // taking numbers out changes nothing else, and once is enough
  }
  return 0;
}
