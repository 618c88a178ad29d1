// SPDX-License-Identifier: Apache-2.0
//
// A Document of an invented production, for tests of the report page.

#include "tests/support/sample_document.h"

#include <cmath>

#include <fmt/format.h>

#include "tests/support/sample_machine.h"

namespace report {

namespace {

constexpr int kCameras = 5;

profiles::Source Camera(int number) {
  profiles::Source source;
  source.name = fmt::format("Camera {}", number);
  source.arrives_by = number <= 3   ? profiles::ArrivesBy::kUsb
                      : number == 4 ? profiles::ArrivesBy::kPcie
                                    : profiles::ArrivesBy::kNetwork;
  source.raster = {1920, 1080};
  source.rate = base::Rational(30000, 1001);
  source.pixel_format = number == 5 ? "" : "nv12";
  source.codec = number == 5 ? "h264" : "";
  source.bitrate_kbps = number == 5 ? 12000 : 0;
  source.content = number == 1 ? profiles::Content::kTalk : profiles::Content::kStage;
  source.device = number == 4 ? "Invented Quad" : "";
  return source;
}

profiles::Output MakeOutput(const std::string& name, profiles::OutputKind kind,
                            const std::string& takes, int bitrate_kbps) {
  profiles::Output output;
  output.name = name;
  output.kind = kind;
  output.takes = takes;
  output.raster = {1920, 1080};
  output.rate = base::Rational(30000, 1001);
  output.bitrate_kbps = bitrate_kbps;
  output.container = kind == profiles::OutputKind::kStream ? "flv" : "mkv";
  output.url = kind == profiles::OutputKind::kStream ? "loopback" : "";
  output.folder = kind == profiles::OutputKind::kStream ? "" : "/takes";
  return output;
}

profiles::Cable CableOf(profiles::CableKind kind, double metres) {
  profiles::Cable cable;
  cable.kind = kind;
  cable.metres = metres;
  if (kind == profiles::CableKind::kSdiCoax) {
    cable.grade = profiles::CoaxGrade::kStandard;
  }
  return cable;
}

void AddCables(profiles::Profile& profile) {
  profile.sources[0].cable = CableOf(profiles::CableKind::kHdmi, 5);
  profile.sources[3].cable = CableOf(profiles::CableKind::kSdiCoax, 110);
  profile.sources[4].cable = CableOf(profiles::CableKind::kFibre, 300);
  profiles::ControlChain chain;
  chain.name = "Balcony";
  chain.wires = profiles::ControlWires::kRs422;
  chain.cameras = {{"Camera 1", 1, 40}, {"Camera 4", 2, 12.5}};
  profile.camera_control = {chain};
}

profiles::Profile SampleProfile() {
  using profiles::OutputKind;
  profiles::Profile profile;
  profile.name = "Winter concert, five cameras";
  profile.note = "Invented production: a concert that never was";
  profile.duration_minutes = 150;
  profile.program_raster = {1920, 1080};
  profile.program_rate = base::Rational(30000, 1001);
  profile.audio = profiles::Audio{};
  profile.multiview = profiles::Multiview{{1920, 1080}, base::Rational(30)};
  profile.displays = 2;
  for (int number = 1; number <= kCameras; ++number) {
    profile.sources.push_back(Camera(number));
  }
  AddCables(profile);
  profile.outputs.push_back(MakeOutput("Program", OutputKind::kRecording, "program", 40000));
  profile.outputs.push_back(MakeOutput("Stream", OutputKind::kStream, "program", 6000));
  profile.outputs.push_back(MakeOutput("Multiview", OutputKind::kRecording, "multiview", 8000));
  for (int number = 1; number <= kCameras; ++number) {
    const std::string camera = fmt::format("Camera {}", number);
    profile.outputs.push_back(MakeOutput("Iso " + camera, OutputKind::kIso, camera, 25000));
  }
  return profile;
}

profiles::Demand SampleDemand(const profiles::Profile& profile) {
  profiles::Demand demand;
  for (const profiles::Source& source : profile.sources) {
    profiles::SourceDemand one;
    one.name = source.name;
    const bool network = source.arrives_by == profiles::ArrivesBy::kNetwork;
    one.frame_bytes = network ? 0 : 3110400;
    one.bytes_per_second = network ? 0 : 93218781;
    one.network_bits_per_second = network ? 12.7e6 : 0;
    one.sdi_link = "HD-SDI (ST 292-1)";
    demand.sources.push_back(one);
  }
  for (const profiles::Output& output : profile.outputs) {
    profiles::OutputDemand one;
    one.name = output.name;
    one.macroblocks_per_second = 244555;
    one.level = output.bitrate_kbps > 30000 ? "5.0" : "4.0";
    one.level_limit = output.bitrate_kbps > 30000 ? "bit rate" : "picture rate";
    one.level_commonly_played = output.bitrate_kbps <= 30000;
    one.media_bits_per_second = output.bitrate_kbps * 1010.0;
    one.disk_bytes_per_second = output.url.empty() ? output.bitrate_kbps * 126.25 : 0;
    one.space_bytes = one.disk_bytes_per_second * 9000;
    one.network_bits_per_second = output.url.empty() ? 0 : 6.4e6;
    demand.disk_bytes_per_second += one.disk_bytes_per_second;
    demand.space_bytes += one.space_bytes;
    demand.outputs.push_back(one);
  }
  demand.largest_file_bytes = 45e9;
  demand.network_in_bits_per_second = 12.7e6;
  demand.network_out_bits_per_second = 6.4e6;
  demand.encode_sessions = 8;
  demand.decode_sessions = 1;
  demand.displays = 2;
  demand.capture_bytes_per_second = 373e6;
  demand.memory_pool_bytes = 1.9e9;
  demand.memory_traffic_bytes_per_second = 4.1e9;
  return demand;
}

/// Frames that fall due in each second at 30000/1001: now and then one fewer.
bench::LedgerWindow WindowAt(int second, int output) {
  bench::LedgerWindow window;
  window.due = second % 33 == 32 ? 29 : 30;
  const bool trouble = second % 60 >= 37 && second % 60 < 41;
  window.dropped = trouble ? (output + second) % 5 * 2 : 0;
  window.delivered = window.due - window.dropped;
  window.late = trouble || second % 17 == 3 ? (output + second) % 4 : 0;
  return window;
}

bench::OutputLedger LedgerOf(const profiles::Output& output, int index, int seconds) {
  bench::OutputLedger ledger;
  ledger.name = output.name;
  ledger.kind = output.kind;
  ledger.takes = output.takes;
  ledger.encoder = "libx264";
  ledger.encoder_threads = index == 0 ? 4 : 2;
  for (int second = 0; second < seconds; ++second) {
    const bench::LedgerWindow window = WindowAt(second, index);
    ledger.due += window.due;
    ledger.delivered += window.delivered;
    ledger.dropped += window.dropped;
    ledger.late += window.late;
    ledger.seconds.push_back(window);
  }
  ledger.bytes = static_cast<std::int64_t>(output.bitrate_kbps) * 125 * seconds;
  ledger.encoder_delay_frames = 2;
  ledger.encoder_busy = 0.61 + 0.04 * index;
  ledger.write_busy = 0.02;
  ledger.lateness = {7.4, 18.2, 41.0, 212.5, {}};
  const std::int64_t most = ledger.delivered;
  ledger.lateness.histogram = {{1.5, most / 20}, {4, most / 6},   {8, most / 3}, {16, most / 4},
                               {30, most / 12},  {45, most / 40}, {90, 11},      {220, 3}};
  return ledger;
}

std::vector<bench::DropRun> SampleDrops() {
  return {{"Program", 37.21, 4, bench::Stage::kEncode, "not known"},
          {"Iso Camera 1", 37.24, 2, bench::Stage::kEncode, "CPU taken by others: 1.7 CPUs"},
          {"Iso Camera 3", 38.67, 6, bench::Stage::kEncode, "CPU taken by others: 1.9 CPUs"},
          {"Stream", 39.1, 1, bench::Stage::kSend, "not known"},
          {"Iso Camera 5", 40.02, 8, bench::Stage::kWrite, "disk busy for 1.4 s"}};
}

bench::Rehearsal SampleRehearsal(const profiles::Profile& profile, int seconds) {
  bench::Rehearsal rehearsal;
  rehearsal.complete = true;
  rehearsal.seconds = seconds;
  rehearsal.warm_up_seconds = 5;
  for (std::size_t index = 0; index < profile.outputs.size(); ++index) {
    rehearsal.outputs.push_back(LedgerOf(profile.outputs[index], static_cast<int>(index), seconds));
    rehearsal.stages.push_back({bench::Stage::kEncode, profile.outputs[index].name, 1795,
                                31.5 + 1.1 * static_cast<double>(index)});
  }
  for (const profiles::Source& source : profile.sources) {
    bench::FeedLedger feed;
    feed.name = source.name;
    feed.due = feed.delivered = static_cast<std::int64_t>(seconds) * 30;
    feed.prepare_seconds = 0.8;
    feed.ring_bytes = 186624000;
    rehearsal.feeds.push_back(feed);
    rehearsal.stages.push_back({bench::Stage::kCapture, source.name, 1798, 1.9});
    rehearsal.stages.push_back({bench::Stage::kConvert, source.name, 1798, 3.4});
  }
  rehearsal.drops = SampleDrops();
  rehearsal.drop_runs_left_out = 3;
  rehearsal.cpu_seconds = 6.7 * seconds;
  rehearsal.peak_resident_bytes = 2040109465;
  rehearsal.writeback_policy = "paced: each 8 MB is sent to the disk when the next is begun";
  rehearsal.plan = {"Eight software encoders, because no hardware encoder opened",
                    "Queues of four frames between stages"};
  rehearsal.drops_per_hour_upper_95 = 1420;
  return rehearsal;
}

bench::DiskRun SampleDisk() {
  bench::DiskRun disk;
  disk.folder = "/takes";
  disk.method = "direct, blocks of 4 MB";
  disk.bytes = 12'400'000'000;
  disk.seconds = 40;
  disk.sustained_bytes_per_second = 212e6;
  disk.steady = true;
  disk.excursion_percent = 4.1;
  disk.slope_percent = 1.3;
  disk.window_seconds = 0.5;
  for (int window = 0; window < 80; ++window) {
    const double rate = window < 26 ? 498e6 : 212e6;
    disk.window_bytes_per_second.push_back(rate * (1 + 0.03 * std::sin(window * 1.7)));
  }
  disk.step_at_s = 13.0;
  disk.step_ratio = 0.43;
  return disk;
}

bench::Results SampleResults(const profiles::Profile& profile, int seconds) {
  bench::Results results;
  results.rehearsal = SampleRehearsal(profile, seconds);
  results.disks = {SampleDisk()};
  bench::FlatOut flat_out;
  flat_out.complete = true;
  flat_out.seconds = 20;
  flat_out.speed = 0.93;
  flat_out.cpu_seconds = 152;
  for (int window = 0; window < 20; ++window) {
    flat_out.window_speeds.push_back(0.97 + 0.05 * std::sin(window * 0.9));
  }
  results.flat_out = flat_out;
  results.costs =
      bench::CostTable{{{bench::Stage::kCopy, "1920x1080 nv12", 0.42, 0.43, 16231,
                         bench::CostSubject{1920, 1080, "nv12"}},
                        {bench::Stage::kScale, "1920x1080 to 960x540 nv12", 1.31, 1.31, 5311,
                         bench::CostSubject{1920, 1080, ""}},
                        {bench::Stage::kEncode, "1920x1080 libx264 low stage", 17.6, 5.1, 398,
                         bench::CostSubject{1920, 1080, "libx264", profiles::Effort::kLow,
                                            profiles::Content::kStage}}},
                       ""};
  bench::Contention contention;
  contention.work = "1920x1080 libx264 preset=superfast, stage, one thread each";
  contention.points = {{1, 61}, {2, 118}, {4, 221}, {8, 380}};
  contention.memory_bytes_per_second = 21e9;
  results.contention = contention;
  results.hardware_encodes = {
      {"h264_made_up", "h264", 1920, 1080, 10, 3, 240, 410, "no more sessions"}};
  bench::CapacitySearch search;
  search.like = profile.sources.front().name;
  search.predicted = 2;
  search.limit = 12;
  search.confirmed = 1;
  search.seconds = 41;
  search.runs = {{2, 8, 4300, 61, 0.99, false, bench::Stage::kEncode},
                 {1, 8, 3900, 0, 0.88, true, bench::Stage::kNone}};
  results.search = search;
  return results;
}

Capacity SampleCapacity(const profiles::Profile& profile) {
  Capacity capacity;
  SourceRoom room;
  room.like = profile.sources.front().name;
  room.what = "1920x1080 uyvy422 at 59.94 by pcie, with 1 iso";
  room.present = 4;
  room.predicted = 2;
  room.lowest = 1;
  room.highest = 3;
  room.limit = 12;
  room.limited_by = "cpu";
  room.margins_limited_by = "disk: /takes";
  room.shares = {
      {Resource::kCpu, "", 6.4, 0.71, 8, "CPUs", Basis::kMeasured, "mean over the kind"},
      {Resource::kUsb, "hub", 1e8, 2e8, std::nullopt, "bytes/s", Basis::kComputed, "sums"}};
  room.not_told = {"usb: no camera was found there"};
  capacity.sources = {room};
  capacity.added_sources_predicted = 2;
  capacity.interval = {1, 3};
  capacity.added_sources_confirmed = 1;
  capacity.limited_by = "cpu";
  capacity.like = room.like;
  capacity.basis = {"CPU: 6.40 of 8.00 CPUs are used now", "Contention by the law"};
  return capacity;
}

probes::TelemetryRecord SampleTelemetry(int seconds) {
  probes::TelemetryRecord record;
  record.period_s = 0.5;
  record.cost_cpu_seconds = 0.21;
  record.throttle_events = 2;
  for (int index = 0; index < seconds * 2; ++index) {
    probes::TelemetrySample sample;
    sample.at_s = 0.5 * (index + 1);
    const int second = (index / 2) % 60;
    const bool trouble = second >= 36 && second < 41;
    sample.own_cpus = 6.4 + 0.4 * std::sin(index * 0.4) - (trouble ? 0.9 : 0);
    sample.busy_cpus = *sample.own_cpus + (trouble ? 1.8 : 0.2);
    sample.steal_cpus = trouble ? 0.3 : 0.01;
    sample.mean_mhz = trouble ? 2900 : 3400;
    sample.disk_write_bytes_per_second = 25e6 + 4e6 * std::sin(index * 0.8);
    sample.dirty_bytes = 9e6;
    sample.cpu_pressure_percent = trouble ? 31 : 4;
    sample.io_pressure_percent = 1.2;
    sample.memory_pressure_percent = 0;
    record.samples.push_back(sample);
  }
  record.others = {{"photo-indexer", 2214, 7.9}, {"window-server", 911, 3.2}};
  record.not_read = {"disk service time: this kernel does not count it for a virtual disk"};
  return record;
}

}  // namespace

Document SampleDocument(int seconds) {
  Document document;
  Evidence& evidence = document.evidence;
  evidence.profile = SampleProfile();
  evidence.demand = SampleDemand(evidence.profile);
  evidence.inventory = SampleMachine();
  evidence.results = SampleResults(evidence.profile, seconds);
  evidence.telemetry = SampleTelemetry(seconds);
  evidence.started_at = "2031-02-03T18:20:00Z";
  evidence.length = "quick";
  evidence.program_version = "0.1.0";
  document.capacity = SampleCapacity(evidence.profile);
  AddSampleAssessment(document);
  return document;
}

}  // namespace report
