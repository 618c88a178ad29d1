// SPDX-License-Identifier: Apache-2.0

#include "tests/support/golden.h"

#include <cstdlib>
#include <fstream>
#include <sstream>

#include <gtest/gtest.h>

namespace tests {
namespace {

std::string ReadAll(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

std::string FirstDifference(const std::string& want, const std::string& got) {
  std::istringstream want_lines(want);
  std::istringstream got_lines(got);
  std::string want_line;
  std::string got_line;
  for (int number = 1;; ++number) {
    const bool more_want = static_cast<bool>(std::getline(want_lines, want_line));
    const bool more_got = static_cast<bool>(std::getline(got_lines, got_line));
    if (!more_want && !more_got) {
      return "texts differ only in their last newline";
    }
    if (!more_want || !more_got || want_line != got_line) {
      return "line " + std::to_string(number) + "\n- " + (more_want ? want_line : "<end>") +
             "\n+ " + (more_got ? got_line : "<end>");
    }
  }
}

}  // namespace

void ExpectGolden(std::string_view name, const std::string& actual) {
  const std::string path = std::string(RIGPROOF_GOLDEN) + "/" + std::string(name);
  const std::string expected = ReadAll(path);
  if (expected == actual) {
    return;
  }
  if (std::getenv("UPDATE_GOLDENS") != nullptr) {
    std::ofstream(path, std::ios::binary) << actual;
    ADD_FAILURE() << "rewrote " << path << "; look at git diff, then run again";
    return;
  }
  ADD_FAILURE() << path << ": " << FirstDifference(expected, actual);
}

}  // namespace tests
