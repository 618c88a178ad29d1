#include "probes/usb_names.h"

#include <fstream>
#include <iterator>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

constexpr const char* kPlaces[] = {"/usr/share/misc/usb.ids", "/var/lib/usbutils/usb.ids",
                                   "/usr/share/hwdata/usb.ids"};

std::string ReadDatabase() {
  for (const char* place : kPlaces) {
    std::ifstream file(place, std::ios::binary);
    if (file) {
      return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    }
  }
  return {};
}

/// Start of the line that begins with `key`, at or after `from`; npos when there is none.
std::size_t FindLine(std::string_view text, const std::string& key, std::size_t from) {
  if (from == 0 && text.starts_with(key)) {
    return 0;
  }
  const std::size_t found = text.find("\n" + key, from == 0 ? 0 : from - 1);
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

UsbNames FindUsbNames(std::string_view ids, int vendor_id, int product_id) {
  UsbNames names;
  const std::size_t vendor = FindLine(ids, fmt::format("{:04x}  ", vendor_id), 0);
  if (vendor == std::string_view::npos) {
    return names;
  }
  names.vendor = RestOfLine(ids, vendor + 6);
  const std::string_view block = ids.substr(vendor, BlockEnd(ids, vendor) - vendor);
  const std::size_t product = FindLine(block, fmt::format("\t{:04x}  ", product_id), 0);
  if (product != std::string_view::npos) {
    names.product = RestOfLine(block, product + 7);
  }
  return names;
}

UsbNames UsbNameDatabase::Find(int vendor_id, int product_id) {
  if (!text_) {
    text_ = ReadDatabase();
  }
  return FindUsbNames(*text_, vendor_id, product_id);
}

}  // namespace probes
