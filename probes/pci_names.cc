#include "probes/pci_names.h"

#include <array>

#include <fmt/format.h>
#include <pci/pci.h>

#include "base/text.h"

namespace probes {

void PciNameDatabase::Release::operator()(pci_access* access) const {
  pci_cleanup(access);
}

PciNameDatabase::PciNameDatabase() : access_(pci_alloc()) {}

std::string PciNameDatabase::Find(int vendor_id, int device_id) {
  // No questions to the network, no other database: the same answer on every run.
  const int flags = PCI_LOOKUP_NO_NUMBERS | PCI_LOOKUP_NO_HWDB;
  std::array<char, 256> text{};
  const auto size = static_cast<int>(text.size());
  const char* both =
      pci_lookup_name(access_.get(), text.data(), size,
                      flags | PCI_LOOKUP_VENDOR | PCI_LOOKUP_DEVICE, vendor_id, device_id);
  if (both != nullptr) {
    return base::Printable(both);
  }
  const std::string numbers = fmt::format("{:04x}:{:04x}", vendor_id, device_id);
  const char* vendor =
      pci_lookup_name(access_.get(), text.data(), size, flags | PCI_LOOKUP_VENDOR, vendor_id);
  return vendor == nullptr ? numbers : base::Printable(vendor) + " " + numbers;
}

}  // namespace probes
