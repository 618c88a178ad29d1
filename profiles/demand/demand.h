// SPDX-License-Identifier: Apache-2.0
//
// What a profile asks of each resource: arithmetic only, nothing measured.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "profiles/profile.h"

namespace profiles {

/// What one source brings in.
struct SourceDemand {
  std::string name;
  std::int64_t frame_bytes = 0;  // as handed over by capture (0 for network sources)
  double bytes_per_second = 0;   // payload on its link
  bool assumed = false;          // compressed capture: a ratio, not a sum
  std::optional<std::int64_t> sdi_bits_per_second;  // 4:2:2 10 bit, from the total raster
  std::string sdi_link;                // "HD-SDI (ST 292-1)" ...; empty when no raster table fits
  double network_bits_per_second = 0;  // with RTP/UDP/IP/Ethernet overhead; 0 unless network
};

/// What one output asks.
struct OutputDemand {
  std::string name;
  std::int64_t macroblocks_per_second = 0;  // 16x16 luma blocks
  std::string level;        // lowest codec level that holds it, "4.2"; empty if none
  std::string level_limit;  // what made it so high: "picture rate", "bit rate", "raster", "frames
                            // in flight"
  bool level_commonly_played = true;                 // common practice, see codec_level.h
  double media_bits_per_second = 0;                  // video + audio + container
  double disk_bytes_per_second = 0;                  // recordings and isos
  double space_bytes = 0;                            // for the whole duration
  double network_bits_per_second = 0;                // streams, on the wire
  std::vector<std::string> shares_encode_with = {};  // other outputs that ask for the same encode
};

struct Demand {
  std::vector<SourceDemand> sources;
  std::vector<OutputDemand> outputs;
  double disk_bytes_per_second = 0;
  double space_bytes = 0;
  double largest_file_bytes = 0;
  double network_in_bits_per_second = 0;
  double network_out_bits_per_second = 0;
  int encode_sessions = 0;   // outputs that share an encode count once, here and below
  int software_encodes = 0;  // that must be software
  int hardware_encodes = 0;  // that must be hardware
  int decode_sessions = 0;   // network sources and compressed capture
  int displays = 0;
  double capture_bytes_per_second = 0;
  double memory_pool_bytes = 0;  // frames in flight and encoders, while it runs
  double memory_traffic_bytes_per_second = 0;
};

/// Never fails: a Profile that came from the reader can be summed.
Demand SumDemand(const Profile& profile);

}  // namespace profiles
