// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <random>

#include <gtest/gtest.h>

#include "probes/usb/bos.h"
#include "probes/usb/descriptors.h"
#include "tests/support/usb_made_descriptors.h"

namespace {

using tests::Blob;

constexpr int kMutations = 100'000;
constexpr unsigned kSeed = 20'260'101;

/// One to four changes: a byte, a cut, a piece moved, a piece doubled.
Blob Mutated(Blob bytes, std::mt19937& random) {
  const auto below = [&](std::size_t end) { return end == 0 ? 0 : random() % end; };
  const std::size_t changes = 1 + below(4);
  for (std::size_t i = 0; i < changes && !bytes.empty(); ++i) {
    const std::size_t at = below(bytes.size());
    const auto place = bytes.begin() + static_cast<std::ptrdiff_t>(at);
    switch (below(6)) {
      case 0:
        bytes.resize(at);
        break;
      case 1: {
        const std::size_t length = below(std::min<std::size_t>(bytes.size() - at, 64));
        const Blob piece(place, place + static_cast<std::ptrdiff_t>(length));
        bytes.insert(place, piece.begin(), piece.end());
        break;
      }
      case 2:
        bytes.erase(place);
        break;
      default:
        *place = static_cast<std::uint8_t>(random());
    }
  }
  return bytes;
}

/// What must hold of every answer, whatever the bytes were.
void ExpectSane(const probes::UsbDescriptors& read, std::size_t size) {
  std::size_t modes = 0;
  for (const auto& configuration : read.configurations) {
    modes += configuration.modes.size();
    for (const auto& mode : configuration.modes) {
      ASSERT_TRUE(mode.width > 0 && mode.height > 0 && !mode.pixel_format.empty());
      ASSERT_TRUE(std::ranges::is_sorted(mode.intervals_100ns));
      ASSERT_TRUE(mode.intervals_100ns.empty() || mode.intervals_100ns.front() > 0);
    }
    for (const auto& interface : configuration.interfaces) {
      for (const auto& endpoint : interface.endpoints) {
        // 96 KiB an interval is the most of USB 3.2 (Gen 2x2 isochronous).
        ASSERT_TRUE(endpoint.bytes_per_interval >= 0 && endpoint.bytes_per_interval <= 1024 * 96);
        ASSERT_TRUE(endpoint.packets_per_interval >= 1 && endpoint.packets_per_interval <= 96);
        ASSERT_LE(endpoint.bytes_per_interval,
                  endpoint.max_packet_bytes * endpoint.packets_per_interval);
      }
    }
  }
  ASSERT_LE(modes, size / 26);  // no mode without the bytes of a frame
}

TEST(UsbParsers, SurviveAnyChangeOfTheirBytes) {
  std::mt19937 random(kSeed);
  const Blob whole = tests::CaptureDeviceBytes();
  const Blob bos_whole = tests::BosBytes(
      tests::Join({tests::kUsb2Extension, tests::kSuperSpeed, tests::SuperSpeedPlusBytes(10, 2)}));
  std::size_t devices = 0;
  for (int i = 0; i < kMutations; ++i) {
    const Blob bytes = Mutated(whole, random);
    const auto read = probes::ParseUsbDescriptors(bytes);
    ExpectSane(read, bytes.size());
    devices += read.device ? 1 : 0;
    const auto bos = probes::ParseBos(i % 2 == 0 ? bytes : Mutated(bos_whole, random));
    ASSERT_LE(bos.super_speed_mbps.value_or(0), 20'000);
    if (HasFatalFailure()) {
      FAIL() << "mutation " << i << " of seed " << kSeed;
    }
  }
  EXPECT_GT(devices, 0U);  // the changes did not break every device before it was read
}

}  // namespace
