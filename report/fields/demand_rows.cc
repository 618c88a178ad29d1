// SPDX-License-Identifier: Apache-2.0

#include "report/fields/demand_rows.h"

#include <utility>

namespace report::stored {
namespace {

/// Collects rows; a value of zero asks for nothing and is left out.
class Rows {
 public:
  void Add(DemandRow row) {
    if (row.value != 0) {
      rows_.push_back(std::move(row));
    }
  }
  std::vector<DemandRow> Take() { return std::move(rows_); }

 private:
  std::vector<DemandRow> rows_;
};

void AddSource(const profiles::SourceDemand& source, Rows& rows) {
  const Basis basis = source.assumed ? Basis::kAssumed : Basis::kComputed;
  rows.Add({"capture", source.name, source.bytes_per_second, "B/s", basis,
            source.assumed ? "compressed capture: a usual ratio to the plain picture"
                           : "width x height x bits per pixel x rate"});
  rows.Add({"sdi", source.name, static_cast<double>(source.sdi_bits_per_second.value_or(0)),
            "bit/s", Basis::kComputed,
            "total raster x 20 bits x rate" +
                (source.sdi_link.empty() ? std::string() : "; needs " + source.sdi_link)});
  rows.Add({"network in", source.name, source.network_bits_per_second, "bit/s", Basis::kComputed,
            "stream bitrate with RTP, UDP, IP and Ethernet headers"});
}

void AddOutput(const profiles::OutputDemand& output, Rows& rows) {
  rows.Add({"encode", output.name, static_cast<double>(output.macroblocks_per_second),
            "macroblocks/s", Basis::kComputed,
            output.level.empty() ? std::string("blocks of 16 x 16 x rate")
                                 : "blocks of 16 x 16 x rate; codec level " + output.level +
                                       ", set by " + output.level_limit});
  rows.Add({"disk", output.name, output.disk_bytes_per_second, "B/s", Basis::kComputed,
            "video, audio and container"});
  rows.Add(
      {"space", output.name, output.space_bytes, "B", Basis::kComputed, "disk rate x duration"});
  rows.Add({"network out", output.name, output.network_bits_per_second, "bit/s", Basis::kComputed,
            "stream bitrate with the headers of its transport"});
}

void AddWhole(const profiles::Demand& demand, Rows& rows) {
  const auto add = [&rows](const char* resource, double value, const char* unit,
                           const char* source) {
    rows.Add({resource, "", value, unit, Basis::kComputed, source});
  };
  add("capture", demand.capture_bytes_per_second, "B/s", "sum over the sources");
  add("network in", demand.network_in_bits_per_second, "bit/s", "sum over the network sources");
  add("network out", demand.network_out_bits_per_second, "bit/s", "sum over the streams");
  add("disk", demand.disk_bytes_per_second, "B/s", "sum over recordings and isos");
  add("space", demand.space_bytes, "B", "disk rate x duration");
  add("file size", demand.largest_file_bytes, "B", "the largest single file");
  add("encode", demand.encode_sessions, "sessions",
      "outputs that ask for the same encode share one");
  add("encode software", demand.software_encodes, "sessions", "encodes that must be software");
  add("encode hardware", demand.hardware_encodes, "sessions", "encodes that must be hardware");
  add("decode", demand.decode_sessions, "sessions", "network sources and compressed capture");
  add("displays", demand.displays, "displays", "as the profile says");
  add("memory", demand.memory_pool_bytes, "B", "frames in flight and encoders");
  add("memory traffic", demand.memory_traffic_bytes_per_second, "B/s",
      "bytes read and written per frame and stage x rate");
}

}  // namespace

std::vector<DemandRow> DemandRows(const profiles::Demand& demand) {
  Rows rows;
  for (const profiles::SourceDemand& source : demand.sources) {
    AddSource(source, rows);
  }
  for (const profiles::OutputDemand& output : demand.outputs) {
    AddOutput(output, rows);
  }
  AddWhole(demand, rows);
  return rows.Take();
}

}  // namespace report::stored
