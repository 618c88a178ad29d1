#include "profiles/memory_demand.h"

#include <cstdint>

#include "profiles/capture_demand.h"
#include "profiles/codec_level.h"
#include "profiles/pipeline_sizes.h"

namespace profiles {
namespace {

constexpr double kPicturesPerSource = 4;  // converted, on their way to program, multiview and iso
// Encoders copy pictures in with a border and keep half-size and filtered
// copies beside each reference: about 2.5 pictures for each (libx264's frame.c
// keeps the picture, three filtered lumas and a half-size luma).
constexpr double kEncoderCopies = 2.5;

std::int64_t WorkingBytes(const Raster& raster) {
  return raster.Pixels() * 3 / 2;
}

double SourceBytes(const Source& source) {
  const CapturePayload payload = CapturePayloadOf(source);
  const auto working = static_cast<double>(WorkingBytes(source.raster));
  // A decoder holds its references and the pictures on their way out.
  const bool decoded = source.arrives_by == ArrivesBy::kNetwork || payload.assumed;
  const double decoder = decoded ? (ReferencePictures(Effort::kMedium) + 2) * working : 0;
  return kCaptureQueueFrames * static_cast<double>(payload.frame_bytes) +
         kPicturesPerSource * working + decoder;
}

/// Pictures that an encoder takes in before it hands out the first.
double LookAhead(Effort effort) {
  // libx264's rc-lookahead from "ultrafast" to "medium".
  switch (effort) {
    case Effort::kLeast:
    case Effort::kLow:
      return 0;
    case Effort::kMedium:
      return 10;
    case Effort::kHigh:
      break;
  }
  return 40;
}

double OutputBytes(const Output& output) {
  const auto working = static_cast<double>(WorkingBytes(output.raster));
  const double in_encoder =
      (LookAhead(output.effort) + ReferencePictures(output.effort) + 2) * kEncoderCopies;
  const double packet_bytes = output.bitrate_kbps * 125.0 / base::ToDouble(output.rate);
  return (kEncodeQueueFrames + in_encoder) * working + kWriteQueuePackets * packet_bytes;
}

}  // namespace

double MemoryPoolBytes(const Profile& profile) {
  double bytes =
      (kComposeLagFrames + 1) * static_cast<double>(WorkingBytes(profile.program_raster));
  if (profile.multiview) {
    bytes += (kComposeLagFrames + 1) * static_cast<double>(WorkingBytes(profile.multiview->raster));
  }
  for (const Source& source : profile.sources) {
    bytes += SourceBytes(source);
  }
  for (const Output& output : profile.outputs) {
    bytes += OutputBytes(output);
  }
  return bytes;
}

}  // namespace profiles
