// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/open_machine.h"

#include <string>
#include <system_error>
#include <vector>

#include "base/text.h"
#include "probes/captured/unpack_archive.h"

namespace probes {
namespace {

namespace fs = std::filesystem;
using base::Error;
using base::ErrorKind;
using base::Result;

/// The machine's name for people: the archive's, without what tells its kind.
std::string NameOf(const fs::path& archive) {
  std::string name = archive.filename().string();
  for (const std::string_view ending : {".gz", ".tgz", ".bz2", ".xz", ".zst", ".tar"}) {
    if (name.size() > ending.size() && name.ends_with(ending)) {
      name.resize(name.size() - ending.size());
    }
  }
  return name.empty() || name == "." || name == ".." ? "machine" : name;
}

/// `top`, or the one folder in it when that is the root ("machine/sys/...").
fs::path FindRoot(const fs::path& top) {
  std::error_code code;
  if (fs::is_directory(top / "sys", code)) {
    return top;
  }
  std::vector<fs::path> inside;
  for (const auto& entry : fs::directory_iterator(top, code)) {
    inside.push_back(entry.path());
  }
  const bool wrapped = inside.size() == 1 && !fs::is_symlink(inside[0], code) &&
                       fs::is_directory(inside[0] / "sys", code);
  return wrapped ? inside[0] : top;
}

Result<OpenedMachine> OpenArchive(const fs::path& archive) {
  auto unpacked = TemporaryFolder::Make();
  if (!unpacked) {
    return unpacked.error();
  }
  const fs::path top = unpacked->path() / NameOf(archive);
  std::error_code code;
  fs::create_directory(top, code);
  if (code) {
    return Error{ErrorKind::kIo, top.string(), code.message()};
  }
  const auto done = UnpackArchive(archive, top);
  if (!done) {
    return done.error();
  }
  auto root = base::MachineRoot::At(FindRoot(top));
  if (!root) {
    return Error{ErrorKind::kInvalid, archive.string(), "no sys/ folder: not a machine root"};
  }
  return OpenedMachine{std::move(*root), std::move(*unpacked)};
}

}  // namespace

Result<OpenedMachine> OpenMachine(const fs::path& folder_or_archive) {
  std::error_code code;
  const auto type = fs::status(folder_or_archive, code).type();
  if (type == fs::file_type::directory) {
    auto root = base::MachineRoot::At(folder_or_archive);
    if (!root) {
      return Error{root.error().kind, folder_or_archive.string(),
                   "no sys/ folder: not a machine root"};
    }
    // "/" is this PC, however it was spelled.
    return OpenedMachine{root->live() ? base::MachineRoot::Live() : std::move(*root),
                         TemporaryFolder()};
  }
  if (type == fs::file_type::regular) {
    return OpenArchive(folder_or_archive);
  }
  return Error{ErrorKind::kInvalid, folder_or_archive.string(),
               "neither a folder nor an archive of a machine"};
}

}  // namespace probes
