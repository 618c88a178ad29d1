// SPDX-License-Identifier: Apache-2.0

#include "tests/support/sample_verdict.h"

namespace tests {
namespace {

using report::Basis;
using report::Severity;

profiles::Source Camera(const std::string& name) {
  profiles::Source source;
  source.name = name;
  source.arrives_by = profiles::ArrivesBy::kUsb;
  source.raster = {1280, 720};
  source.rate = base::Rational(25);
  source.pixel_format = "nv12";
  source.content = profiles::Content::kTalk;
  return source;
}

profiles::Output Recording() {
  profiles::Output output;
  output.name = "Program recording";
  output.kind = profiles::OutputKind::kRecording;
  output.takes = "program";
  output.raster = {1280, 720};
  output.rate = base::Rational(25);
  output.bitrate_kbps = 6000;
  output.container = "mkv";
  return output;
}

profiles::Output Stream() {
  profiles::Output output = Recording();
  output.name = "Stream";
  output.kind = profiles::OutputKind::kStream;
  output.bitrate_kbps = 2500;
  output.container = "flv";
  output.url = "loopback";
  return output;
}

bench::OutputLedger Ledger(const std::string& name, profiles::OutputKind kind,
                           std::int64_t dropped) {
  bench::OutputLedger ledger;
  ledger.name = name;
  ledger.kind = kind;
  ledger.takes = "program";
  ledger.encoder = "libx264";
  ledger.encoder_threads = 2;
  ledger.due = 1500;
  ledger.delivered = 1500 - dropped;
  ledger.dropped = dropped;
  ledger.late = dropped / 2;
  ledger.seconds = {{25, 25, 0, 0}, {25, 13, 12, 6}};
  ledger.lateness = {8.5, 21, 38.25, 61, {{10, 900}, {40, 588}}};
  ledger.bytes = 45'000'000;
  return ledger;
}

bench::Rehearsal SampleRehearsal(std::int64_t dropped) {
  bench::Rehearsal rehearsal;
  rehearsal.complete = true;
  rehearsal.seconds = 60;
  rehearsal.warm_up_seconds = 4;
  rehearsal.outputs = {Ledger("Program recording", profiles::OutputKind::kRecording, dropped),
                       Ledger("Stream", profiles::OutputKind::kStream, 0)};
  rehearsal.cpu_seconds = 84.5;
  rehearsal.drops_per_hour_upper_95 = dropped > 0 ? 1250 : 180;
  if (dropped > 0) {
    rehearsal.drops = {
        {"Program recording", 31.4, dropped, bench::Stage::kWrite, "the disk was at its limit"}};
    rehearsal.drop_runs_left_out = 2;
  }
  return rehearsal;
}

report::Headroom Row(report::Resource resource, const std::string& item, double demand,
                     double capacity, const std::string& unit) {
  report::Headroom row;
  row.resource = resource;
  row.item = item;
  row.demand = demand;
  row.capacity = capacity;
  row.unit = unit;
  row.headroom_percent = 100 * (capacity - demand) / capacity;
  row.source = "demand summed from the profile";
  return row;
}

report::Document Base() {
  report::Document document;
  report::Evidence& evidence = document.evidence;
  evidence.profile = QuarryProfile();
  evidence.demand = QuarryDemand();
  evidence.inventory.machine_root = "/";
  evidence.started_at = "2026-03-04T05:06:07Z";
  evidence.length = "quick";
  evidence.program_version = "0.1.0";
  document.complete = true;
  document.method = {"The profile was run in real time with simulated cameras."};
  document.cautions = {"Simulated cameras do not show what real capture devices do on their bus."};
  return document;
}

}  // namespace

profiles::Profile QuarryProfile() {
  profiles::Profile profile;
  profile.name = "Quarry Fair talk";
  profile.note = "Invented production.";
  profile.duration_minutes = 90;
  profile.program_raster = {1280, 720};
  profile.program_rate = base::Rational(25);
  profile.sources = {Camera("Lectern"), Camera("Room")};
  profile.outputs = {Recording(), Stream()};
  profile.audio = profiles::Audio{};
  return profile;
}

profiles::Demand QuarryDemand() {
  profiles::Demand demand;
  demand.sources = {{"Lectern", 1'382'400, 34'560'000, false, 742'500'000, "HD-SDI (ST 292-1)", 0},
                    {"Room", 1'382'400, 34'560'000, true, std::nullopt, "", 0}};
  demand.outputs = {
      {"Program recording", 90'000, "3.1", "raster", true, 6.2e6, 775'000, 4.185e9, 0},
      {"Stream", 90'000, "5.2", "bit rate", false, 2.7e6, 0, 0, 2.9e6}};
  demand.disk_bytes_per_second = 775'000;
  demand.space_bytes = 4.185e9;
  demand.largest_file_bytes = 4.185e9;
  demand.network_out_bits_per_second = 2.9e6;
  demand.encode_sessions = 2;
  demand.displays = 1;
  demand.capture_bytes_per_second = 69'120'000;
  demand.memory_pool_bytes = 3.1e8;
  demand.memory_traffic_bytes_per_second = 4.2e8;
  return demand;
}

report::Document ShortDocument() {
  report::Document document = Base();
  document.verdict = report::Verdict::kShort;
  document.headline = document.first_limit =
      "Frames were dropped: the disk behind /srv/takes writes too slowly.";
  document.reasons = {"disk: 4 % spare, 40 % wanted"};
  document.evidence.results.rehearsal = SampleRehearsal(12);
  document.evidence.results.flat_out = bench::FlatOut{true, "", 20, 1.4, {1.4, 1.5}, 39};
  document.headroom = {Row(report::Resource::kNetwork, "uplink", 2.9e6, 2.5e6, "b/s"),
                       Row(report::Resource::kDisk, "/srv/takes", 775'000, 807'000, "B/s"),
                       Row(report::Resource::kCpu, "", 1.4, 2, "CPUs")};
  document.headroom[0].margin_percent = 30;
  document.headroom[0].basis = Basis::kRead;
  document.headroom[1].margin_percent = 40;
  document.headroom[1].basis = Basis::kMeasured;
  document.headroom[2].margin_percent = 25;
  document.headroom[2].basis = Basis::kMeasured;
  report::Headroom usb;
  usb.resource = report::Resource::kUsb;
  usb.item = "bus 2";
  usb.demand = 69'120'000;
  usb.unit = "B/s";
  usb.margin_percent = 15;
  usb.how_to_prove = "run the line check with both cameras plugged in";
  document.headroom.push_back(usb);
  document.findings = {
      {"disk-slow",
       Severity::kStop,
       "The recording disk is too slow",
       {"12 frames of \"Program recording\" were lost in the stage write",
        "sustained write 807 kB/s, asked 775 kB/s"},
       "Record to a disk inside the PC, or halve the bitrate."},
      {"power-saving",
       Severity::kWarn,
       "Power saving is on",
       {"governor: powersave"},
       "Choose the performance governor for the day."},
      {"clock", Severity::kNote, "The clock is not in step with the network", {}, ""}};
  return document;
}

report::Document ReadyDocument() {
  report::Document document = Base();
  document.verdict = report::Verdict::kReady;
  document.headline = document.first_limit = "Nothing was dropped and every margin stays free.";
  document.evidence.results.rehearsal = SampleRehearsal(0);
  document.headroom = {Row(report::Resource::kCpu, "", 0.9, 2, "CPUs"),
                       Row(report::Resource::kDisk, "/srv/takes", 775'000, 248e6, "B/s")};
  document.headroom[0].margin_percent = 25;
  document.headroom[1].margin_percent = 40;
  return document;
}

}  // namespace tests
