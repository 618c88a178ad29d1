// SPDX-License-Identifier: Apache-2.0

#include "probes/pci_gpu/edid.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

// Offsets of the EDID's first block (standard, section 3).
constexpr std::size_t kBlockBytes = 128;
constexpr std::string_view kHead{"\x00\xff\xff\xff\xff\xff\xff\x00", 8};
constexpr std::size_t kSerial = 12;  // four bytes
constexpr std::size_t kWeek = 16;
constexpr std::size_t kDescriptors = 54;
constexpr std::size_t kDescriptorBytes = 18;
constexpr std::size_t kExtensions = 126;
constexpr std::size_t kChecksum = 127;
constexpr std::size_t kText = 5;  // of a descriptor that is none of timings
constexpr int kNameTag = 0xfc;
constexpr int kRangeTag = 0xfd;

int At(std::string_view bytes, std::size_t at) {
  return static_cast<std::uint8_t>(bytes[at]);
}

bool IsEdid(std::string_view bytes) {
  return bytes.size() >= kBlockBytes && bytes.starts_with(kHead);
}

bool IsTiming(std::string_view descriptor) {
  return At(descriptor, 0) != 0 || At(descriptor, 1) != 0;
}

std::string_view Descriptor(std::string_view bytes, std::size_t index) {
  return bytes.substr(kDescriptors + index * kDescriptorBytes, kDescriptorBytes);
}

/// A detailed timing: pixel clock in 10 kHz, then active and blanking in 8 + 4 bits each.
void TakeTiming(std::string_view timing, EdidFacts& facts) {
  const double clock_hz = 10000.0 * (At(timing, 0) + 256 * At(timing, 1));
  const int width = At(timing, 2) + ((At(timing, 4) & 0xf0) << 4);
  const int blank_x = At(timing, 3) + ((At(timing, 4) & 0x0f) << 8);
  const int height = At(timing, 5) + ((At(timing, 7) & 0xf0) << 4);
  const int blank_y = At(timing, 6) + ((At(timing, 7) & 0x0f) << 8);
  if (width == 0 || height == 0) {
    return;
  }
  const bool interlaced = (At(timing, 17) & 0x80) != 0;
  // Lines of an interlaced timing are those of one field.
  facts.raster =
      fmt::format("{}x{}{}", width, interlaced ? 2 * height : height, interlaced ? "i" : "");
  // Two fields of an odd number of lines have half a line each that the timing does not count.
  const double lines = height + blank_y + (interlaced ? 0.5 : 0);
  facts.refresh_hz = clock_hz / ((width + blank_x) * lines);
}

std::string NameIn(std::string_view descriptor) {
  const std::string_view text = descriptor.substr(kText);
  return base::Printable(base::Trim(text.substr(0, text.find('\n'))), 40);
}

}  // namespace

EdidFacts ParseEdid(std::string_view bytes) {
  const char* const why = bytes.empty() ? "the display sent none of its data (EDID)"
                                        : "what the display sent is no EDID";
  EdidFacts facts{base::Reading<std::string>::Unknown(why),
                  base::Reading<std::string>::Unknown(why), base::Reading<double>::Unknown(why)};
  if (!IsEdid(bytes)) {
    return facts;
  }
  facts.name = base::Reading<std::string>::Unknown("the display gives no name");
  facts.raster = base::Reading<std::string>::Unknown("the display prefers no raster");
  facts.refresh_hz = base::Reading<double>::Unknown("the display prefers no raster");
  // The first descriptor is the preferred timing.
  if (const std::string_view first = Descriptor(bytes, 0); IsTiming(first)) {
    TakeTiming(first, facts);
  }
  for (std::size_t i = 0; i < 4; ++i) {
    const std::string_view descriptor = Descriptor(bytes, i);
    if (!IsTiming(descriptor) && At(descriptor, 3) == kNameTag) {
      if (std::string name = NameIn(descriptor); !name.empty()) {
        facts.name = std::move(name);
      }
    }
  }
  return facts;
}

std::string EdidWithoutSerials(std::string_view bytes) {
  if (!IsEdid(bytes)) {
    return {};
  }
  std::string clean(bytes.substr(0, kBlockBytes));
  std::fill_n(clean.begin() + kSerial, 4, '\0');
  clean[kWeek] = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    const std::string_view descriptor = Descriptor(bytes, i);
    const int tag = At(descriptor, 3);
    if (!IsTiming(descriptor) && tag != kNameTag && tag != kRangeTag) {
      const auto at = clean.begin() + static_cast<std::ptrdiff_t>(kDescriptors) +
                      static_cast<std::ptrdiff_t>(i * kDescriptorBytes);
      std::fill_n(at, kDescriptorBytes, '\0');
      at[3] = 0x10;  // a dummy descriptor
    }
  }
  clean[kExtensions] = 0;
  clean[kChecksum] = 0;
  unsigned sum = 0;
  for (const char byte : clean) {
    sum += static_cast<std::uint8_t>(byte);
  }
  clean[kChecksum] = static_cast<char>((256 - sum % 256) % 256);
  return clean;
}

}  // namespace probes
