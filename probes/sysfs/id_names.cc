// SPDX-License-Identifier: Apache-2.0

#include "probes/sysfs/id_names.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <functional>
#include <system_error>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

// Debian's places first, then those of other distributions.
constexpr const char* kUsbPlaces[] = {"/usr/share/misc/usb.ids", "/var/lib/usbutils/usb.ids",
                                      "/usr/share/hwdata/usb.ids"};
constexpr const char* kPciPlaces[] = {"/usr/share/misc/pci.ids", "/usr/share/hwdata/pci.ids"};

constexpr std::uintmax_t kMostBytes = 64 << 20;

std::string ReadDatabase(std::span<const char* const> places) {
  for (const char* place : places) {
    std::error_code missing;
    const auto bytes = std::filesystem::file_size(place, missing);
    std::ifstream file(place, std::ios::binary);
    if (missing || bytes > kMostBytes || !file) {
      continue;
    }
    std::string text(bytes, '\0');
    file.read(text.data(), static_cast<std::streamsize>(bytes));
    text.resize(static_cast<std::size_t>(file.gcount()));
    return text;
  }
  return {};
}

/// Start of the first line that begins with `key`; npos when there is none.
std::size_t FindLine(std::string_view text, const std::string& key) {
  if (text.starts_with(key)) {
    return 0;
  }
  // Over a megabyte with a line end every forty bytes: find() would stop at each.
  const std::string line = "\n" + key;
  const auto found = std::search(text.begin(), text.end(),
                                 std::boyer_moore_horspool_searcher(line.begin(), line.end()));
  return found == text.end() ? std::string_view::npos
                             : static_cast<std::size_t>(found - text.begin()) + 1;
}

std::string RestOfLine(std::string_view text, std::size_t from) {
  return base::Printable(base::Trim(text.substr(from, text.find('\n', from) - from)));
}

/// End of the block of indented lines (and comments) that starts at `from`.
std::size_t BlockEnd(std::string_view text, std::size_t from) {
  std::size_t line = text.find('\n', from);
  while (line != std::string_view::npos && line + 1 < text.size() &&
         (text[line + 1] == '\t' || text[line + 1] == '#')) {
    line = text.find('\n', line + 1);
  }
  return line == std::string_view::npos ? text.size() : line;
}

}  // namespace

std::string_view FindVendorBlock(std::string_view ids, int vendor_id) {
  const std::size_t vendor = FindLine(ids, fmt::format("{:04x}  ", vendor_id));
  return vendor == std::string_view::npos ? std::string_view()
                                          : ids.substr(vendor, BlockEnd(ids, vendor) - vendor);
}

IdNames FindInBlock(std::string_view block, int device_id) {
  IdNames names;
  if (block.empty()) {
    return names;
  }
  names.vendor = RestOfLine(block, 6);
  const std::size_t device = FindLine(block, fmt::format("\t{:04x}  ", device_id));
  if (device != std::string_view::npos) {
    names.device = RestOfLine(block, device + 7);
  }
  return names;
}

IdDatabase IdDatabase::Usb() {
  return IdDatabase(kUsbPlaces);
}

IdDatabase IdDatabase::Pci() {
  return IdDatabase(kPciPlaces);
}

IdNames IdDatabase::Find(int vendor_id, int device_id) {
  if (!text_) {
    text_ = std::make_unique<const std::string>(ReadDatabase(places_));
  }
  auto [block, is_new] = blocks_.try_emplace(vendor_id);
  if (is_new) {
    block->second = FindVendorBlock(*text_, vendor_id);
  }
  return FindInBlock(block->second, device_id);
}

}  // namespace probes
