#include "tests/reference/usb_answers.h"

#include <fstream>
#include <map>
#include <regex>
#include <sstream>

#include <fmt/format.h>

#include "base/text.h"

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
  std::string format;
  bool frame = false;
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
    DecodedDevice& read = devices.back();
    if (line == "    Interface Descriptor:") {
      ++read.interfaces;
    } else if (line == "    Interface Association:") {
      ++read.associations;
    } else if (line == "      Endpoint Descriptor:") {
      read.endpoints.push_back({});
    } else if (line.ends_with("Descriptor:")) {
      frame = false;
    }
    if (!std::regex_match(line, part, field)) {
      return;
    }
    const std::string key = part[1];
    const std::string value = part[2];
    const std::string more = part[3];
    if (key == "bDescriptorSubtype" && more.starts_with("(FORMAT_")) {
      ++read.formats;
      format = more == "(FORMAT_MJPEG)" ? "mjpeg" : "";
    } else if (key == "guidFormat") {
      format = value.substr(1, value.size() - 2);
    } else if (key == "bDescriptorSubtype" && more.starts_with("(FRAME_")) {
      read.frames.push_back({format, 0, 0, {}});
      frame = true;
    } else if (frame && key == "wWidth") {
      read.frames.back().width = Number(value);
    } else if (frame && key == "wHeight") {
      read.frames.back().height = Number(value);
    } else if (frame && key.starts_with("dwFrameInterval(")) {
      read.frames.back().intervals_100ns.push_back(std::stoll(value));
    } else if (key == "bEndpointAddress" && !read.endpoints.empty() &&
               read.endpoints.back().address == 0) {
      read.endpoints.back().address = Number(value, 16);
    } else if (key == "Transfer Type") {
      read.endpoints.back().type = value;
    } else if (key == "wMaxPacketSize") {
      read.endpoints.back().packets = Number(more.substr(0, more.find('x')));
      read.endpoints.back().packet_bytes = Number(more.substr(more.find('x') + 1));
    } else if (key == "bInterval") {
      read.endpoints.back().interval = Number(value);
    } else if (key == "bMaxBurst") {
      read.endpoints.back().packets = Number(value) + 1;
    } else if (key == "Mult") {  // as written in the descriptor: 0 to 2
      read.endpoints.back().packets *= Number(value) + 1;
    }
  });
  return devices;
}

}  // namespace tests
