// SPDX-License-Identifier: Apache-2.0

#include "tests/reference/usb_answers.h"

#include <fstream>
#include <map>
#include <regex>
#include <sstream>

#include <fmt/format.h>

#include "base/text.h"
#include "tests/support/places.h"

namespace tests {
namespace {

/// Calls `take` with every line and what `pattern` found in it.
template <typename Take>
void EachLine(std::string_view text, const Take& take) {
  for (const std::string_view line : base::Split(text, '\n')) {
    take(std::string(line));
  }
}

int Number(const std::string& text, int base = 10) {
  return text.empty() ? 0 : std::stoi(text, nullptr, base);
}

/// The text behind `key` in a line of "key=value" pairs with padded values.
std::string Field(const std::string& line, const std::string& key) {
  std::smatch found;
  return std::regex_search(line, found, std::regex(key + R"(=\s*([^\s(]+))")) ? found[1].str()
                                                                              : std::string();
}

std::string Rest(const std::string& line, const std::string& key) {
  const std::size_t at = line.find(key + "=");
  return at == std::string::npos ? std::string() : line.substr(at + key.size() + 1);
}

/// The format that frames belong to, and whether the lines at hand are a frame's.
struct OpenFormat {
  std::string name;
  bool frame = false;
};

void TakeHeading(const std::string& line, OpenFormat& open, DecodedDevice& read) {
  if (line == "    Interface Descriptor:") {
    ++read.interfaces;
  } else if (line == "    Interface Association:") {
    ++read.associations;
  } else if (line == "      Endpoint Descriptor:") {
    read.endpoints.push_back({});
  } else if (line.ends_with("Descriptor:")) {
    open.frame = false;
  }
}

void TakeVideoField(const std::string& key, const std::string& value, const std::string& more,
                    OpenFormat& open, DecodedDevice& read) {
  if (key == "bDescriptorSubtype" && more.starts_with("(FORMAT_")) {
    ++read.formats;
    open.name = more == "(FORMAT_MJPEG)" ? "mjpeg" : "";
  } else if (key == "guidFormat") {
    open.name = value.substr(1, value.size() - 2);
  } else if (key == "bDescriptorSubtype" && more.starts_with("(FRAME_")) {
    read.frames.push_back({open.name, 0, 0, {}, 0, 0, 0});
    open.frame = true;
  } else if (open.frame && key == "wWidth") {
    read.frames.back().width = Number(value);
  } else if (open.frame && key == "wHeight") {
    read.frames.back().height = Number(value);
  } else if (open.frame && key == "dwMinBitRate") {
    read.frames.back().min_bits_per_second = std::stoll(value);
  } else if (open.frame && key == "dwMaxBitRate") {
    read.frames.back().max_bits_per_second = std::stoll(value);
  } else if (open.frame && key == "dwMaxVideoFrameBufferSize") {
    read.frames.back().max_frame_bytes = std::stoll(value);
  } else if (open.frame && key.starts_with("dwFrameInterval(")) {
    read.frames.back().intervals_100ns.push_back(std::stoll(value));
  }
}

void TakeEndpointField(const std::string& key, const std::string& value, const std::string& more,
                       DecodedDevice& read) {
  if (read.endpoints.empty()) {
    return;
  }
  EndpointAnswer& endpoint = read.endpoints.back();
  if (key == "bEndpointAddress" && endpoint.address == 0) {
    endpoint.address = Number(value, 16);
  } else if (key == "Transfer Type") {
    endpoint.type = value;
  } else if (key == "wMaxPacketSize") {
    endpoint.packets = Number(more.substr(0, more.find('x')));
    endpoint.packet_bytes = Number(more.substr(more.find('x') + 1));
  } else if (key == "bInterval") {
    endpoint.interval = Number(value);
  } else if (key == "bMaxBurst") {
    endpoint.max_burst = Number(value);
    endpoint.packets = Number(value) + 1;
  } else if (key == "Mult") {  // as written in the descriptor: 0 to 2
    endpoint.mult = Number(value);
    endpoint.packets *= Number(value) + 1;
  }
}

}  // namespace

std::string ReadWhole(const std::filesystem::path& file) {
  std::ifstream stream(file, std::ios::binary);
  std::ostringstream text;
  text << stream.rdbuf();
  return text.str();
}

TreeAnswer ParseLsusbTree(std::string_view text) {
  const std::regex root(R"(^/:  Bus (\d+)\.Port \d+: Dev \d+, Class=root_hub, )"
                        R"(Driver=(\w+)/(\d+)p, ([\d.]+)M$)");
  const std::regex child(R"(^( +)\|__ Port (\d+): Dev \d+, If (\d+), Class=([^,]*), )"
                         R"(Driver=([^/,]*)(?:/(\d+)p)?, ([\d.]+)M$)");
  TreeAnswer answer;
  std::map<std::size_t, std::string> above;  // by depth of indentation
  EachLine(text, [&](const std::string& line) {
    std::smatch part;
    if (std::regex_match(line, part, root)) {
      answer.roots.push_back({Number(part[1]), part[2], Number(part[3]), std::stod(part[4])});
      above.clear();
      above[0] = fmt::format("{}-", Number(part[1]));
    } else if (std::regex_match(line, part, child)) {
      const std::size_t depth = part[1].str().size() / 4;
      const std::string& hub = above[depth - 1];
      const std::string path = hub + (depth > 1 ? "." : "") + std::to_string(Number(part[2].str()));
      above[depth] = path;
      answer.lines.push_back(
          {path, Number(part[3]), part[4], part[5], Number(part[6]), std::stod(part[7])});
    }
  });
  return answer;
}

std::vector<DeviceAnswer> ParseUsbDevices(std::string_view text) {
  std::vector<DeviceAnswer> answers;
  EachLine(text, [&](const std::string& line) {
    if (line.starts_with("T:")) {
      DeviceAnswer answer;
      answer.bus = Number(Field(line, "Bus"));
      answer.number = Number(Field(line, "Dev#"));
      answer.port = Field(line, "Lev") == "00" ? 0 : Number(Field(line, "Port")) + 1;
      answer.speed_mbps = std::stod(Field(line, "Spd"));
      answer.ports = Number(Field(line, "MxCh"));
      answers.push_back(answer);
    } else if (line.starts_with("D:")) {
      answers.back().version = Field(line, "Ver");
    } else if (line.starts_with("P:")) {
      answers.back().vendor_id = Number(Field(line, "Vendor"), 16);
      answers.back().product_id = Number(Field(line, "ProdID"), 16);
    } else if (line.starts_with("S:  Manufacturer")) {
      answers.back().manufacturer = Rest(line, "Manufacturer");
    } else if (line.starts_with("S:  Product")) {
      answers.back().product = Rest(line, "Product");
    } else if (line.starts_with("C:")) {
      answers.back().attributes = Number(Field(line, "Atr"), 16);
      answers.back().max_power_ma = Number(Field(line, "MxPwr"));
    } else if (line.starts_with("I:")) {
      answers.back().interfaces.push_back(fmt::format("{} {} {} {} {}", Field(line, "If#"),
                                                      Field(line, "Cls"), Field(line, "Sub"),
                                                      Field(line, "Prot"), Field(line, "Driver")));
    } else if (line.starts_with("E:")) {
      answers.back().endpoints.push_back(
          fmt::format("{} {} {}", Field(line, "Ad"), Field(line, "Atr"), Field(line, "MxPS")));
    }
  });
  return answers;
}

std::vector<DecodedDevice> ParseLsusbVerbose(std::string_view text) {
  const std::regex device(R"(^Bus (\d+) Device (\d+): ID (\w+):(\w+).*)");
  const std::regex field(R"(^\s+(\w+(?:\( *\d+\))?(?: Type)?)\s+(\S+)\s*(.*)$)");
  std::vector<DecodedDevice> devices;
  OpenFormat open;
  EachLine(text, [&](const std::string& line) {
    std::smatch part;
    if (std::regex_match(line, part, device)) {
      devices.push_back({});
      devices.back().bus = Number(part[1]);
      devices.back().number = Number(part[2]);
      devices.back().vendor_id = Number(part[3], 16);
      devices.back().product_id = Number(part[4], 16);
      return;
    }
    if (devices.empty()) {
      return;
    }
    TakeHeading(line, open, devices.back());
    if (std::regex_match(line, part, field)) {
      TakeVideoField(part[1], part[2], part[3], open, devices.back());
      TakeEndpointField(part[1], part[2], part[3], devices.back());
    }
  });
  return devices;
}

std::optional<std::vector<StoredBlob>> StoredBlobs() {
  const std::filesystem::path folder = support::Shared() / "data" / "uvc";
  if (!std::filesystem::is_directory(folder)) {
    return std::nullopt;
  }
  std::vector<StoredBlob> blobs;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() == ".bin") {
      blobs.push_back(
          {entry.path().filename(), ReadWhole(entry.path()),
           ReadWhole(std::filesystem::path(entry.path()).replace_extension(".lsusb.txt"))});
    }
  }
  return blobs;
}

}  // namespace tests
