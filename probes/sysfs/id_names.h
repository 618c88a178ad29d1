// SPDX-License-Identifier: Apache-2.0
//
// Names of USB and PCI vendors and devices from the databases that this PC's system ships.

#pragma once

#include <map>
#include <memory>
#include <span>
#include <string>
#include <string_view>

namespace probes {

struct IdNames {
  std::string vendor;  // empty when the database does not know it
  std::string device;  // the same
};

/// The lines of a vendor in the text of a usb.ids or pci.ids file (they share one form);
/// empty when it is not there. libpci's own reader is not used because it ends the process on a
/// file that it cannot parse.
std::string_view FindVendorBlock(std::string_view ids, int vendor_id);
IdNames FindInBlock(std::string_view block, int device_id);

/// One such file of this PC (never of a captured machine), read on the first question.
class IdDatabase {
 public:
  static IdDatabase Usb();
  static IdDatabase Pci();

  IdNames Find(int vendor_id, int device_id);

 private:
  explicit IdDatabase(std::span<const char* const> places) : places_(places) {}

  std::span<const char* const> places_;
  std::unique_ptr<const std::string> text_;  // stays where it is when this is moved
  std::map<int, std::string_view> blocks_;   // of text_, by vendor; empty: not there
};

}  // namespace probes
