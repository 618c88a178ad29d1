// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/names.h"

#include <algorithm>
#include <iterator>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::size_t kLongestName = 80;
constexpr std::uint64_t kMostKinds = 5;

}  // namespace

void WatchNames::Forget() {
  names_.clear();
  numbers_.clear();
}

bool WatchNames::Take(ByteReader& bytes) {
  const std::uint64_t kind_number = bytes.Number();
  const std::uint64_t number = bytes.Number();
  std::string text = base::Printable(bytes.Text(), kLongestName);
  std::string of = base::Printable(bytes.Text(), kLongestName);
  const std::int64_t detail = bytes.Signed();
  if (bytes.failed() || kind_number < 1 || kind_number > kMostKinds || number > kMostNames) {
    return false;
  }
  const auto kind = static_cast<WatchNameKind>(kind_number);
  const auto known_as = [&](auto& devices, auto same, auto made) {
    auto found = std::find_if(devices.begin(), devices.end(), same);
    if (found == devices.end() && devices.size() < kMostDevices) {
      devices.push_back(std::move(made));
      found = std::prev(devices.end());
    }
    if (found != devices.end()) {
      numbers_[{kind, number}] = static_cast<std::size_t>(found - devices.begin());
    }
  };
  if (kind == WatchNameKind::kDisk) {
    known_as(
        devices_.disks, [&](const WatchDisk& disk) { return disk.name == text; },
        WatchDisk{text, detail == 0 ? std::nullopt : std::optional(detail == 1)});
  } else if (kind == WatchNameKind::kLink) {
    known_as(
        devices_.links, [&](const std::string& link) { return link == text; }, text);
  } else if (kind == WatchNameKind::kEngine) {
    known_as(
        devices_.engines,
        [&](const WatchEngine& engine) { return engine.name == text && engine.device == of; },
        WatchEngine{of, text});
  } else {
    names_[{kind, number}] = {std::move(text), detail};
  }
  return true;
}

const WatchName* WatchNames::Find(WatchNameKind kind, std::int64_t number) const {
  const auto found = names_.find({kind, static_cast<std::uint64_t>(number)});
  return found == names_.end() ? nullptr : &found->second;
}

std::optional<std::size_t> WatchNames::Device(WatchNameKind kind, std::uint64_t number) const {
  const auto found = numbers_.find({kind, number});
  return found == numbers_.end() ? std::nullopt : std::optional(found->second);
}

}  // namespace probes
