// SPDX-License-Identifier: Apache-2.0
//
// Versions as the libraries themselves tell them.

#include <hwloc.h>

#include <string>

#include <fmt/format.h>

#include "cli/options/version.h"

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavutil/avutil.h>
}

namespace cli {

std::string VersionText() {
  const unsigned codec = avcodec_version();
  const unsigned hwloc = hwloc_get_api_version();
  return fmt::format("rigproof {}\nFFmpeg {} (libavcodec {}.{}.{})\nhwloc API {}.{}.{}\n",
                     ProgramVersion(), av_version_info(), AV_VERSION_MAJOR(codec),
                     AV_VERSION_MINOR(codec), AV_VERSION_MICRO(codec), hwloc >> 16U,
                     (hwloc >> 8U) & 0xffU, hwloc & 0xffU);
}

}  // namespace cli
