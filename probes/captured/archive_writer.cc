// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/archive_writer.h"

#include <archive.h>
#include <archive_entry.h>

#include <system_error>
#include <utility>

#include "base/text.h"

namespace probes {
namespace {

using base::Done;
using base::Error;
using base::ErrorKind;
using base::Result;
using base::Status;

struct FreeEntry {
  void operator()(struct archive_entry* entry) const { archive_entry_free(entry); }
};

}  // namespace

void ArchiveWriter::FreeArchive::operator()(struct archive* archive) const {
  archive_write_free(archive);
}

ArchiveWriter::ArchiveWriter(struct archive* archive, std::filesystem::path out, IfThere if_there)
    : archive_(archive),
      out_(std::move(out)),
      partial_(out_.string() + ".partial"),
      if_there_(if_there) {}

ArchiveWriter::~ArchiveWriter() {
  archive_.reset();
  if (file_.open()) {
    std::error_code code;
    std::filesystem::remove(partial_, code);
  }
}

Error ArchiveWriter::Failure() const {
  const char* text = archive_error_string(archive_.get());
  return Error{ErrorKind::kIo, out_.string(),
               base::Printable(text == nullptr ? "cannot be written" : text)};
}

Result<ArchiveWriter> ArchiveWriter::Create(const std::filesystem::path& out, IfThere if_there) {
  if (auto may = MayBeMade(out, if_there); !may) {
    return may.error();
  }
  struct archive* raw = archive_write_new();
  if (raw == nullptr) {
    return Error{ErrorKind::kIo, out.string(), "out of memory"};
  }
  ArchiveWriter writer(raw, out, if_there);
  if (archive_write_add_filter_gzip(raw) != ARCHIVE_OK ||
      archive_write_set_filter_option(raw, "gzip", "timestamp", nullptr) != ARCHIVE_OK ||
      archive_write_set_format_pax_restricted(raw) != ARCHIVE_OK) {
    return writer.Failure();
  }
  auto file = MakeNewFile(writer.partial_);
  if (!file) {
    return file.error();
  }
  writer.file_ = std::move(*file);
  if (archive_write_open_fd(raw, writer.file_.get()) != ARCHIVE_OK) {
    return writer.Failure();
  }
  return writer;
}

Status ArchiveWriter::Add(const std::string& name, unsigned type, const std::string& target,
                          std::string_view content) {
  const std::unique_ptr<struct archive_entry, FreeEntry> entry(archive_entry_new());
  if (entry == nullptr) {
    return Error{ErrorKind::kIo, out_.string(), "out of memory"};
  }
  archive_entry_set_pathname(entry.get(), name.c_str());
  archive_entry_set_filetype(entry.get(), type);
  archive_entry_set_perm(entry.get(), type == AE_IFREG ? 0644 : 0755);
  archive_entry_set_mtime(entry.get(), 0, 0);
  archive_entry_set_size(entry.get(), static_cast<la_int64_t>(content.size()));
  if (type == AE_IFLNK) {
    archive_entry_set_symlink(entry.get(), target.c_str());
  }
  if (archive_write_header(archive_.get(), entry.get()) != ARCHIVE_OK) {
    return Failure();
  }
  if (!content.empty() && archive_write_data(archive_.get(), content.data(), content.size()) !=
                              static_cast<la_ssize_t>(content.size())) {
    return Failure();
  }
  return Done{};
}

Status ArchiveWriter::AddFolder(const std::string& name) {
  return Add(name, AE_IFDIR, "", "");
}

Status ArchiveWriter::AddLink(const std::string& name, const std::string& target) {
  return Add(name, AE_IFLNK, target, "");
}

Status ArchiveWriter::AddFile(const std::string& name, std::string_view content) {
  return Add(name, AE_IFREG, "", content);
}

Status ArchiveWriter::Finish() {
  if (archive_write_close(archive_.get()) != ARCHIVE_OK) {
    return Failure();
  }
  if (auto put = PutInPlace(partial_, out_, if_there_); !put) {
    return put;
  }
  file_.Close();
  return Done{};
}

}  // namespace probes
