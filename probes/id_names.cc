#include "probes/id_names.h"

#include <fstream>
#include <sstream>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

// Debian's places first, then those of other distributions.
constexpr const char* kUsbPlaces[] = {"/usr/share/misc/usb.ids", "/var/lib/usbutils/usb.ids",
                                      "/usr/share/hwdata/usb.ids"};
constexpr const char* kPciPlaces[] = {"/usr/share/misc/pci.ids", "/usr/share/hwdata/pci.ids"};

std::string ReadDatabase(std::span<const char* const> places) {
  for (const char* place : places) {
    std::ifstream file(place, std::ios::binary);
    std::ostringstream text;
    if (file && text << file.rdbuf()) {
      return std::move(text).str();
    }
  }
  return {};
}

/// Start of the first line that begins with `key`; npos when there is none.
std::size_t FindLine(std::string_view text, const std::string& key) {
  if (text.starts_with(key)) {
    return 0;
  }
  const std::size_t found = text.find("\n" + key);
  return found == std::string_view::npos ? found : found + 1;
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

IdNames FindIdNames(std::string_view ids, int vendor_id, int device_id) {
  IdNames names;
  const std::size_t vendor = FindLine(ids, fmt::format("{:04x}  ", vendor_id));
  if (vendor == std::string_view::npos) {
    return names;
  }
  names.vendor = RestOfLine(ids, vendor + 6);
  const std::string_view block = ids.substr(vendor, BlockEnd(ids, vendor) - vendor);
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
    text_ = ReadDatabase(places_);
  }
  return FindIdNames(*text_, vendor_id, device_id);
}

}  // namespace probes
