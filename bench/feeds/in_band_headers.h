// SPDX-License-Identifier: Apache-2.0
//
// Parameter sets put back into the stream, for a container that has no other place for them.

#pragma once

#include <memory>

#include "base/media/ffmpeg.h"
#include "base/result.h"

extern "C" {
#include <libavcodec/bsf.h>
}

namespace bench {

/// An encoder that serves several containers keeps its parameter sets apart
/// when one of them wants that; transport streams want them before each key frame
/// (ITU-T H.222.0 2.14.1 for H.264, 2.17.1 for HEVC).
class InBandHeaders {
 public:
  static base::Result<InBandHeaders> Open(const AVCodecContext& encoder);

  /// Replaces the packet by one that carries what it needs.
  base::Status Filter(AVPacket& packet);

 private:
  struct Free {
    void operator()(AVBSFContext* filter) const { av_bsf_free(&filter); }
  };
  using FilterPtr = std::unique_ptr<AVBSFContext, Free>;
  explicit InBandHeaders(FilterPtr filter) : filter_(std::move(filter)) {}

  FilterPtr filter_;
};

}  // namespace bench
