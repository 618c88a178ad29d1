// SPDX-License-Identifier: Apache-2.0
//
// getrandom(2).

#include "cli/local_page/secret.h"

#include <sys/random.h>

#include <array>
#include <cerrno>
#include <cstddef>
#include <cstring>

namespace cli {

base::Result<std::string> NewSecret() {
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::array<unsigned char, 32> bytes{};
  ssize_t got = 0;
  do {
    got = getrandom(bytes.data(), bytes.size(), 0);
  } while (got < 0 && errno == EINTR);
  if (got != static_cast<ssize_t>(bytes.size())) {
    return base::Error{base::ErrorKind::kIo, "random numbers",
                       std::string("cannot be had: ") + std::strerror(errno)};
  }
  std::string text;
  for (const unsigned char byte : bytes) {
    text += kDigits[byte >> 4U];
    text += kDigits[byte & 15U];
  }
  return text;
}

bool SameSecret(std::string_view given, std::string_view secret) {
  if (given.size() != secret.size()) {
    return false;
  }
  // Volatile: no compiler may leave the loop at the first difference.
  volatile unsigned char differs = 0;
  for (std::size_t at = 0; at < secret.size(); ++at) {
    differs = static_cast<unsigned char>(
        differs | static_cast<unsigned char>(static_cast<unsigned char>(given[at]) ^
                                             static_cast<unsigned char>(secret[at])));
  }
  return differs == 0;
}

}  // namespace cli
