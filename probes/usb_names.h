// SPDX-License-Identifier: Apache-2.0
//
// Names of USB vendors and products from the database that this PC's system ships.

#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace probes {

struct UsbNames {
  std::string vendor;   // empty when the database does not know it
  std::string product;  // the same
};

/// Looks in the text of a usb.ids file; one pass over its lines, nothing stored.
UsbNames FindUsbNames(std::string_view ids, int vendor_id, int product_id);

/// usb.ids of this PC (never of a captured machine), read on the first question.
class UsbNameDatabase {
 public:
  UsbNames Find(int vendor_id, int product_id);

 private:
  std::optional<std::string> text_;
};

}  // namespace probes
