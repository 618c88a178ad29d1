// SPDX-License-Identifier: Apache-2.0

#include "base/media/media_file.h"

#include <cstddef>
#include <string>
#include <system_error>

extern "C" {
#include <libavutil/mem.h>
}

#include "base/text.h"

namespace base {
namespace {

/// Of an index that grows with the file, where the reader lets itself be told.
constexpr unsigned kIndexBytes = 64 << 10;
/// At most this much at once, in the whole process: a raw stream that never shows where a picture
/// ends would be gathered up to 2 GiB. A picture of 8192x8192 in 16-bit RGB has 400 MiB.
constexpr std::size_t kMostAtOnce = std::size_t{512} << 20;
/// No protocol has this name. Readers of lists of files hand what is allowed on to those.
constexpr const char* kNoProtocol = "none";

int Interrupted(void* stop) {
  return static_cast<const std::stop_token*>(stop)->stop_requested() ? 1 : 0;
}

int OpenNothing(AVFormatContext* /*input*/, AVIOContext** /*io*/, const char* /*url*/,
                int /*flags*/, AVDictionary** /*options*/) {
  return AVERROR(EPERM);
}

Error NotOpened(int code, const std::filesystem::path& path) {
  Error error = FromFfmpeg(code, Printable(path.string()));
  error.kind = error.kind == ErrorKind::kDenied ? error.kind : ErrorKind::kMalformed;
  return error;
}

/// The bytes of the file; whoever opens them for a pipe or a device would wait for ever.
Result<AVIOContext*> OpenBytes(const std::filesystem::path& path,
                               const AVIOInterruptCB& interrupt) {
  std::error_code failed;
  if (!std::filesystem::is_regular_file(path, failed)) {
    return Error{ErrorKind::kInvalid, Printable(path.string()),
                 failed ? failed.message() : "no regular file; allowed: a regular file"};
  }
  AVDictionary* options = nullptr;
  av_dict_set(&options, "protocol_whitelist", "file", 0);
  AVIOContext* bytes = nullptr;
  const std::string url = "file:" + path.string();
  const int opened = avio_open2(&bytes, url.c_str(), AVIO_FLAG_READ, &interrupt, &options);
  av_dict_free(&options);
  if (opened < 0) {
    return NotOpened(opened, path);
  }
  return bytes;
}

}  // namespace

Result<InputPtr> OpenMediaFile(const std::filesystem::path& path, const std::stop_token& stop,
                               int flags) {
  TakeFfmpegComplaint();
  av_max_alloc(kMostAtOnce);
  const AVIOInterruptCB interrupt{Interrupted, const_cast<std::stop_token*>(&stop)};
  auto bytes = OpenBytes(path, interrupt);
  if (!bytes) {
    return bytes.error();
  }
  AVFormatContext* input = avformat_alloc_context();
  if (input == nullptr) {
    avio_closep(&*bytes);
    return NotOpened(AVERROR(ENOMEM), path);
  }
  input->interrupt_callback = interrupt;
  input->max_index_size = kIndexBytes;
  input->flags |= flags;
  input->io_open = OpenNothing;
  input->pb = *bytes;
  AVDictionary* options = nullptr;
  av_dict_set(&options, "protocol_whitelist", kNoProtocol, 0);
  const int opened = avformat_open_input(&input, path.c_str(), nullptr, &options);
  av_dict_free(&options);
  if (opened < 0) {  // FFmpeg has freed `input`, but not the bytes, which are ours
    avio_closep(&*bytes);
    return NotOpened(opened, path);
  }
  input->flags &= ~AVFMT_FLAG_CUSTOM_IO;  // from now on the bytes are closed with it
  return InputPtr(input);
}

}  // namespace base
