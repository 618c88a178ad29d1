// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/descriptors.h"

#include <algorithm>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "probes/usb/descriptor_walk.h"
#include "probes/usb/uvc_descriptors.h"

namespace probes {
namespace {

// Descriptor types: USB 3.2 specification, table 9-6; 0x24 is the video class's own.
constexpr int kDevice = 0x01;
constexpr int kConfiguration = 0x02;
constexpr int kInterface = 0x04;
constexpr int kEndpoint = 0x05;
constexpr int kAssociation = 0x0b;
constexpr int kClassInterface = 0x24;
constexpr int kCompanion = 0x30;
constexpr int kIsochronousCompanion = 0x31;

constexpr int kVideoClass = 0x0e;

constexpr int kMostPacketBytes = 1024;  // of any endpoint of any speed; more cannot be sent

/// Builds UsbDescriptors from the descriptors in their order.
class DescriptorReader {
 public:
  DescriptorReader(Bytes bytes, std::optional<bool> super_speed)
      : bytes_(bytes), walk_(bytes), super_speed_(super_speed) {}

  UsbDescriptors Run();

 private:
  void Take(const RawDescriptor& found);
  void TakeDevice(Bytes bytes);
  void TakeConfiguration(const RawDescriptor& found);
  void TakeAssociation(Bytes bytes);
  void TakeInterface(Bytes bytes);
  void TakeEndpoint(Bytes bytes);
  void TakeCompanion(Bytes bytes);
  void TakeIsochronousCompanion(Bytes bytes);
  bool SkipToNextConfiguration();
  void CloseConfiguration();
  void Fault(std::string what);

  UsbConfiguration* Open() {
    return read_.configurations.empty() ? nullptr : &read_.configurations.back();
  }
  UsbInterface* OpenInterface() {
    return Open() == nullptr || Open()->interfaces.empty() ? nullptr : &Open()->interfaces.back();
  }
  /// The endpoint that a companion right behind it describes.
  UsbEndpoint* OpenEndpoint() {
    UsbInterface* interface = OpenInterface();
    return interface == nullptr || !endpoint_open_ || interface->endpoints.empty()
               ? nullptr
               : &interface->endpoints.back();
  }

  Bytes bytes_;
  DescriptorWalk walk_;
  std::optional<bool> super_speed_;
  UsbDescriptors read_;
  UvcReader uvc_;
  bool endpoint_open_ = false;
  bool more_isochronous_ = false;  // a companion announced the one for SuperSpeedPlus
  std::size_t claimed_configurations_ = 0;
  std::size_t configuration_end_ = 0;  // where the open configuration says it ends
};

void DescriptorReader::Fault(std::string what) {
  if (read_.fault.empty()) {
    read_.fault = std::move(what);
  }
}

UsbDescriptors DescriptorReader::Run() {
  if (bytes_.empty()) {
    Fault("the descriptors are empty");
  }
  do {
    while (const auto found = walk_.Next()) {
      Take(*found);
    }
    if (!walk_.fault().empty()) {
      Fault(walk_.fault());
    }
  } while (SkipToNextConfiguration());
  if (configuration_end_ > bytes_.size()) {
    Fault(fmt::format("a configuration says it ends at byte {}, only {} bytes are there",
                      configuration_end_, bytes_.size()));
  }
  CloseConfiguration();
  if (!bytes_.empty() && !read_.device) {
    Fault("no device descriptor is in it");
  }
  if (read_.configurations.size() < claimed_configurations_) {
    Fault(fmt::format("it counts {} configurations, {} are there", claimed_configurations_,
                      read_.configurations.size()));
  }
  return std::move(read_);
}

/// After a descriptor without sense: the next configuration may still be whole.
bool DescriptorReader::SkipToNextConfiguration() {
  const std::size_t next = configuration_end_;
  if (next <= walk_.offset() || Le8(bytes_, next) < 9 || Le8(bytes_, next + 1) != kConfiguration) {
    return false;
  }
  walk_.ResumeAt(next);
  return true;
}

void DescriptorReader::CloseConfiguration() {
  if (UsbConfiguration* configuration = Open()) {
    configuration->modes = uvc_.TakeModes();
    configuration->video_functions = uvc_.TakeFunctions();
    if (!uvc_.fault().empty()) {
      Fault(uvc_.fault());
    }
  }
  uvc_ = UvcReader();
}

void DescriptorReader::Take(const RawDescriptor& found) {
  const bool companion = found.type == kCompanion || found.type == kIsochronousCompanion;
  if (!companion && found.type != kEndpoint) {
    endpoint_open_ = false;
  }
  switch (found.type) {
    case kDevice:
      return TakeDevice(found.bytes);
    case kConfiguration:
      return TakeConfiguration(found);
    case kAssociation:
      return TakeAssociation(found.bytes);
    case kInterface:
      return TakeInterface(found.bytes);
    case kEndpoint:
      return TakeEndpoint(found.bytes);
    case kCompanion:
      return TakeCompanion(found.bytes);
    case kIsochronousCompanion:
      return TakeIsochronousCompanion(found.bytes);
    case kClassInterface: {
      const UsbInterface* interface = OpenInterface();
      if (interface != nullptr && interface->interface_class == kVideoClass) {
        uvc_.Take(found);
      }
      return;
    }
    default:
      return;
  }
}

void DescriptorReader::TakeDevice(Bytes bytes) {
  if (bytes.size() < 18) {
    return Fault("the device descriptor is too short");
  }
  if (read_.device || walk_.offset() != bytes.size()) {
    return Fault("a second device descriptor");
  }
  read_.device = UsbDeviceDescriptor{Le16(bytes, 2), Le8(bytes, 4),  Le8(bytes, 5),  Le8(bytes, 6),
                                     Le8(bytes, 7),  Le16(bytes, 8), Le16(bytes, 10)};
  claimed_configurations_ = Le8(bytes, 17);
  if (!super_speed_) {
    super_speed_ = read_.device->max_packet_0 == 9 && read_.device->bcd_usb >= 0x0300;
  }
}

void DescriptorReader::TakeConfiguration(const RawDescriptor& found) {
  if (found.bytes.size() < 9) {
    return Fault("a configuration descriptor is too short");
  }
  CloseConfiguration();
  UsbConfiguration configuration;
  configuration.value = Le8(found.bytes, 5);
  configuration.attributes = Le8(found.bytes, 7);
  configuration.max_power_units = Le8(found.bytes, 8);
  read_.configurations.push_back(std::move(configuration));
  configuration_end_ = found.offset + Le16(found.bytes, 2);
}

void DescriptorReader::TakeAssociation(Bytes bytes) {
  if (bytes.size() < 8 || Open() == nullptr) {
    return Fault("an interface association out of place or too short");
  }
  Open()->associations.push_back(
      {Le8(bytes, 2), Le8(bytes, 3), Le8(bytes, 4), Le8(bytes, 5), Le8(bytes, 6)});
}

void DescriptorReader::TakeInterface(Bytes bytes) {
  if (bytes.size() < 9 || Open() == nullptr) {
    return Fault("an interface descriptor out of place or too short");
  }
  UsbInterface interface;
  interface.number = Le8(bytes, 2);
  interface.alternate = Le8(bytes, 3);
  interface.interface_class = Le8(bytes, 5);
  interface.subclass = Le8(bytes, 6);
  interface.protocol = Le8(bytes, 7);
  uvc_.BeginInterface(interface);
  Open()->interfaces.push_back(std::move(interface));
}

void DescriptorReader::TakeEndpoint(Bytes bytes) {
  endpoint_open_ = false;
  more_isochronous_ = false;
  if (bytes.size() < 7 || OpenInterface() == nullptr) {
    return Fault("an endpoint descriptor out of place or too short");
  }
  UsbEndpoint endpoint;
  endpoint.address = Le8(bytes, 2);
  endpoint.type = static_cast<TransferType>(Le8(bytes, 3) & 3U);
  const int size_field = Le16(bytes, 4);
  endpoint.max_packet_bytes = std::min(size_field & 0x7ff, kMostPacketBytes);
  endpoint.interval = Le8(bytes, 6);
  const bool periodic =
      endpoint.type == TransferType::kIsochronous || endpoint.type == TransferType::kInterrupt;
  if (periodic) {
    // Bits 12..11: further packets in a microframe of a high-speed endpoint; 3 is
    // reserved and taken as the most that is allowed (USB 2.0, table 9-13).
    if (!super_speed_.value_or(false)) {
      endpoint.packets_per_interval = 1 + std::min(2, (size_field >> 11) & 3);
    }
    endpoint.bytes_per_interval = endpoint.max_packet_bytes * endpoint.packets_per_interval;
  }
  OpenInterface()->endpoints.push_back(endpoint);
  endpoint_open_ = true;
}

/// Devices at high speed carry companions too: of their endpoints there they say nothing.
void DescriptorReader::TakeCompanion(Bytes bytes) {
  UsbEndpoint* endpoint = OpenEndpoint();
  read_.companions = read_.companions || endpoint != nullptr;
  if (endpoint == nullptr || !super_speed_.value_or(false)) {
    return;
  }
  if (bytes.size() < 6) {
    return Fault("a SuperSpeed companion is too short");
  }
  const bool isochronous = endpoint->type == TransferType::kIsochronous;
  endpoint->max_burst = std::min<int>(Le8(bytes, 2), 15);
  // Bit 7 says that a companion for SuperSpeedPlus follows; then there is no Mult.
  more_isochronous_ = isochronous && (Le8(bytes, 3) & 0x80U) != 0;
  endpoint->mult = isochronous && !more_isochronous_ ? std::min(Le8(bytes, 3) & 3, 2) : 0;
  endpoint->packets_per_interval = (endpoint->max_burst + 1) * (endpoint->mult + 1);
  if (isochronous || endpoint->type == TransferType::kInterrupt) {
    // The kernel, too, holds the written figure to what the packets can carry.
    const int most = endpoint->max_packet_bytes * endpoint->packets_per_interval;
    const int written = Le16(bytes, 4);
    endpoint->bytes_per_interval = written == 0 ? most : std::min(written, most);
  }
}

/// SuperSpeedPlus: more than 48 KiB an interval; 96 KiB is the most (USB 3.2, table 9-28).
void DescriptorReader::TakeIsochronousCompanion(Bytes bytes) {
  UsbEndpoint* endpoint = OpenEndpoint();
  if (endpoint == nullptr || !more_isochronous_ || bytes.size() < 8) {
    return;
  }
  more_isochronous_ = false;
  constexpr std::uint32_t kMostBytes = 96 * 1024;
  constexpr int kMostPackets = 96;
  const int written = static_cast<int>(std::min(Le32(bytes, 4), kMostBytes));
  const int packet = endpoint->max_packet_bytes;
  if (packet > 0 && written > endpoint->bytes_per_interval) {
    endpoint->packets_per_interval = std::min(kMostPackets, (written + packet - 1) / packet);
    endpoint->bytes_per_interval = std::min(written, packet * endpoint->packets_per_interval);
  }
}

}  // namespace

UsbDescriptors ParseUsbDescriptors(Bytes bytes, std::optional<bool> super_speed) {
  return DescriptorReader(bytes, super_speed).Run();
}

}  // namespace probes
