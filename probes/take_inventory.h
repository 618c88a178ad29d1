// SPDX-License-Identifier: Apache-2.0
//
// The whole inventory of a machine, probe by probe.

#pragma once

#include <filesystem>
#include <functional>
#include <stop_token>
#include <string>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/inventory.h"
#include "probes/line/v4l2_modes.h"

namespace probes {

struct InventoryRequest {
  std::vector<std::filesystem::path> recording_folders;
  /// TryCodecs (codec_trials.h), of this PC only: it needs FFmpeg and a second. Nothing: not
  /// opened.
  std::function<CodecInventory(const std::stop_token&)> open_codecs = nullptr;
  std::stop_token stop = {};  // heard between two codecs
  /// Names to ask the resolver for, on the machine itself only: this opens the network.
  std::vector<std::string> hosts = {};
  /// Asks capture devices' drivers for their modes. Nothing: AskVideoModes on this PC, what was
  /// written when it was captured elsewhere.
  ModeAsker ask_modes = nullptr;
};

/// Runs every probe, one after the other; each is timed in `runs`, and the
/// failure of one leaves the others whole.
Inventory TakeInventory(const base::MachineRoot& root, const InventoryRequest& request);

}  // namespace probes
