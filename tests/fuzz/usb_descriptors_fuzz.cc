// libFuzzer target: the parsers of binary USB descriptors.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <span>

#include "probes/usb_bos.h"
#include "probes/usb_descriptors.h"

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::span<const std::uint8_t> bytes(data, size);
  for (const bool super_speed : {false, true}) {
    const auto read = probes::ParseUsbDescriptors(bytes, super_speed);
    for (const auto& configuration : read.configurations) {
      for (const auto& mode : configuration.modes) {
        if (mode.width <= 0 || mode.height <= 0) {
          std::abort();
        }
      }
    }
  }
  const auto bos = probes::ParseBos(bytes);
  if (bos.super_speed_mbps.value_or(0) > 20000) {
    std::abort();
  }
  return 0;
}
