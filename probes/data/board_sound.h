// SPDX-License-Identifier: Apache-2.0
//
// The PC as a whole: model, board, firmware, memory modules, sound devices.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

/// One socket for memory, or memory that is soldered on. No serial numbers.
struct MemoryModule {
  std::string slot;  // as the board calls it, "DIMM_A1"; empty: it gives no name
  std::string bank;  // "P0 CHANNEL A"; empty likewise
  base::Reading<std::int64_t> size_bytes;  // 0: read, and the socket is empty
  base::Reading<std::string> type;         // "DDR4"
  base::Reading<int> speed_mts;            // transfers a microsecond that it runs at
  base::Reading<int> best_speed_mts;       // that it is made for
  base::Reading<std::string> maker;
  base::Reading<std::string> part;  // the maker's name of the kind
};

struct BoardInventory {
  base::Reading<std::string> maker;  // of the PC
  base::Reading<std::string> model;
  base::Reading<std::string> board_maker;
  base::Reading<std::string> board_model;
  base::Reading<std::string> firmware_maker;
  base::Reading<std::string> firmware_version;
  base::Reading<std::string> firmware_date;  // as the firmware writes it, month first
  base::Reading<std::vector<MemoryModule>> memory;
  base::Reading<int> memory_channels;  // that have a module
  std::string channels_by;             // what told them: "names of the slots" ...
};

struct SoundCard {
  int number = 0;
  std::string id;  // as programs name it
  std::string name;
  int inputs = 0;  // streams that record, as nodes
  int outputs = 0;
  std::string usb_path;     // when it hangs on USB; else empty
  std::string pci_address;  // else empty
};

struct SoundInventory {
  base::Reading<bool> present;  // false: read, and there is none
  std::vector<SoundCard> cards;
};

}  // namespace probes
