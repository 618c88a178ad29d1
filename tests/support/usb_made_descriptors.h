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

/// A descriptor of a video interface that holds zeros behind its subtype.
inline Blob VideoBytes(std::uint8_t length, std::uint8_t subtype) {
  Blob bytes(length, 0);
  bytes[0] = length;
  bytes[1] = 0x24;
  bytes[2] = subtype;
  return bytes;
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

/// VideoControl header that counts `claimed` streaming interfaces and names `interfaces`.
inline Blob ControlHeaderBytes(std::uint8_t claimed, const Blob& interfaces) {
  Blob bytes{0, 0x24, 0x01, 0x10, 0x01, 0, 0, 0x00, 0x6c, 0xdc, 0x02, claimed};
  bytes.insert(bytes.end(), interfaces.begin(), interfaces.end());
  bytes[0] = static_cast<std::uint8_t>(bytes.size());
  return bytes;
}

inline Blob CameraBytes(std::uint8_t id) {
  return {18, 0x24, 0x02, id, 0x01, 0x02, 0, 0, 0, 0, 0, 0, 0, 0, 3, 0, 0, 0};
}
inline Blob OutputTerminalBytes(std::uint8_t id, std::uint8_t source) {
  return {9, 0x24, 0x03, id, 0x01, 0x01, 0, source, 0};
}

/// VideoStreaming input header.
inline Blob StreamHeaderBytes(std::uint8_t formats, std::uint8_t endpoint, std::uint8_t terminal,
                              std::uint8_t still_method) {
  return {14, 0x24, 0x01, formats, 0, 0, endpoint, 0, terminal, still_method, 0, 0, 1, 0};
}

inline Blob ColourBytes(std::uint8_t primaries, std::uint8_t transfer, std::uint8_t matrix) {
  return {6, 0x24, 0x0d, primaries, transfer, matrix};
}

// Capabilities of a BOS: USB 3.2 specification, 9.6.2.1 to 9.6.2.5.
inline const Blob kUsb2Extension{7, 0x10, 0x02, 0x06, 0, 0, 0};
inline const Blob kSuperSpeed{10, 0x10, 0x03, 0x00, 0x0e, 0x00, 0x01, 0x0a, 0xff, 0x07};

/// SuperSpeedPlus with symmetric lanes of `gbps`, needing `lanes` of them.
inline Blob SuperSpeedPlusBytes(std::uint8_t gbps, std::uint8_t lanes) {
  const auto needs = static_cast<std::uint8_t>((lanes << 4U) | lanes);
  return {20, 0x10, 0x0a, 0, 1, 0, 0, 0, 0, needs, 0, 0, 0x30, 0x40, gbps, 0, 0xb0, 0x40, gbps, 0};
}

inline Blob BosBytes(const Blob& capabilities, std::uint8_t claimed = 1) {
  const auto total = static_cast<std::uint32_t>(5 + capabilities.size());
  return Join({{5, 0x0f, Low(total), High(total), claimed}, capabilities});
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
