// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: unpacking the archive of a machine.
//
// The first byte chooses: the bytes are an archive as they are, or they describe the entries of
// one, which is then written with right checksums, so that the unpacker's own checks are reached.

#include <sys/mman.h>
#include <unistd.h>

#include <array>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <string_view>
#include <system_error>

#include "probes/captured/unpack_archive.h"

namespace {

namespace fs = std::filesystem;

constexpr probes::UnpackLimits kLimits{64 << 10, 60, 12, 1 << 20};
constexpr std::size_t kBlock = 512;

/// Gives pieces of the input until there is no more.
class Pieces {
 public:
  Pieces(const std::uint8_t* data, std::size_t size)
      : rest_(reinterpret_cast<const char*>(data), size) {}

  bool empty() const { return rest_.empty(); }
  unsigned Byte() {
    const std::string_view one = Take(1);
    return one.empty() ? 0 : static_cast<unsigned char>(one[0]);
  }
  std::string_view Take(std::size_t count) {
    const std::string_view piece = rest_.substr(0, count);
    rest_.remove_prefix(piece.size());
    return piece;
  }

 private:
  std::string_view rest_;
};

/// Names are made of few parts, so that entries meet each other.
std::string Name(Pieces& pieces) {
  static constexpr auto kParts = std::to_array<std::string_view>(
      {"sys", "a", "b", "..", ".", "", "/", "class", "devices", "a/b", "../..", "x\ny"});
  std::string name;
  const unsigned parts = pieces.Byte() % 16;
  for (unsigned i = 0; i < parts; ++i) {
    const unsigned choice = pieces.Byte();
    name += i == 0 ? "" : "/";
    name += choice < 250 ? std::string(kParts[choice % kParts.size()])
                         : std::string(pieces.Take(choice % 64));
  }
  return name;
}

void Put(std::string& block, std::size_t offset, std::size_t room, std::string_view text) {
  const std::string_view part = text.substr(0, room);
  block.replace(offset, part.size(), part);
}

/// POSIX ustar: name, size at 124, checksum at 148, type at 156, link target at 157, magic at 257,
/// name's front part at 345.
std::string Entry(Pieces& pieces) {
  static constexpr std::string_view kTypes = "0005552211346LKxgS7";
  const char type = kTypes[pieces.Byte() % kTypes.size()];
  std::string block(kBlock, '\0');
  Put(block, 0, 100, Name(pieces));
  Put(block, 157, 100, Name(pieces));
  Put(block, 345, 155, pieces.Byte() % 8 == 0 ? Name(pieces) : "");
  const std::string_view content = pieces.Take(pieces.Byte() * (pieces.Byte() % 4 == 0 ? 8 : 1));
  const std::size_t claimed = pieces.Byte() % 16 == 0 ? pieces.Byte() << 20U : content.size();
  std::array<char, 16> octal{};
  std::snprintf(octal.data(), octal.size(), "%011zo", claimed);
  Put(block, 100, 8, "0000644");
  Put(block, 124, 11, octal.data());
  Put(block, 257, 8,
      std::string_view("ustar\0"
                       "00",
                       8));
  block[156] = type;
  Put(block, 148, 8, "        ");
  unsigned sum = 0;
  for (const char c : block) {
    sum += static_cast<unsigned char>(c);
  }
  std::snprintf(octal.data(), octal.size(), "%06o", sum);
  Put(block, 148, 7, std::string_view(octal.data(), 7));
  std::string entry = block + std::string(content);
  entry.resize((entry.size() + kBlock - 1) / kBlock * kBlock, '\0');
  return entry;
}

std::string MadeTar(Pieces pieces) {
  std::string tar;
  while (!pieces.empty() && tar.size() < 200 * kBlock) {
    tar += Entry(pieces);
  }
  return tar + std::string(2 * kBlock, '\0');
}

/// An archive in memory that has a name.
class MemoryFile {
 public:
  explicit MemoryFile(std::string_view bytes) : descriptor_(memfd_create("archive", MFD_CLOEXEC)) {
    while (!bytes.empty()) {
      const ssize_t wrote = write(descriptor_, bytes.data(), bytes.size());
      if (wrote <= 0) {
        std::abort();
      }
      bytes.remove_prefix(static_cast<std::size_t>(wrote));
    }
  }
  ~MemoryFile() { close(descriptor_); }
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;

  fs::path path() const { return "/proc/self/fd/" + std::to_string(descriptor_); }

 private:
  int descriptor_;
};

/// Ends the run where something lies outside, leads outside, or is more than was allowed.
void CheckUnpacked(const fs::path& top, const fs::path& into) {
  std::size_t beside = 0;
  for ([[maybe_unused]] const auto& entry : fs::directory_iterator(top)) {
    ++beside;
  }
  if (beside != 1) {
    std::abort();
  }
  std::uintmax_t bytes = 0;
  int entries = 0;
  for (const auto& entry : fs::recursive_directory_iterator(into)) {
    ++entries;
    if (entry.is_symlink()) {
      std::error_code in_a_circle;
      const fs::path target = entry.path().parent_path() / fs::read_symlink(entry);
      const fs::path leads = fs::weakly_canonical(target, in_a_circle);
      if (!in_a_circle && leads != into && !leads.string().starts_with(into.string() + "/")) {
        std::abort();
      }
    } else if (entry.is_regular_file()) {
      bytes += entry.file_size();
    } else if (!entry.is_directory()) {
      std::abort();
    }
  }
  if (bytes > static_cast<std::uintmax_t>(kLimits.bytes) || entries > kLimits.entries) {
    std::abort();
  }
}

fs::path MakeTop() {
  std::error_code none;
  const bool memory = fs::is_directory("/dev/shm", none);
  std::string pattern = std::string(memory ? "/dev/shm" : "/tmp") + "/rigproof-fuzz-XXXXXX";
  if (mkdtemp(pattern.data()) == nullptr) {
    std::abort();
  }
  return pattern;
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) {
    return 0;
  }
  static const fs::path top = MakeTop();
  static const int at_end = std::atexit([] {
    std::error_code none;
    fs::remove_all(top, none);
  });
  (void)at_end;
  const fs::path into = top / "in";
  fs::create_directory(into);
  const std::string_view raw(reinterpret_cast<const char*>(data + 1), size - 1);
  const std::string made = data[0] % 4 == 0 ? std::string() : MadeTar({data + 1, size - 1});
  const MemoryFile archive(made.empty() ? raw : std::string_view(made));
  const auto done = probes::UnpackArchive(archive.path(), into, kLimits);
  if (!done && done.error().detail.empty()) {
    std::abort();
  }
  CheckUnpacked(top, into);
  fs::remove_all(into);
  return 0;
}
