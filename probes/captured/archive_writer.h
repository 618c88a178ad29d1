// SPDX-License-Identifier: Apache-2.0
//
// Writes a gzip-compressed tar archive that tells nothing of who made it, or when.

#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.h"
#include "base/system/descriptor.h"
#include "probes/captured/new_file.h"

struct archive;

namespace probes {

/// Entries go to a new file beside `out`, which takes its place on Finish; without
/// that nothing is left behind. Errors of kind kInvalid say what would be allowed.
class ArchiveWriter {
 public:
  static base::Result<ArchiveWriter> Create(const std::filesystem::path& out, IfThere if_there);
  ArchiveWriter(ArchiveWriter&& other) noexcept = default;
  ArchiveWriter& operator=(ArchiveWriter&& other) noexcept = default;
  ~ArchiveWriter();

  base::Status AddFolder(const std::string& name);
  base::Status AddLink(const std::string& name, const std::string& target);
  base::Status AddFile(const std::string& name, std::string_view content);
  base::Status Finish();

 private:
  struct FreeArchive {
    void operator()(struct archive* archive) const;
  };

  ArchiveWriter(struct archive* archive, std::filesystem::path out, IfThere if_there);
  base::Error Failure() const;
  base::Status Add(const std::string& name, unsigned type, const std::string& target,
                   std::string_view content);

  std::unique_ptr<struct archive, FreeArchive> archive_;
  std::filesystem::path out_;
  std::filesystem::path partial_;
  IfThere if_there_;
  base::Descriptor file_;  // open while `partial_` is ours
};

}  // namespace probes
