// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: a whole recording as `examine` reads it, by walks of ours or by libavformat.

#include <sys/mman.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <stop_token>
#include <string>

#include "base/media/ffmpeg.h"
#include "probes/recording/read_recording.h"
#include "report/data/recording.h"

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const bool quiet = (base::KeepFfmpegComplaints(), true);  // as the program does
  static_cast<void>(quiet);
  const int file = memfd_create("recording", MFD_CLOEXEC);
  if (file < 0 || write(file, data, size) != static_cast<ssize_t>(size)) {
    std::abort();
  }
  probes::RecordingRequest request;
  request.name = "strange";
  request.files = {"/proc/self/fd/" + std::to_string(file)};
  auto recording = probes::ReadRecording(request, std::stop_token(), nullptr);
  if (recording) {
    report::JudgeRecording(std::move(*recording));
  } else if (recording.error().detail.empty()) {
    std::abort();
  }
  close(file);
  return 0;
}
