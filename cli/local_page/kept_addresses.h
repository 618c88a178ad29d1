// SPDX-License-Identifier: Apache-2.0
//
// Addresses of streams in the texts that the page edits: shown by scheme and host, kept whole.

#pragma once

#include <map>
#include <mutex>
#include <string>
#include <string_view>

namespace cli {

/// What follows the host of an address never reaches the page; a stand-in does, for which the
/// address is put back when the text is saved. Stand-ins hold for as long as the program runs.
/// Thread-safe.
class KeptAddresses {
 public:
  /// `text`, JSON however broken, with "rtmp://host/kept-1" for every string in it that is an
  /// address of more than scheme and host.
  std::string Hide(std::string_view text);
  /// `text` with the address for every stand-in of ours; others stay as they are.
  std::string PutBack(std::string_view text) const;

 private:
  std::string StandInFor(const std::string& address);

  mutable std::mutex mutex_;
  std::map<std::string, std::string, std::less<>> stand_ins_;  // by address
  std::map<std::string, std::string, std::less<>> addresses_;  // by stand-in
};

}  // namespace cli
