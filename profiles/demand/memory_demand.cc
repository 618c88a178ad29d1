// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/memory_demand.h"

#include <array>
#include <cstdint>

#include "profiles/demand/capture_demand.h"
#include "profiles/demand/codec_level.h"
#include "profiles/demand/encode_sharing.h"

namespace profiles {
namespace {

constexpr int kAssumedThreads = 4;
constexpr double kCopiesPerSource = 1;    // out of the capture device's buffers
constexpr double kPicturesPerSource = 2;  // the newest one, and the one being converted
constexpr double kComposedPictures = 3;   // program or multiview: drawn, shown, being encoded
/// Queues run near empty while all is well; each picture that waits comes on top.
constexpr double kQueuedPictures = 1.5;
constexpr double kEncoderFixedBytes = 1e6;
constexpr double kWriteQueueSeconds = 1;

/// Pictures of memory that an encoder takes, by effort from least to high:
/// measured as growth of the resident size while 80 pictures of 1920x1080 were
/// encoded (libx264 164 and libx265 3.5 with the options of bench/plan/encoder_options.cc).
struct EncoderPictures {
  std::array<double, 4> fixed;
  std::array<double, 4> per_thread;
};
constexpr EncoderPictures kH264{{13, 44, 57, 124}, {4.4, 6.3, 5.7, 5.6}};
constexpr EncoderPictures kHevc{{95, 100, 130, 145}, {4, 4, 4, 4}};
constexpr EncoderPictures kOthers{{4, 4, 4, 4}, {2, 2, 2, 2}};

double WorkingBytes(const Raster& raster) {
  return static_cast<double>(raster.Pixels()) * 1.5;
}

double SourceBytes(const Source& source) {
  const CapturePayload payload = CapturePayloadOf(source);
  const double working = WorkingBytes(source.raster);
  // A decoder holds its references and the pictures on their way out.
  const bool decoded = source.arrives_by == ArrivesBy::kNetwork || payload.assumed;
  const double decoder = decoded ? (ReferencePictures(Effort::kMedium) + 2) * working : 0;
  return kCopiesPerSource * static_cast<double>(payload.frame_bytes) +
         kPicturesPerSource * working + decoder;
}

}  // namespace

double PicturesInFlightBytes(const Profile& profile) {
  double bytes = kComposedPictures * WorkingBytes(profile.program_raster);
  if (profile.multiview) {
    bytes += kComposedPictures * WorkingBytes(profile.multiview->raster);
  }
  for (const Source& source : profile.sources) {
    bytes += SourceBytes(source);
  }
  for (const Output& output : profile.outputs) {
    bytes += output.bitrate_kbps * 125.0 * kWriteQueueSeconds;
  }
  for (const Output& output : OnePerEncode(profile.outputs)) {
    bytes += kQueuedPictures * WorkingBytes(output.raster);
  }
  return bytes;
}

double EncoderBytes(const Output& output, int threads) {
  const EncoderPictures& pictures = output.codec == "h264"   ? kH264
                                    : output.codec == "hevc" ? kHevc
                                                             : kOthers;
  const auto effort = static_cast<std::size_t>(output.effort);
  return kEncoderFixedBytes + (pictures.fixed[effort] + pictures.per_thread[effort] * threads) *
                                  WorkingBytes(output.raster);
}

double MemoryPoolBytes(const Profile& profile) {
  double bytes = PicturesInFlightBytes(profile);
  for (const Output& output : OnePerEncode(profile.outputs)) {
    bytes += EncoderBytes(output, kAssumedThreads);
  }
  return bytes;
}

}  // namespace profiles
