// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/in_band_headers.h"

#include <utility>

namespace bench {

base::Result<InBandHeaders> InBandHeaders::Open(const AVCodecContext& encoder) {
  constexpr const char* kName = "dump_extra";
  const AVBitStreamFilter* const found = av_bsf_get_by_name(kName);
  if (found == nullptr) {
    return base::Error{base::ErrorKind::kNotPresent, kName, "this FFmpeg lacks the filter"};
  }
  AVBSFContext* raw = nullptr;
  int code = av_bsf_alloc(found, &raw);
  FilterPtr filter(raw);
  if (code >= 0) {
    code = avcodec_parameters_from_context(filter->par_in, &encoder);
  }
  if (code >= 0) {
    filter->time_base_in = encoder.time_base;
    code = av_bsf_init(filter.get());
  }
  if (code < 0) {
    return base::FromFfmpeg(code, kName);
  }
  return InBandHeaders(std::move(filter));
}

base::Status InBandHeaders::Filter(AVPacket& packet) {
  int code = av_bsf_send_packet(filter_.get(), &packet);
  if (code >= 0) {
    code = av_bsf_receive_packet(filter_.get(), &packet);
  }
  if (code < 0) {
    return base::FromFfmpeg(code, "dump_extra");
  }
  return base::Done{};
}

}  // namespace bench
