// SPDX-License-Identifier: Apache-2.0
//
// From what capture hands over to a working picture: copy, then decode or convert.

#pragma once

#include <functional>
#include <memory>
#include <string>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "bench/plan/source_plan.h"
#include "bench/stages/picture_pool.h"
#include "bench/stages/picture_scaler.h"
#include "profiles/profile.h"

namespace bench {

/// One buffer as the capture queue holds it; one of the two is set.
struct CaptureItem {
  base::FramePtr picture;
  base::PacketPtr packet;
  std::int64_t index = 0;
  bool owned = false;  // the packet's memory is ours already: no driver waits for it
};

/// One source's chain, used by one thread.
class Ingest {
 public:
  using Taker = std::function<void(base::FramePtr picture, std::int64_t index)>;

  /// `packet_codec` is AV_CODEC_ID_NONE for raw capture. kUnsupported with FFmpeg's reason
  /// when the plan's decoder refuses.
  static base::Result<Ingest> Open(const profiles::Source& source, AVCodecID packet_codec,
                                   const SourcePlan& plan);

  /// Copies and converts `item`; `taker` gets each working picture that is
  /// ready, with the index of the item it came from.
  base::Status Take(const CaptureItem& item, const Taker& taker);
  /// The pictures that a decoder still holds.
  base::Status Finish(const Taker& taker);
  /// FFmpeg's name of the decoder; empty for raw capture.
  std::string decoder_name() const;

 private:
  Ingest() = default;
  base::Status Convert(const AVFrame& picture, std::int64_t index, const Taker& taker);
  base::Status TakeDecoded(const Taker& taker);
  base::Status TakeOne(AVFrame& decoded, const Taker& taker);

  std::unique_ptr<PicturePool> capture_pool_;  // made at the first raw picture
  std::unique_ptr<PicturePool> working_pool_;
  PictureScaler scaler_;
  base::CodecPtr decoder_;
};

}  // namespace bench
