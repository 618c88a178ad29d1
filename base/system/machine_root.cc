// SPDX-License-Identifier: Apache-2.0

#include "base/system/machine_root.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <system_error>

#include "base/text.h"

namespace base {
namespace {

namespace fs = std::filesystem;

constexpr int kMostLinks = 40;  // as the kernel's own limit on a path

Error FromCode(const std::error_code& code, std::string_view path) {
  ErrorKind kind = ErrorKind::kIo;
  if (code == std::errc::no_such_file_or_directory || code == std::errc::not_a_directory ||
      code == std::errc::no_such_device || code == std::errc::no_such_device_or_address) {
    kind = ErrorKind::kNotPresent;
  } else if (code == std::errc::permission_denied || code == std::errc::operation_not_permitted) {
    kind = ErrorKind::kDenied;
  } else if (code == std::errc::invalid_argument || code == std::errc::not_supported ||
             code == std::errc::io_error) {
    // Drivers answer EINVAL or EIO to a read that has no meaning now (a link that is down).
    kind = ErrorKind::kUnsupported;
  }
  return Error{kind, std::string(path), code.message()};
}

/// "usb2" before "usb10": digit runs compare as numbers.
bool NaturalLess(const std::string& a, const std::string& b) {
  std::size_t i = 0;
  std::size_t j = 0;
  const auto digit = [](char c) { return c >= '0' && c <= '9'; };
  while (i < a.size() && j < b.size()) {
    if (digit(a[i]) && digit(b[j])) {
      std::size_t i_end = i;
      std::size_t j_end = j;
      while (i_end < a.size() && digit(a[i_end]))
        ++i_end;
      while (j_end < b.size() && digit(b[j_end]))
        ++j_end;
      while (i + 1 < i_end && a[i] == '0')
        ++i;
      while (j + 1 < j_end && b[j] == '0')
        ++j;
      if (i_end - i != j_end - j)
        return i_end - i < j_end - j;
      const int order = a.compare(i, i_end - i, b, j, j_end - j);
      if (order != 0)
        return order < 0;
      i = i_end;
      j = j_end;
    } else if (a[i] != b[j]) {
      return a[i] < b[j];
    } else {
      ++i;
      ++j;
    }
  }
  return a.size() - i < b.size() - j;
}

struct CloseFile {
  void operator()(std::FILE* file) const { std::fclose(file); }
};

/// Appends the parts of `path` to `pending`, first part last.
void PushParts(std::vector<std::string>& pending, const std::string& path) {
  const auto parts = Split(path, '/');
  for (auto part = parts.rbegin(); part != parts.rend(); ++part) {
    if (!part->empty() && *part != ".") {
      pending.emplace_back(*part);
    }
  }
}

/// Walks `path` below `folder` one part at a time; links are followed inside
/// the folder and ".." stops at its top. Gives the path inside the machine.
Result<std::string> Walk(const fs::path& folder, std::string_view path) {
  std::vector<std::string> pending;
  PushParts(pending, std::string(path));
  const std::string top = folder == "/" ? "" : folder.string();
  std::string inside;
  int links = 0;
  while (!pending.empty()) {
    const std::string part = std::move(pending.back());
    pending.pop_back();
    if (part == "..") {
      inside.erase(std::min(inside.size(), inside.rfind('/')));
      continue;
    }
    const std::string here = top + inside + "/" + part;
    std::error_code code;
    if (fs::symlink_status(here, code).type() != fs::file_type::symlink) {
      inside += "/" + part;
      continue;
    }
    if (++links > kMostLinks) {
      return Error{ErrorKind::kMalformed, std::string(path), "too many symbolic links"};
    }
    const std::string target = fs::read_symlink(here, code).string();
    if (code)
      return FromCode(code, path);
    if (target.starts_with('/'))
      inside.clear();
    PushParts(pending, target);
  }
  return inside.empty() ? std::string("/") : inside;
}

}  // namespace

MachineRoot MachineRoot::Live() {
  return MachineRoot("/", true);
}

Result<MachineRoot> MachineRoot::At(const fs::path& folder) {
  std::error_code code;
  if (!fs::is_directory(folder, code)) {
    return Error{ErrorKind::kInvalid, folder.string(), "no such folder"};
  }
  if (!fs::is_directory(folder / "sys", code)) {
    return Error{ErrorKind::kInvalid, folder.string(), "no sys/ folder in it: not a machine root"};
  }
  const fs::path whole = fs::canonical(folder, code);
  if (code)
    return FromCode(code, folder.string());
  return MachineRoot(whole, whole == "/");
}

Result<fs::path> MachineRoot::HostPath(std::string_view path) const {
  if (path.find('\0') != std::string_view::npos) {
    return Error{ErrorKind::kInvalid, Printable(path), "a path with a zero byte"};
  }
  if (live_) {
    fs::path host("/");  // an absolute `path` replaces it
    host /= path;
    return host;
  }
  auto inside = Walk(folder_, path);
  if (!inside)
    return inside.error();
  return fs::path(folder_.string() + *inside);
}

Result<std::string> MachineRoot::Read(std::string_view path, std::size_t max_bytes) const {
  const auto host = HostPath(path);
  if (!host)
    return host.error();
  if (seen_)
    seen_(path);
  std::error_code code;
  const auto type = fs::status(*host, code).type();
  if (code)
    return FromCode(code, path);
  if (type != fs::file_type::regular) {
    // A fifo or device planted in a captured tree would block or do worse.
    return Error{ErrorKind::kUnsupported, std::string(path), "not an ordinary file"};
  }
  const std::unique_ptr<std::FILE, CloseFile> file(std::fopen(host->c_str(), "rbe"));
  if (!file)
    return FromCode({errno, std::generic_category()}, path);
  std::string text;
  std::array<char, 16384> block{};
  for (;;) {
    const std::size_t got = std::fread(block.data(), 1, block.size(), file.get());
    text.append(block.data(), got);
    if (text.size() > max_bytes) {
      return Error{ErrorKind::kMalformed, std::string(path), "longer than expected"};
    }
    if (got < block.size()) {
      if (std::ferror(file.get()) != 0)
        return FromCode({errno, std::generic_category()}, path);
      return text;
    }
  }
}

Result<std::string> MachineRoot::ReadTrimmed(std::string_view path) const {
  auto text = Read(path);
  if (!text)
    return text;
  return std::string(Trim(*text));
}

Result<std::int64_t> MachineRoot::ReadInt(std::string_view path) const {
  const auto text = ReadTrimmed(path);
  if (!text)
    return text.error();
  const auto value = ParseInt(*text);
  if (!value) {
    return Error{ErrorKind::kMalformed, std::string(path),
                 "found '" + Printable(*text, 40) + "' where a number was expected"};
  }
  return *value;
}

Result<std::vector<std::string>> MachineRoot::List(std::string_view path) const {
  const auto host = HostPath(path);
  if (!host)
    return host.error();
  if (seen_)
    seen_(path);
  std::error_code code;
  std::vector<std::string> names;
  fs::directory_iterator entries(*host, code);
  while (!code && entries != fs::directory_iterator()) {
    names.push_back(entries->path().filename().string());
    entries.increment(code);
  }
  if (code)
    return FromCode(code, path);
  std::sort(names.begin(), names.end(), NaturalLess);
  return names;
}

Result<std::string> MachineRoot::Resolve(std::string_view path) const {
  if (path.find('\0') != std::string_view::npos) {
    return Error{ErrorKind::kInvalid, Printable(path), "a path with a zero byte"};
  }
  if (seen_)
    seen_(path);
  const Error missing{ErrorKind::kNotPresent, std::string(path), "No such file or directory"};
  std::error_code code;
  // Most of what is asked of a live machine is not there: one look instead of one for every part.
  if (live_ && !fs::exists(fs::path("/") / path, code)) {
    return missing;
  }
  auto inside = Walk(folder_, path);
  if (inside && !live_ && !fs::exists(folder_.string() + *inside, code)) {
    return missing;
  }
  return inside;
}

Result<std::string> MachineRoot::LinkText(std::string_view path) const {
  const fs::path named(path);
  const auto parent = HostPath(named.parent_path().string());
  if (!parent)
    return parent.error();
  if (seen_)
    seen_(path);
  std::error_code code;
  const fs::path text = fs::read_symlink(*parent / named.filename(), code);
  if (code)
    return FromCode(code, path);
  return text.string();
}

bool MachineRoot::Exists(std::string_view path) const {
  const auto host = HostPath(path);
  if (!host)
    return false;
  if (seen_)
    seen_(path);
  std::error_code code;
  return std::filesystem::exists(*host, code);
}

}  // namespace base
