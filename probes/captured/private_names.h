// SPDX-License-Identifier: Apache-2.0
//
// Names that must not leave a machine, replaced by others that keep texts readable.

#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace probes {

/// Replaces host and user names (whole words, in capital letters or not), MAC addresses and
/// UUIDs, each of these by the same stand-in wherever it occurs. Not thread-safe.
class PrivateNames {
 public:
  /// Names shorter than two characters, and "root" or "localhost", are left as they are.
  PrivateNames(const std::vector<std::string>& hosts, const std::vector<std::string>& users);

  /// For texts in which people's names occur: mounts, volumes, device strings.
  std::string Clean(std::string_view text);
  /// MAC addresses only, as "02:11:..." or in a link's name "enx0211...": for paths and routes.
  std::string CleanAddresses(std::string_view text);
  /// UUIDs only: of volumes and of whatever else there is one of.
  std::string CleanUuids(std::string_view text);

  std::size_t names_replaced() const { return names_replaced_; }
  std::size_t addresses_replaced() const { return addresses_.size(); }
  std::size_t uuids_replaced() const { return uuids_.size(); }

 private:
  struct Word {
    std::string text;
    const char* stand_in;
  };

  void AddWord(const std::string& text, const char* stand_in);
  std::string StandIn(const std::string& digits);

  std::vector<Word> words_;                       // longest first
  std::map<std::string, std::string> addresses_;  // 12 digits -> 12 digits
  std::map<std::string, std::string> uuids_;      // in small letters -> stand-in
  std::size_t names_replaced_ = 0;
};

/// Users of /etc/passwd that are people, and their full names where they are written there:
/// numbers 1000 to 59999 (common practice).
std::vector<std::string> ParsePeople(std::string_view passwd_text);

}  // namespace probes
