// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/memory_traffic.h"

#include <algorithm>
#include <optional>

#include "profiles/demand/capture_demand.h"
#include "profiles/demand/encode_sharing.h"
#include "profiles/words.h"

namespace profiles {
namespace {

/// 8-bit 4:2:0, what stages hand each other.
double WorkingBytes(const Raster& raster) {
  return static_cast<double>(raster.Pixels()) * 1.5;
}

/// Copied out of the capture buffer (read and written), then read and written by the conversion.
double SourceTraffic(const Source& source) {
  const CapturePayload payload = CapturePayloadOf(source);
  const double copied = 2 * payload.bytes_per_second;
  const double converted =
      payload.bytes_per_second + WorkingBytes(source.raster) * base::ToDouble(source.rate);
  return copied + converted;
}

/// The program reads one source, or two during a dissolve: two are counted.
double ProgramTraffic(const Profile& profile) {
  double largest = 0;
  for (const Source& source : profile.sources) {
    largest = std::max(largest, WorkingBytes(source.raster));
  }
  const double sources_read = std::min<double>(2, static_cast<double>(profile.sources.size()));
  return (sources_read * largest + WorkingBytes(profile.program_raster)) *
         base::ToDouble(profile.program_rate);
}

/// The multiview reads every source and the program whole, and writes itself.
double MultiviewTraffic(const Profile& profile) {
  if (!profile.multiview) {
    return 0;
  }
  double read = WorkingBytes(profile.program_raster);
  for (const Source& source : profile.sources) {
    read += WorkingBytes(source.raster);
  }
  return (read + WorkingBytes(profile.multiview->raster)) * base::ToDouble(profile.multiview->rate);
}

Raster TakenRaster(const Profile& profile, const Output& output) {
  if (output.takes == kTakesMultiview && profile.multiview) {
    return profile.multiview->raster;
  }
  const Source* const source = FindSource(profile, output.takes);
  return source == nullptr ? profile.program_raster : source->raster;
}

/// Fitting reads and writes where the raster differs. The encoder copies the
/// picture in, reads that and at least one reference, and writes its own
/// reconstruction: five pictures.
double EncodeTraffic(const Profile& profile, const Output& output) {
  const double rate = base::ToDouble(output.rate);
  const double picture = WorkingBytes(output.raster);
  const Raster taken = TakenRaster(profile, output);
  const double fitted = taken == output.raster ? 0 : (WorkingBytes(taken) + picture) * rate;
  return fitted + 5 * picture * rate;
}

/// Packets pass muxer, page cache and disk.
double PacketTraffic(const Output& output) {
  return 4 * output.bitrate_kbps * 125.0;
}

}  // namespace

double MemoryTrafficBytesPerSecond(const Profile& profile) {
  double bytes = ProgramTraffic(profile) + MultiviewTraffic(profile);
  for (const Source& source : profile.sources) {
    bytes += SourceTraffic(source);
  }
  for (const Output& output : OnePerEncode(profile.outputs)) {
    bytes += EncodeTraffic(profile, output);
  }
  for (const Output& output : profile.outputs) {
    bytes += PacketTraffic(output);
  }
  return bytes;
}

}  // namespace profiles
