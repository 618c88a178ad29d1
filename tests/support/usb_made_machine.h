// SPDX-License-Identifier: Apache-2.0
//
// A machine root that a test makes up file by file in a folder of its own.

#pragma once

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <initializer_list>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "base/system/machine_root.h"

namespace tests {

class UsbMadeMachine {
 public:
  UsbMadeMachine() {
    std::string pattern = (std::filesystem::temp_directory_path() / "made-machine-XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) {
      throw std::runtime_error("no folder for a made machine");
    }
    folder_ = pattern;
    std::filesystem::create_directories(folder_ / "sys");
  }
  ~UsbMadeMachine() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  UsbMadeMachine(const UsbMadeMachine&) = delete;
  UsbMadeMachine& operator=(const UsbMadeMachine&) = delete;

  void Folder(const std::string& path) { std::filesystem::create_directories(folder_ / path); }
  void File(const std::string& path, std::string_view text) {
    Folder(std::filesystem::path(path).parent_path());
    std::ofstream(folder_ / path, std::ios::binary) << text;
  }
  void File(const std::string& path, const std::vector<std::uint8_t>& bytes) {
    File(path, std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()));
  }
  /// `target` is a path inside the machine: "sys/devices/...".
  void Link(const std::string& path, const std::string& target) {
    Folder(std::filesystem::path(path).parent_path());
    std::filesystem::create_symlink("/" + target, folder_ / path);
  }
  void Remove(const std::string& path) { std::filesystem::remove_all(folder_ / path); }

  const std::filesystem::path& folder() const { return folder_; }
  base::MachineRoot root() const { return *base::MachineRoot::At(folder_); }

 private:
  std::filesystem::path folder_;
};

}  // namespace tests
