// SPDX-License-Identifier: Apache-2.0
//
// Names of PCI vendors and devices from the database that this PC's system ships.

#pragma once

#include <memory>
#include <string>

struct pci_access;

namespace probes {

/// pci.ids of this PC through libpci, loaded on the first question. One object
/// serves one thread.
class PciNameDatabase {
 public:
  PciNameDatabase();

  /// "vendor device"; numbers ("1b36:000d") where the database does not know them.
  std::string Find(int vendor_id, int device_id);

 private:
  struct Release {
    void operator()(pci_access* access) const;
  };
  std::unique_ptr<pci_access, Release> access_;
};

}  // namespace probes
