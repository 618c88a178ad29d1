// SPDX-License-Identifier: Apache-2.0
//
// Descriptor bytes of invented devices, put together for tests.

#pragma once

#include <cstdint>
#include <initializer_list>
#include <string_view>
#include <vector>

namespace tests {

using Blob = std::vector<std::uint8_t>;

inline Blob Join(std::initializer_list<Blob> parts) {
  Blob whole;
  for (const Blob& part : parts) {
    whole.insert(whole.end(), part.begin(), part.end());
  }
  return whole;
}

inline std::uint8_t Low(std::uint32_t value) {
  return static_cast<std::uint8_t>(value & 0xffU);
}
inline std::uint8_t High(std::uint32_t value) {
  return Low(value >> 8U);
}

inline Blob DeviceBytes(int bcd_usb, int max_packet_0, int device_class = 0xef) {
  return {18,
          1,
          Low(static_cast<std::uint32_t>(bcd_usb)),
          High(static_cast<std::uint32_t>(bcd_usb)),
          static_cast<std::uint8_t>(device_class),
          2,
          1,
          static_cast<std::uint8_t>(max_packet_0),
          0x09,
          0x12,
          0x03,
          0x00,
          0x00,
          0x01,
          1,
          2,
          3,
          1};
}

/// `total` as the descriptor claims it.
inline Blob ConfigurationBytes(std::uint32_t total, std::uint8_t value = 1) {
  return {9, 2, Low(total), High(total), 1, value, 0, 0x80, 250};
}

inline Blob InterfaceBytes(std::uint8_t number, std::uint8_t alternate, std::uint8_t cls,
                           std::uint8_t subclass) {
  return {9, 4, number, alternate, 1, cls, subclass, 0, 0};
}

inline Blob EndpointBytes(std::uint8_t address, std::uint8_t attributes, std::uint32_t size,
                          std::uint8_t interval = 1) {
  return {7, 5, address, attributes, Low(size), High(size), interval};
}

inline Blob CompanionBytes(std::uint8_t burst, std::uint8_t attributes, std::uint32_t bytes) {
  return {6, 0x30, burst, attributes, Low(bytes), High(bytes)};
}

/// Uncompressed (0x04) or frame based (0x10) format of four characters.
inline Blob FormatBytes(std::uint8_t subtype, std::string_view fourcc, std::uint8_t bits,
                        std::uint8_t frames_claimed) {
  Blob bytes{static_cast<std::uint8_t>(subtype == 0x10 ? 28 : 27), 0x24, subtype, 1,
             frames_claimed};
  for (const char c : fourcc) {
    bytes.push_back(static_cast<std::uint8_t>(c));
  }
  const Blob tail{0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xaa, 0x00, 0x38, 0x9b, 0x71, bits};
  bytes.insert(bytes.end(), tail.begin(), tail.end());
  bytes.resize(bytes.front(), 0);
  return bytes;
}

inline Blob MjpegFormatBytes() {
  return {11, 0x24, 0x06, 2, 1, 0, 1, 0, 0, 0, 0};
}

/// A frame of an uncompressed (0x05), MJPEG (0x07) or frame based (0x11) format,
/// claiming `count` intervals and carrying `values`.
inline Blob FrameBytes(std::uint8_t subtype, std::uint32_t width, std::uint32_t height,
                       std::uint8_t count, const std::vector<std::uint32_t>& values) {
  Blob bytes(26, 0);
  bytes[1] = 0x24;
  bytes[2] = subtype;
  bytes[3] = 1;
  bytes[5] = Low(width);
  bytes[6] = High(width);
  bytes[7] = Low(height);
  bytes[8] = High(height);
  bytes[subtype == 0x11 ? 21 : 25] = count;
  for (const std::uint32_t value : values) {
    for (const unsigned shift : {0U, 8U, 16U, 24U}) {
      bytes.push_back(Low(value >> shift));
    }
  }
  bytes[0] = static_cast<std::uint8_t>(bytes.size());
  return bytes;
}

/// A whole SuperSpeed capture device: one format, one frame, one isochronous setting.
inline Blob CaptureDeviceBytes() {
  const Blob body = Join({InterfaceBytes(0, 0, 0x0e, 1), InterfaceBytes(1, 0, 0x0e, 2),
                          FormatBytes(0x04, "YUY2", 16, 1),
                          FrameBytes(0x05, 1920, 1080, 1, {166666}), InterfaceBytes(1, 1, 0x0e, 2),
                          EndpointBytes(0x81, 5, 1024), CompanionBytes(15, 2, 0xc000)});
  return Join({DeviceBytes(0x0300, 9),
               ConfigurationBytes(static_cast<std::uint32_t>(9 + body.size())), body});
}

}  // namespace tests
